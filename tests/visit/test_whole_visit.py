"""A visit of two sensors by its commands, as demo_scripts/a_visit.sh goes through it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.job.loader import EXAMPLES

DEMO = Path(__file__).parents[2] / "demo_scripts" / "a_visit.sh"
SENSORS = ("front_radar", "forward_camera")


def companion(*arguments: str | Path) -> str:
    result = CliRunner().invoke(main, [str(each) for each in arguments])
    assert result.exit_code == 0, result.output
    return result.output


@pytest.fixture(scope="module")
def visit(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, str]]:
    """The folder, and what the terminal showed of each job."""
    folder = tmp_path_factory.mktemp("visit")
    record = folder / "record.sqlite"
    car = ("--order", "4711", "--plate", "EX 123", "--odometer-km", "48210")
    companion("visit", "new", "--record", record, *car, "--complaint", "Warns too late")
    companion("visit", "codes", "last", "--record", record, "--before", "not aimed", "--none-after")
    jobs = folder / "jobs"
    jobs.mkdir()
    told = {}
    for name in SENSORS:
        for file in EXAMPLES.glob(f"{name}*.yaml"):
            text = file.read_text("utf-8")
            stored = text.replace("faults_before: no_faults", "faults_before: aim_fault_only")
            (jobs / file.name).write_text(stored, "utf-8")
        job, report = jobs / f"{name}.yaml", folder / f"{name}.html"
        more = ("--visit", "last", "--report", report)
        told[name] = companion("rehearse", "--seed", "3", "--job", job, "--record", record, *more)
    told["alone"] = companion("rehearse", "--seed", "3", "--job", jobs / "forward_camera.yaml")
    page = folder / "hand-over.html"
    companion("report", "--hand-over", "--record", record, "--out", page)
    companion("verify", "--record", record)
    return folder, told


def test_it_ends_with_one_page_and_a_report_of_each_sensor(
    visit: tuple[Path, dict[str, str]],
) -> None:
    folder, _ = visit
    page = (folder / "hand-over.html").read_text("utf-8")
    assert page.count('<section class="job tone-inside"') == 2
    for told in ("4711", "EX 123", "Warns too late", "not aimed", "signature of the workshop"):
        assert told in page
    assert "do not agree" not in page
    codes = re.findall(r'code <span class="code">([0-9a-f ]+)</span>', page)
    assert len(codes) == 2
    for name in SENSORS:
        report = (folder / f"{name}.html").read_text("utf-8")
        for of_the_car in ("4711", "EX 123", "48\u00a0210 km", "Warns too late", "personal data"):
            assert of_the_car in report
    assert "Taken over" in (folder / "forward_camera.html").read_text("utf-8")


def test_the_report_can_leave_out_which_car_it_was(visit: tuple[Path, dict[str, str]]) -> None:
    folder, _ = visit
    file = folder / "without.html"
    companion("report", "--record", folder / "record.sqlite", "--without-car", "--out", file)
    report = file.read_text("utf-8")
    assert not any(told in report for told in ("4711", "EX 123", "Warns too late"))


def test_the_second_sensor_asks_for_what_is_new_alone(visit: tuple[Path, dict[str, str]]) -> None:
    _, told = visit
    answers = {name: text.count("\n  hears") for name, text in told.items()}
    assert answers["forward_camera"] < 0.7 * answers["alone"]
    for asked in (
        "Ruler at rear left",
        "Rear toe on your sheet",
        "left arm scale, start",
        "Ride height, front",
    ):
        assert asked.lower() in told["alone"].lower()
        assert asked.lower() not in told["forward_camera"].lower()


def test_what_was_taken_over_stands_under_its_own_stage(
    visit: tuple[Path, dict[str, str]],
) -> None:
    _, told = visit
    lines = told["forward_camera"].splitlines()
    heading = lines.index("Floor check, from what was taken over")
    assert "Floor twist as surveyed" in lines[heading + 1]
    looking = next(n for n, line in enumerate(lines) if line.endswith("Looking first"))
    assert looking < heading
    assert not any("judged" in line for line in lines[looking:heading])
    assert "from what was taken over" not in told["alone"] + told["front_radar"]


def test_the_demo_goes_the_same_way() -> None:
    script = DEMO.read_text("utf-8")
    for part in ("visit new", "visit codes last", "--visit last", "report --hand-over", "verify"):
        assert part in script
    assert all(name in script for name in SENSORS)
    assert "${WAYS:-typed spoken}" in script
