"""What is exported is what is documented, and others can read and check it without this program."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from companion.errors import RecordError
from companion.facts.afterwards import Amended, SignedOff
from companion.facts.kinds import body_of
from companion.record import Entry, MemoryLog, SqliteLog, open_record
from companion.record.audit.seal import make_seal, proof_of, write_outside
from companion.record.export import (
    EVENT_COLUMNS,
    READING_COLUMNS,
    write_events_csv,
    write_json_lines,
    write_readings_csv,
)
from companion.record.exported import SCHEMAS, EventRow, ReadingRow
from companion.record.parquet import write_events_parquet, write_readings_parquet
from companion.report.readings import reading_rows
from tests.write_schemas import FOLDER, schema_of, schema_text


@pytest.fixture
def log() -> MemoryLog:
    """A small job with everything that is awkward to hand on."""
    log = MemoryLog("s1")
    accepted = {"reading_id": "left_arm_mm", "title": "Left arm", "value": "775", "unit": "mm"}
    log.append(
        [
            Entry("opened", {"technician": 'Ana "€" Field', "example": True}),
            Entry("said", {"text": "a line\nand another, with a comma", "very_small": 1.5e-7}),
            Entry("accepted", {**accepted, "u": 0.25, "attempts": 2, "spoken": "seven seven five"}),
            Entry("accepted", {**accepted, "value": "-3", "direction": "left"}),
            Entry("finished", {"result": "inside"}),
        ]
    )
    return log


def lines_of(log: MemoryLog) -> list[str]:
    out = io.StringIO()
    write_json_lines(log.events(log.session_id), out)
    return out.getvalue().splitlines()


def valid(name: str, told: Any) -> None:
    jsonschema.validate(told, schema_of(name), cls=jsonschema.Draft202012Validator)


# Ten lines that know nothing of this program: a line without its hash is what was hashed.


def broken_line(text: str) -> int:
    """The first line of JSON lines that is not what it claims, or 0."""
    from hashlib import sha256

    last = None
    for number, line in enumerate(text.splitlines(), start=1):
        told = json.loads(line)
        hashed = line.replace(f'"hash":"{told["hash"]}",', "", 1).encode("utf-8")
        follows = last is None or told["previous"] == last
        if sha256(hashed).hexdigest() != told["hash"] or not follows or told["seq"] != number:
            return number
        last = told["hash"]
    return 0


def test_an_independent_reader_checks_an_exported_job(log: MemoryLog) -> None:
    text = "\n".join(lines_of(log))
    assert broken_line(text) == 0
    assert json.loads(text.splitlines()[-1])["hash"] == log.head_hash


@pytest.mark.parametrize(
    ("before", "after", "number"),
    [
        ("775", "776", 3),
        ("inside", "outside", 5),
        ("1.5e-7", "1.4e-7", 2),
        ('"seq":4', '"seq":5', 4),
    ],
)
def test_the_independent_reader_finds_a_changed_line(
    log: MemoryLog, before: str, after: str, number: int
) -> None:
    lines = lines_of(log)
    lines[number - 1] = lines[number - 1].replace(before, after)
    assert broken_line("\n".join(lines)) == number


def test_the_independent_reader_finds_a_line_left_out(log: MemoryLog) -> None:
    lines = lines_of(log)
    assert broken_line("\n".join(lines[:2] + lines[3:])) == 3


def proven_root(proof: dict[str, Any]) -> str:
    """RFC 6962 the other way round, from the leaf up, as an outsider would write it."""
    from hashlib import sha256

    leaf = json.dumps(proof["leaf"], sort_keys=True, separators=(",", ":")).encode()
    node, place, last = sha256(b"\0" + leaf).digest(), proof["place"], proof["count"] - 1
    for step in map(bytes.fromhex, proof["path"]):
        while last and place % 2 == 0 and place == last:
            place, last = place // 2, last // 2
        pair = step + node if place % 2 else node + step
        node, place, last = sha256(b"\1" + pair).digest(), place // 2, last // 2
    return node.hex()


def test_an_independent_reader_follows_a_proof_to_the_root(tmp_path: Path) -> None:
    with open_record(tmp_path / "bay.record") as database:
        for number in range(11):
            log = SqliteLog(database, database.create_session(f"s{number:02d}"))
            log.append([Entry("said", {"n": number})])
        seal = make_seal(database)
    for number in range(11):
        path = tmp_path / f"{number}.proof"
        write_outside(path, proof_of(seal, f"s{number:02d}"))
        assert proven_root(json.loads(path.read_text())) == seal.root


# Forms and schemas


@pytest.mark.parametrize("name", sorted(SCHEMAS))
def test_the_documented_schema_is_that_of_the_model(name: str) -> None:
    """`python -m tests.write_schemas` writes them anew."""
    assert (FOLDER / f"{name}.json").read_text(encoding="utf-8") == schema_text(name)
    jsonschema.Draft202012Validator.check_schema(schema_of(name))


def test_no_schema_is_documented_that_there_is_not() -> None:
    assert {path.stem for path in FOLDER.glob("*.json")} == set(SCHEMAS)


def test_every_line_is_of_its_schema(log: MemoryLog) -> None:
    for line in lines_of(log):
        valid("event-1", json.loads(line))
    with pytest.raises(jsonschema.ValidationError):
        valid("event-1", {**json.loads(lines_of(log)[0]), "extra": 1})


def test_the_columns_of_csv_are_those_of_their_schemas() -> None:
    assert tuple(EventRow.model_fields) == EVENT_COLUMNS
    assert tuple(ReadingRow.model_fields) == READING_COLUMNS


def test_what_is_added_afterwards_is_of_its_schema() -> None:
    signed = SignedOff(by="B", role="supervisor", how="typed", events=4, head="0" * 64)
    valid("signed-off-1", body_of(signed))
    amended = Amended(by="B", how="pin", event=2, now="774", why="misread")
    valid("amended-1", body_of(amended))


# Parquet


def rows_of(path: Path) -> tuple[list[dict[str, Any]], dict[bytes, bytes]]:
    import pyarrow.parquet

    table = pyarrow.parquet.read_table(path)
    return table.to_pylist(), table.schema.metadata


def test_events_as_parquet_are_the_events(log: MemoryLog, tmp_path: Path) -> None:
    path = tmp_path / "events.parquet"
    assert write_events_parquet(log.events("s1"), path) == 5
    rows, metadata = rows_of(path)
    assert metadata[b"form"] == b"bay-companion event-row 1"
    for row in rows:
        valid("event-row-1", row)
    assert [(row["seq"], row["hash"]) for row in rows] == [
        (event.seq, event.hash) for event in log.events("s1")
    ]
    assert [json.loads(row["body"]) for row in rows] == [e.body for e in log.events("s1")]


def test_readings_as_parquet_are_those_of_csv(log: MemoryLog, tmp_path: Path) -> None:
    path = tmp_path / "readings.parquet"
    assert write_readings_parquet(reading_rows(log.events("s1")), path) == 2
    rows, _ = rows_of(path)
    for row in rows:
        valid("reading-row-2", row)
    out = io.StringIO(newline="")
    write_readings_csv(reading_rows(log.events("s1")), out)
    as_csv = list(csv.DictReader(io.StringIO(out.getvalue(), newline="")))
    for row, told in zip(rows, as_csv, strict=True):
        assert (row["value"], row["unit"], row["direction"]) == (
            told["value"],
            told["unit"],
            told["direction"],
        )
    assert [row["u"] for row in rows] == [0.25, None]
    assert [row["attempts"] for row in rows] == [2, 1]


def test_an_empty_export_is_a_file_with_its_columns(tmp_path: Path) -> None:
    path = tmp_path / "none.parquet"
    assert write_readings_parquet(iter(()), path) == 0
    assert rows_of(path)[0] == []


def test_events_as_csv_can_be_checked_too(log: MemoryLog) -> None:
    out = io.StringIO(newline="")
    write_events_csv(log.events("s1"), out)
    rows = list(csv.DictReader(io.StringIO(out.getvalue(), newline="")))
    assert [row["hash"] for row in rows] == [event.hash for event in log.events("s1")]


def test_without_pyarrow_it_is_said_what_to_install(
    log: MemoryLog, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(RecordError, match="install the extra 'parquet'"):
        write_events_parquet(log.events("s1"), tmp_path / "x.parquet")
