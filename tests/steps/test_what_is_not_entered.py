"""What the shop has not entered is wide, and said before any work where nothing could pass."""

from __future__ import annotations

import html
import re
from pathlib import Path
from typing import Any

import pytest
import yaml
from click.testing import CliRunner

from companion.cli import main
from companion.dialogue.feasibility import infeasible
from companion.dialogue.machine import begin
from companion.job.loader import EXAMPLES, JobPaths
from companion.job.setup_files import Stand
from companion.record import FixedClock, SqliteLog, open_record
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice
from tests.rendered import render_report

DOUBTS = (
    "plate_to_bar_doubt_deg",
    "head_doubt_deg",
    "settled_toe_doubt_deg",
    "settled_pitch_doubt_deg",
    "wheel_back_doubt_deg",
    "plate_flatness_mm",
    "hinge_doubt_mm",
    "ripple_db",
    "level_doubt_mm_per_m",
)


def bay_without(names: tuple[str, ...], folder: Path, **told: Any) -> Path:
    bay = yaml.safe_load((EXAMPLES / "bay.yaml").read_text(encoding="utf-8"))
    for name in names:
        del bay["stand"][name]
    path = folder / "bay.yaml"
    path.write_text(yaml.safe_dump(bay | told), encoding="utf-8")
    return path


@pytest.mark.parametrize("name", DOUBTS)
def test_left_out_it_is_no_smaller_than_a_shop_would_measure(name: str) -> None:
    example = yaml.safe_load((EXAMPLES / "bay.yaml").read_text(encoding="utf-8"))["stand"]
    default = Stand.model_fields[name].default
    assert default > 0.0
    assert default > example[name]


def test_a_bay_that_enters_none_of_them_is_told_before_the_work(tmp_path: Path) -> None:
    def could_not_pass(names: tuple[str, ...]) -> set[str]:
        loaded = assembly.load(JobPaths(bay=bay_without(names, tmp_path)))
        return {item.step_id for item in infeasible(begin(loaded.plan, assembly.language()))}

    assert could_not_pass(()) == set()
    assert could_not_pass(DOUBTS)


def test_no_job_begins_with_an_overdue_instrument_where_the_shop_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    late = [{"name": "Steel rule", "serial": "R-0002", "due": "2020-01-31"}]
    bay = bay_without((), tmp_path, instruments=late)
    settings = tmp_path / "settings.yaml"
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))

    def start(what: str) -> str:
        settings.write_text(f"overdue_instruments: {what}\n", encoding="utf-8")
        files = ["--settings", str(settings), "--bay", str(bay)]
        record = ["--record", str(tmp_path / f"{what}.sqlite")]
        return CliRunner().invoke(main, ["start", *files, *record], input="words only\n").output

    refused = start("refuse")
    assert "Steel rule (2020-01-31)" in refused
    assert not (tmp_path / "refuse.sqlite").exists()
    said = start("say")
    assert "Steel rule" in said
    assert "voice is personal data" in said


def test_the_report_has_the_rule_and_what_was_left_in_words_and_numbers(tmp_path: Path) -> None:
    loaded = assembly.load(JobPaths())
    with open_record(tmp_path / "record.sqlite", FixedClock()) as database:
        log = SqliteLog(database, database.create_session())
        run_rehearsal(loaded, assembly.language(), make_rehearsal(loaded, 1), SilentVoice(), log)
        page = html.unescape(render_report(database.path, log.session_id))
    assert "Decision rule: “inside” is said when the chance that both axes lie within" in page
    assert re.search(
        r"accepts up to 0\.3\d\d° sideways and 0\.[23]\d\d° up or down: a guard band of "
        r"0\.\d{3}° and 0\.\d{3}° inside the limits\. The risk is the customer's",
        page.replace("\u00a0", " "),
    )
    assert "at one position of the screws, which share the stated risk" in page
    assert "three times as large, the chance would be" in page
    assert "As left: measured after the screws were locked." in page
    assert "not a validation on a car" in page
