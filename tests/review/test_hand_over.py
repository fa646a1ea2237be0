"""The hand-over: one page about one car, for the person who takes it."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from markupsafe import escape
from playwright.sync_api import Browser

from companion.cli import main
from companion.facts.opening import Opened
from companion.job.loader import EXAMPLES, JobPaths
from companion.record import open_for_reading
from companion.report.hand_over import contradicting
from companion.runtime import assembly
from companion.runtime.shipped_texts import in_language

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
    for way, ways in zip(("left|right", "up|down"), rows, strict=True):
        assert all(re.search(rf"({way})$", figure) for figure in ways[1:]), "the other axis"


def test_found_is_what_was_measured_first_and_left_what_was_measured_last(
    page: tuple[str, Path],
) -> None:
    html, record = page
    rows = re.findall(r"<tr><th>\w+</th><td>([^<]+)</td><td>([^<]+)</td></tr>", html)
    with open_for_reading(record) as database:
        events = database.events(database.sessions()[-1].session_id)
        decided = [event.body for event in events if event.kind == "aim_decided"]
    for axis, (found, as_left) in zip(("yaw", "elevation"), rows, strict=True):
        for shown, kept in ((found, decided[0]), (as_left, decided[-1])):
            size = float(shown.split()[0].rstrip("°"))
            assert size == pytest.approx(abs(kept[axis]["value"]), abs=0.006)


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


def test_in_another_language_a_shipped_job_is_told_in_its_own_texts_of_that(
    page: tuple[str, Path], tmp_path: Path
) -> None:
    english, record = page
    companion(
        "report", "--record", record, "--hand-over", "--language", "es", "--out", tmp_path / "es"
    )
    spanish = (tmp_path / "es").read_text("utf-8")
    plan = {
        code: assembly.load(JobPaths(), assembly.language(code)).plan.files.job
        for code in ("en", "es")
    }
    for code, html, other in (("en", english, "es"), ("es", spanish, "en")):
        for told in (plan[code].name, *plan[code].not_meant):
            assert str(escape(told)) in html, told
        for told in (plan[other].name, *plan[other].not_meant):
            assert str(escape(told)) not in html, told


def test_a_job_with_another_file_keeps_the_texts_that_it_was_done_with(
    page: tuple[str, Path],
) -> None:
    with open_for_reading(page[1]) as database:
        first = next(iter(database.events(database.sessions()[-1].session_id))).fact
    assert isinstance(first, Opened)
    assert in_language(first, "es").job != first.job
    assert in_language(first, "en") == first
    assert in_language(first, "") == first
    other = replace(first, file_hashes={**first.file_hashes, "job": "0" * 64})
    assert in_language(other, "es") == other


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


@pytest.mark.parametrize(
    ("read", "answers", "told"),
    [
        ({"after": ()}, [{"faults_after": "faults_remain"}], ["after-none-but-stored"]),
        ({"after": ()}, [{"faults_after": "aim_fault_only"}], ["after-none-but-stored"]),
        ({"after": ("P1",)}, [{"faults_after": "no_faults"}], ["after-but-none"]),
        ({"before": ("P1",)}, [{"faults_before": "no_faults"}], ["before-but-none"]),
        ({"before": ("P1",)}, [{"faults_before": "faults_cleared"}], []),
        ({"before": ("P1",), "after": ()}, [{"faults_before": "aim_fault_only"}], []),
        ({}, [{"faults_after": "faults_remain"}], []),
        # The later job's answer is how the car leaves.
        (
            {"after": ()},
            [{"faults_after": "faults_remain"}, {"faults_after": "no_faults"}],
            [],
        ),
    ],
)
def test_codes_that_contradict_what_the_technician_said_are_told(
    read: dict[str, tuple[str, ...]], answers: list[dict[str, str]], told: list[str]
) -> None:
    assert list(contradicting(read, answers)) == [f"hand-over-codes-{one}" for one in told]


def test_the_page_and_the_terminal_say_that_codes_do_not_agree(
    page: tuple[str, Path], tmp_path: Path
) -> None:
    html, first = page
    assert "do not agree" not in html
    record = tmp_path / "r.sqlite"
    shutil.copyfile(first, record)
    companion("visit", "codes", "last", "--record", record, "--after", "U0A1B not aimed")
    told = companion("report", "--record", record, "--hand-over", "--out", tmp_path / "p.html")
    assert "These do not agree" in told
    assert "These do not agree" in (tmp_path / "p.html").read_text("utf-8")


@pytest.mark.parametrize("language", ["en", "es"])
def test_it_is_one_sheet_also_of_every_sensor_and_when_codes_do_not_agree(
    chromium: Browser, every_sensor: Path, tmp_path: Path, language: str
) -> None:
    file = tmp_path / "page.html"
    told = ("--hand-over", "--language", language, "--out", file)
    companion("report", "--record", every_sensor, *told)
    html = file.read_text("utf-8")
    assert html.count('<section class="job') == 4
    assert html.count('class="warn"') == 3
    sheet = chromium.new_page()
    try:
        sheet.set_content(html)
        printed = sheet.pdf(prefer_css_page_size=True)
    finally:
        sheet.close()
    assert len(re.findall(rb"/Type\s*/Page\b", printed)) == 1


@pytest.fixture(scope="module")
def every_sensor(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A visit with all that can be known of a car, and a job of each sensor."""
    record = tmp_path_factory.mktemp("every sensor") / "record.sqlite"
    car = ("--order", "A-17", "--plate", "EX 4711", "--vin", "ZZZ12345678AEX123")
    asked = "Distance keeping warns too late, and lane keeping pulls to the left since the crash"
    more = ("--odometer-km", "48210", "--complaint", asked)
    companion("visit", "new", "--record", record, *car, *more)
    codes = ("--before", "U0A1B not aimed", "--before", "B1234 camera", "--after", "B1234 camera")
    companion("visit", "codes", "last", "--record", record, *codes)
    for job in ("front_radar", "forward_camera", "rear_corner_radar", "surround_mats"):
        rehearsed = ("--seed", "3", "--job", EXAMPLES / f"{job}.yaml", "--visit", "last")
        companion("rehearse", "--record", record, *rehearsed)
    return record
