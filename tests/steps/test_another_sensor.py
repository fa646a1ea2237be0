"""A job for another sensor is a file of steps: no code, no mount file, no figures of a radar."""

from __future__ import annotations

import re
from dataclasses import replace
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

import companion.report
from companion.cli import main
from companion.errors import FileProblem
from companion.facts.opening import Opened
from companion.job.loader import EXAMPLES, JobPaths, LoadedJob
from companion.record import SqliteLog, open_record
from companion.runtime import assembly
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.scenario import Scenario
from companion.speech.silent import SilentVoice
from tests.rendered import render_report

HERE = Path(__file__).parent
BOARD = JobPaths(
    job=HERE / "target_board.yaml", vehicle=HERE / "car_without_radar.yaml", mount=None
)
ONE_JOBS_WORDS = re.compile(r"(?<![a-z])(radar|screw|plate|echo|aim)", re.IGNORECASE)
COMMON_PARTS = (
    "report.html.j2",
    "report_main.html.j2",
    "report_appendix.html.j2",
    "macros.html.j2",
)


@pytest.fixture(scope="module")
def board() -> LoadedJob:
    return assembly.load(BOARD)


def run(loaded: LoadedJob, record: Path, **answers: str) -> tuple[Any, str]:
    """The job from its first word to its end, and the report of it."""
    with open_record(record) as database:
        session = database.create_session()
        scenario = Scenario(answers=answers)
        rehearsal = make_rehearsal(loaded, seed=3, scenario=scenario)
        log = SqliteLog(database, session)
        found = run_rehearsal(loaded, assembly.language(), rehearsal, SilentVoice(), log)
        opened = next(iter(database.events(session))).fact
    assert isinstance(opened, Opened)
    assert opened.mount == {}
    return found, render_report(record, session)


@pytest.mark.parametrize(
    ("answer", "result", "said"),
    [
        (
            "tool_inside",
            "camera_learnt",
            "The scan tool says that the camera has learnt the board.",
        ),
        ("tool_outside", "camera_refused", "has not learnt the board."),
    ],
)
def test_it_runs_to_the_end_that_its_file_names(
    board: LoadedJob, tmp_path: Path, answer: str, result: str, said: str
) -> None:
    found, page = run(board, tmp_path / "r.sqlite", verdict=answer)
    assert found.state.result == result
    head = unescape(page[page.index('id="answer"') : page.index('id="notable"')])
    assert said in head
    assert "not what the camera sees of it" in head
    assert 'class="result tone-open"' in page


def test_its_report_speaks_of_no_radar_and_has_no_empty_table(
    board: LoadedJob, tmp_path: Path
) -> None:
    _, page = run(board, tmp_path / "r.sqlite", verdict="tool_inside")
    shown = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    assert "Forward camera, target board, session" in re.sub("<.*?>", "", shown)
    assert not re.search("radar|screw", shown, re.IGNORECASE)
    assert 'id="aim"' not in shown
    assert "beam width" not in shown
    tables = re.findall(r"<table.*?</table>", shown, re.DOTALL)
    assert len(tables) > 4
    for table in tables:
        body = table[table.index("<tbody>") :]
        assert re.search(r"<t[dh][^>]*>[^<]", body), table
    for figure in re.findall(r"<figure.*?</figure>", shown, re.DOTALL):
        assert "<svg" in figure


def test_the_parts_that_all_reports_have_in_common_name_no_job() -> None:
    room = Path(companion.report.__file__).parent
    files = [room / "templates" / name for name in COMMON_PARTS] + [room / "headline.py"]
    found = {
        f"{file.name}:{number}: {line.strip()}"
        for file in files
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if ONE_JOBS_WORDS.search(line) and "import" not in line and "include" not in line
    }
    assert found == set()


def test_what_a_step_needs_of_the_files_is_told_with_the_step(tmp_path: Path) -> None:
    without_mount = replace(JobPaths(), mount=None)
    with pytest.raises(FileProblem) as problem:
        assembly.load(without_mount)
    told = str(problem.value).splitlines()
    assert any("step aim_decision: found no mount file; wanted: a mount file" in x for x in told)
    assert any("step tool_turns: found no mount file" in x for x in told)
    vehicle = tmp_path / "vehicle.yaml"
    text = (EXAMPLES / "vehicle.yaml").read_text(encoding="utf-8")
    vehicle.write_text(text.replace("  beam_width_yaw_deg: 10.0\n", ""), encoding="utf-8")
    with pytest.raises(FileProblem) as problem:
        assembly.load(replace(JobPaths(), vehicle=vehicle))
    assert re.search(
        r"step swing_vertex: found 'vehicle\.aim\.beam_width_yaw_deg'; wanted: a number in",
        str(problem.value),
    )


def test_a_mount_file_that_no_step_needs_is_not_read(board: LoadedJob, tmp_path: Path) -> None:
    with_one = assembly.load(replace(BOARD, mount=tmp_path / "nowhere.yaml"))
    assert with_one.plan.files.mount is None
    assert set(with_one.file_hashes) == {"job", "vehicle", "bay"} == set(board.file_hashes)


def test_no_answer_makes_a_job_inside_or_stopped(tmp_path: Path) -> None:
    job = tmp_path / "job.yaml"
    text = BOARD.job.read_text(encoding="utf-8")
    for result in ("inside", "stopped"):
        job.write_text(text.replace("result: camera_learnt", f"result: {result}"), encoding="utf-8")
        with pytest.raises(FileProblem, match="another result than inside or stopped"):
            assembly.load(replace(BOARD, job=job))


def test_the_commands_take_it(tmp_path: Path) -> None:
    files = ["--job", str(BOARD.job), "--vehicle", str(BOARD.vehicle)]
    said = CliRunner().invoke(main, ["rehearse", *files, "--seed", "2"], catch_exceptions=False)
    assert said.exit_code == 0, said.output
    assert "Hidden truth" not in said.output
