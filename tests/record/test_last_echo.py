"""What was measured of the loudspeaker in the microphone is kept for whoever works there next."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.record.last_echo import LONGEST, LastEcho, keep, last_echo, place

FOUND = LastEcho(
    at_utc="2031-05-06T08:00:00.000Z",
    microphone="a headset",
    loudspeaker="a monitor",
    limit_db=-6.0,
    echo_dbfs=-42.5,
    background_dbfs=-61.0,
    gain_db=-30.25,
    delay_s=0.08,
    allows_answers=True,
)
PARTS = tuple(FOUND.__dataclass_fields__)
FIGURES = tuple(name for name in PARTS if name.endswith(("_db", "_dbfs", "_s")))


@pytest.fixture(autouse=True)
def of_this_person(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))


def changed(**parts: object) -> LastEcho | None:
    keep(FOUND)
    told = {**json.loads(place().read_text("utf-8")), **parts}
    place().write_text(json.dumps(told), "utf-8")
    return last_echo()


@pytest.mark.parametrize("allowed", [True, False])
def test_what_was_kept_is_read_again(allowed: bool) -> None:
    assert last_echo() is None
    keep(FOUND)
    found = LastEcho(**{**vars(FOUND), "allows_answers": allowed, "limit_db": -3.0})
    keep(found)
    assert last_echo() == found
    assert found.above_background_db == 18.5


@pytest.mark.parametrize("name", PARTS)
def test_without_one_of_its_parts_it_is_none(name: str) -> None:
    keep(FOUND)
    told = json.loads(place().read_text("utf-8"))
    del told[name]
    place().write_text(json.dumps(told), "utf-8")
    assert last_echo() is None


@pytest.mark.parametrize("name", FIGURES)
@pytest.mark.parametrize("figure", [float("nan"), float("inf"), "loud", None, []])
def test_a_figure_that_is_none_makes_it_none(name: str, figure: object) -> None:
    assert changed(**{name: figure}) is None


@pytest.mark.parametrize("told", [1, "true", None, [True]])
def test_answers_are_allowed_by_nothing_but_a_plain_yes(told: object) -> None:
    found = changed(allows_answers=told)
    assert found is not None
    assert found.allows_answers is False


@pytest.mark.parametrize("text", ["", "[]", "{", '"text"', "7", "null", " " * (LONGEST + 1)])
def test_what_is_no_measurement_is_none(text: str) -> None:
    keep(FOUND)
    place().write_text(text, "utf-8")
    assert last_echo() is None
