"""What somebody else wrote reaches a terminal as text, whatever it is."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from companion.cli import main
from companion.facts.car import Car
from companion.record import Entry, FixedClock, SqliteLog, open_record
from companion.record.cars import CarStore, cars_folder
from companion.record.visits import open_visit

OBEYED = "\x1b]0;owned\x07\x1b[2Jx\rUnbroken\x9b2J\u202e"


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "r.sqlite"
    with open_record(path, FixedClock()) as database:
        car = Car(order=f"o{OBEYED}", plate=f"P{OBEYED}")
        visit = open_visit(database, CarStore(cars_folder(path)), car)
        log = SqliteLog(database, database.create_session(f"s1{OBEYED}"))
        who = {"technician": f"Ana{OBEYED}", "job": f"J{OBEYED}", "visit": visit.id}
        told = [("said", "text"), ("heard", "words"), ("noted", "words"), ("stopped", "why")]
        log.append([Entry("opened", who)])
        log.append([Entry(kind, {field: f"owned {OBEYED}"}) for kind, field in told])
    return path


@pytest.mark.parametrize(
    "command",
    [
        ("sessions",),
        ("verify",),
        ("verify", "--session", f"other{OBEYED}"),
        ("review", "list"),
        ("review", "search", "owned"),
        ("review", "show"),
        ("visit", "list"),
        ("visit", "show"),
        ("people", "list"),
        ("sign", "--by", "A. Example", "--role", "technician"),
    ],
    ids=" ".join,
)
def test_no_command_lets_the_terminal_obey_what_is_recorded(
    record: Path, command: tuple[str, ...]
) -> None:
    said = CliRunner().invoke(main, [*command, "--record", str(record)])
    assert said.exception is None or isinstance(said.exception, SystemExit)
    lines = said.output.split("\n")
    assert all(line.isprintable() for line in lines), [x for x in lines if not x.isprintable()]
