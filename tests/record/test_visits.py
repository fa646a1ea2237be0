"""A car's visit: what is known of it lies beside the record, and can be let go."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from companion.cli import main
from companion.errors import RecordError
from companion.facts.car import Car
from companion.record import ClipStore, FixedClock, clips_folder, open_record
from companion.record.audit.verify import verify
from companion.record.backup import back_up, restore
from companion.record.cars import CarStore, cars_folder
from companion.record.cars_kept import let_cars_go
from companion.record.visits import close_visit, find_visit, keep_codes, open_visit, visits

CAR = Car(order="4711", plate="EX 123", vin="ZZZ00000000000017", odometer_km=48210)
DAY_MS = 86_400_000


def test_the_record_names_the_car_by_a_hash_that_cannot_be_guessed(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    cars = CarStore(cars_folder(path))
    with open_record(path, FixedClock()) as database:
        first = open_visit(database, cars, CAR)
        second = open_visit(database, cars, CAR)
    assert first.id != second.id
    assert first.car_sha256 != second.car_sha256, "the same car has another salt"
    assert b"EX 123" not in path.read_bytes()
    known = cars.get(first.car_sha256)
    assert known is not None
    assert (known.plate, known.odometer_km) == ("EX 123", 48210)
    assert verify(path) == []


def test_a_car_that_was_changed_is_not_believed(tmp_path: Path) -> None:
    cars = CarStore(tmp_path / "cars")
    name = cars.put(CAR)
    file = tmp_path / "cars" / f"{name}.json"
    file.write_text(file.read_text().replace("EX 123", "EX 124"))
    with pytest.raises(RecordError, match="was changed since it was kept"):
        cars.get(name)


def test_cars_are_let_go_after_their_time_and_the_record_stays(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    cars = CarStore(cars_folder(path))
    clock = FixedClock()
    with open_record(path, clock) as database:
        old = open_visit(database, cars, CAR)
        clock.advance(10 * DAY_MS)
        young = open_visit(database, cars, CAR)
        assert let_cars_go(database, cars, 5, "agreed") == (old.car_sha256,)
        assert [one.id for one in visits(database)] == [old.id, young.id]
    assert cars.get(old.car_sha256) is None
    assert cars.get(young.car_sha256) is not None
    assert verify(path) == []


def test_only_a_date_that_something_vouched_for_ages_a_car(tmp_path: Path) -> None:
    """A clock that began in 2001 deletes nothing too early, one of 2040 keeps nothing for ever."""
    path = tmp_path / "r.sqlite"
    cars = CarStore(cars_folder(path))
    for date in ("2001-01-01T08:00:00.000Z", "2040-01-01T08:00:00.000Z"):
        with open_record(path, FixedClock(date, trusted=False)) as database:
            open_visit(database, cars, CAR)
            with pytest.raises(RecordError, match="nothing vouches"):
                let_cars_go(database, cars, 5, "agreed")
    with open_record(path, FixedClock("2031-05-06T08:00:00.000Z")) as database:
        assert let_cars_go(database, cars, 5, "agreed") == ()
        assert let_cars_go(database, cars, 5, "agreed") == ()
        assert [event.kind for event in database.events("office")].count("date_vouched") == 1
    with open_record(path, FixedClock("2031-05-12T08:00:00.000Z")) as database:
        assert len(let_cars_go(database, cars, 5, "agreed")) == 2
    assert verify(path, ClipStore(clips_folder(path))) == []


def test_what_no_visit_keeps_goes_with_the_next_letting_go(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    cars = CarStore(cars_folder(path))
    with open_record(path, FixedClock()) as database:
        kept = open_visit(database, cars, CAR)
        orphan = cars.put(CAR)
        (cars.folder / ".01234567-abc").write_text("half")
        (cars.folder / "letter.txt").write_text("not ours")
        told = companion("verify", "--record", str(path))
        assert "3 files that no visit keeps" in told.output
        assert let_cars_go(database, cars, 5, "agreed") == ()
    lying = cars.lying()
    assert lying.cars == {kept.car_sha256}
    assert orphan not in lying.cars
    assert (lying.remnants, lying.others) == (frozenset(), {"letter.txt"})


def test_a_copy_holds_no_car_that_was_let_go_and_none_where_it_is_made_without(
    tmp_path: Path,
) -> None:
    path = tmp_path / "r.sqlite"
    cars = CarStore(cars_folder(path))
    clock = FixedClock()
    with open_record(path, clock) as database:
        old = open_visit(database, cars, CAR)
        content = cars.content(old.car_sha256)
        clock.advance(10 * DAY_MS)
        young = open_visit(database, cars, CAR)
        let_cars_go(database, cars, 5, "agreed")
    (cars.folder / f"{old.car_sha256}.json").write_bytes(content)
    (tmp_path / "a").mkdir()
    back_up(path, tmp_path / "a" / "copy.sqlite")
    copied = CarStore(cars_folder(tmp_path / "a" / "copy.sqlite"))
    assert copied.lying().cars == {young.car_sha256}
    back_up(path, tmp_path / "nightly.sqlite", with_clips=False)
    assert not cars_folder(tmp_path / "nightly.sqlite").exists()
    restore(tmp_path / "nightly.sqlite", tmp_path / "again.sqlite", with_clips=False)
    assert [
        one.kind for one in verify(tmp_path / "again.sqlite", ClipStore(tmp_path / "clips"))
    ] == ["car"]


def test_a_car_that_is_a_link_or_a_pipe_is_refused_quickly(tmp_path: Path) -> None:
    cars = CarStore(tmp_path / "cars")
    name = cars.put(CAR)
    file = tmp_path / "cars" / f"{name}.json"
    large = tmp_path / "large"
    with large.open("wb") as made:
        made.truncate(3_000_000_000)
    for instead in (lambda: file.symlink_to(large), lambda: os.mkfifo(file)):
        file.unlink()
        instead()
        with pytest.raises(RecordError):
            cars.get(name)


def test_a_backup_has_the_cars(tmp_path: Path) -> None:
    path, copy = tmp_path / "r.sqlite", tmp_path / "copy.sqlite"
    with open_record(path, FixedClock()) as database:
        visit = open_visit(database, CarStore(cars_folder(path)), CAR)
    back_up(path, copy)
    assert CarStore(cars_folder(copy)).get(visit.car_sha256) is not None


def test_a_closed_visit_is_told_as_such(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    with open_record(path, FixedClock()) as database:
        visit = open_visit(database, CarStore(cars_folder(path)), Car())
        assert visit.car_sha256 == ""
        close_visit(database, visit)
        assert find_visit(database, "last").is_closed
        with pytest.raises(RecordError, match="holds no visit 'other'"):
            find_visit(database, "other")


def companion(*words: str) -> Result:
    return CliRunner().invoke(main, list(words))


def test_the_command_line_opens_finds_and_shows_a_visit(tmp_path: Path) -> None:
    record = ("--record", str(tmp_path / "r.sqlite"))
    opened = companion("visit", "new", "--plate", "ex 123", "--order", "4711", *record)
    assert opened.exit_code == 0, opened.output
    assert "personal data" in opened.output
    assert "EX 123" in companion("visit", "list", "ex-123", *record).output
    assert "No visit" in companion("visit", "list", "other", *record).output
    assert companion("visit", "change", "last", "--odometer-km", "48212", *record).exit_code == 0
    shown = companion("visit", "show", "last", *record).output
    assert "48212" in shown
    assert "EX 123" in shown
    assert companion("visit", "codes", "last", "--before", "not aimed", *record).exit_code == 0
    assert companion("visit", "close", "last", *record).exit_code == 0
    assert "closed" in companion("visit", "show", *record).output


def test_each_is_asked_for_and_the_vin_read_back_in_groups(tmp_path: Path) -> None:
    record = str(tmp_path / "r.sqlite")
    typed = "4711\n\nZZZ\nZZZ00000000000017\nn\nZZZ00000000000017\ny\n48 210\n\n"
    said = CliRunner().invoke(main, ["visit", "new", "--ask", "--record", record], input=typed)
    assert said.exit_code == 0, said.output
    assert "found 3 characters; wanted: 17" in said.output
    assert said.output.count("ZZZ 000 000 000 000 17") == 2


def test_a_vin_that_is_none_is_refused(tmp_path: Path) -> None:
    record = ("--record", str(tmp_path / "r.sqlite"))
    said = companion("visit", "new", "--vin", "ZZZO0000000000017", *record)
    assert said.exit_code != 0
    assert "the letter O at place 4" in said.output


def test_a_visit_that_there_is_not_is_refused_with_the_latest_three(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    cars = CarStore(cars_folder(path))
    with open_record(path, FixedClock()) as database:
        with pytest.raises(RecordError, match=r"\(the latest: -\)"):
            find_visit(database, "another")
        known = [open_visit(database, cars, CAR).id for _ in range(4)]
        with pytest.raises(RecordError) as refused:
            find_visit(database, "another")
    assert f"(the latest: {', '.join(known[1:])})" in str(refused.value)


def test_a_code_of_eighty_signs_is_kept_and_a_longer_one_refused(tmp_path: Path) -> None:
    path = tmp_path / "r.sqlite"
    with open_record(path, FixedClock()) as database:
        visit = open_visit(database, CarStore(cars_folder(path)), CAR)
        keep_codes(database, visit, "before", ["C" * 80])
        with pytest.raises(RecordError, match="81 characters; wanted: 1 to 80"):
            keep_codes(database, visit, "before", ["C" * 81])
