"""The hand-over: one page about one car, for whoever takes it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.job.loader import EXAMPLES
from companion.record import open_for_reading

COMPLAINT = "Bumper <script>alert(1)</script> replaced"


def companion(*arguments: str | Path) -> str:
    result = CliRunner().invoke(main, [str(each) for each in arguments])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, Path]:
    folder = tmp_path_factory.mktemp("visit")
    record = folder / "record.sqlite"
    told = ("--order", "A-17", "--plate", "EX 4711", "--complaint", COMPLAINT)
    companion("visit", "new", "--record", record, *told)
    companion("rehearse", "--seed", "1", "--record", record, "--visit", "last")
    companion("report", "--record", record, "--hand-over", "--out", folder / "page.html")
    return (folder / "page.html").read_text("utf-8"), record


def test_it_says_which_car_what_was_asked_and_what_came_of_it(page: tuple[str, Path]) -> None:
    html, _ = page
    for told in ("A-17", "EX 4711", "The radar&#39;s aim is inside the entered limits."):
        assert told in html
    rows = re.findall(r"<tr><th>(\w+)</th><td>([^<]+)</td><td>([^<]+)</td></tr>", html)
    assert [row[0] for row in rows] == ["Sideways", "Height"]
    assert all("±" in figure for row in rows for figure in row[1:])


def test_what_people_typed_is_text_and_nothing_runs(page: tuple[str, Path]) -> None:
    html, _ = page
    assert "<script" not in html
    assert "&lt;script&gt;" in html
    assert "default-src &#39;none&#39;" in html or "default-src 'none'" in html


def test_its_code_is_the_beginning_of_the_jobs_head(page: tuple[str, Path]) -> None:
    html, record = page
    with open_for_reading(record) as database:
        session = database.sessions()[-1].session_id
        head = list(database.events(session))[-1].hash
    found = re.search(r'<span class="code">([0-9a-f ]+)</span>', html)
    assert found is not None
    code = found[1].replace(" ", "")
    assert len(code) == 16
    assert head.startswith(code)
    assert session in html


def test_it_says_that_nothing_was_done_to_a_car_in_a_rehearsal(page: tuple[str, Path]) -> None:
    html, _ = page
    assert "A rehearsal in a simulated bay. No car was worked on." in html
    assert "No car may be judged by this page." in html
    assert "It does not say that driver assistance is safe" in html


def test_what_was_not_measured_before_the_sensor_learnt_is_not_called_as_found(
    tmp_path: Path,
) -> None:
    record, job = tmp_path / "r.sqlite", EXAMPLES / "rear_corner_radar.yaml"
    companion("visit", "new", "--record", record, "--order", "1")
    companion("rehearse", "--seed", "4", "--job", job, "--record", record, "--visit", "last")
    companion("report", "--record", record, "--hand-over", "--out", tmp_path / "page.html")
    html = (tmp_path / "page.html").read_text("utf-8")
    found = re.search(r"<tr><th>Angle of the corner radar</th><td>([^<]+)</td><td>([^<]+)<", html)
    assert found is not None
    assert found[1] == "not measured"
    assert re.search(r"± [\d.]+° (left|right)", found[2].replace("\u00a0", " "))
