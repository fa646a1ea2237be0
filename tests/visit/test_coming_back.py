"""A car that comes back: its visit beside the last one, on the page and in the terminal."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from companion.archive.coming_back import last_time, same_car
from companion.archive.opening import open_archive
from companion.browse.app import make_app
from companion.cli import main
from companion.facts.car import Car
from companion.job.loader import EXAMPLES, JobPaths
from companion.record import FixedClock, SqliteLog, open_record
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import open_visit
from companion.runtime import assembly
from companion.runtime.loop import OfVisit
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice

VIN = "ZZZ12345678AEX123"


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[str]]:
    """A car's first visit, another car, the first again with a clock that nothing vouches for."""
    record = tmp_path_factory.mktemp("shop") / "r.sqlite"
    loaded = assembly.load(JobPaths(job=EXAMPLES / "surround_mats.yaml"))
    visits = (
        ("2031-05-06T08:00:00.000Z", True, Car(plate="EX 123", vin=VIN, order="1")),
        ("2031-06-06T08:00:00.000Z", True, Car(plate="EX 999", order="2")),
        # By its own date before the first: the record's order counts.
        ("2001-01-01T08:00:00.000Z", False, Car(plate="EX-124", vin=VIN[-6:], order="3")),
    )
    sessions = []
    for seed, (at, trusted, car) in enumerate(visits, 3):
        clock = FixedClock(at, step_ms=500, trusted=trusted)
        with open_record(record, clock) as database:
            visit = open_visit(database, CarStore(cars_folder(record)), car)
            session = database.create_session()
            run_rehearsal(
                loaded,
                assembly.language(),
                make_rehearsal(loaded, seed),
                SilentVoice(),
                SqliteLog(database, session),
                visit=OfVisit(visit.id, visit.car_sha256),
            )
            sessions.append(session)
    return record, sessions


def test_the_same_car_is_told_by_vin_then_plate_then_order() -> None:
    one = Car(vin=VIN, plate="EX 123", order="1")
    assert same_car(one, Car(vin=VIN[-6:]))
    assert same_car(one, replace(one, plate="NEW 1"))
    assert not same_car(one, replace(one, vin="ZZZ12345678AEX124"))
    assert same_car(one, Car(plate="ex-123"))
    assert not same_car(one, Car(plate="EX 124", order="1")), "a plate that differs is another car"
    assert same_car(one, Car(order="1"))
    assert not same_car(one, Car(vin="123"))
    assert not same_car(Car(), Car())


def test_its_last_visit_is_found_whatever_its_date_and_no_other_car_s(
    shop: tuple[Path, list[str]],
) -> None:
    record, (first, other, again) = shop
    with open_archive(record) as archive:
        assert last_time(archive, first) is None
        assert last_time(archive, other) is None
        found = last_time(archive, again)
    assert found is not None
    assert found.session_id == first


def test_the_page_leads_to_both_side_by_side(shop: tuple[Path, list[str]]) -> None:
    record, (first, other, again) = shop
    client = TestClient(make_app(record), base_url="http://127.0.0.1")
    page = client.get(f"/session?id={again}").text
    assert "This car was here before" in page
    assert "This car was here before" not in client.get(f"/session?id={other}").text
    href = f"/compare?session={first}&session={again}"
    assert href.replace("&", "&amp;") in page
    beside = client.get(href).text
    assert "Front mat, sideways, as found" in beside
    assert "Front mat, sideways, as left" in beside
    assert "Fault codes before" in beside
    assert 'class="differs"' in beside


def test_the_terminal_lays_it_beside_the_last_and_marks_what_differs(
    shop: tuple[Path, list[str]],
) -> None:
    record, (_, _, again) = shop
    told = CliRunner(env={"COLUMNS": "160"}).invoke(
        main, ["visit", "compare", "last", "--record", str(record)]
    )
    assert told.exit_code == 0, told.output
    assert "2031-05-06 beside 2001-01-01" in told.output
    assert f"Nothing vouched for the clock of {again}" in told.output
    marked = [line for line in told.output.splitlines() if "≠" in line]
    assert any("as found" in line for line in marked)
    assert "-0." not in told.output, "directions are words"


def test_a_first_visit_has_nothing_to_compare_with(shop: tuple[Path, list[str]]) -> None:
    record, _ = shop
    first = CliRunner().invoke(main, ["visit", "list", "EX 999", "--record", str(record)])
    name = first.output.split()[0]
    told = CliRunner().invoke(main, ["visit", "compare", name, "--record", str(record)])
    assert "Nothing of this car's last visit" in told.output


@pytest.mark.parametrize("words", ["EX 123", "ex-123", "12345678AEX123", "order"])
def test_search_finds_the_visits_of_a_car(shop: tuple[Path, list[str]], words: str) -> None:
    record, _ = shop
    told = CliRunner().invoke(main, ["review", "search", words, "--record", str(record)])
    assert told.exit_code == 0, told.output
    found = "EX 123" in told.output and "companion review list --visit" in told.output
    assert found == (words != "order"), told.output
    if found:
        assert "EX 999" not in told.output
        assert "Nothing was found" not in told.output
