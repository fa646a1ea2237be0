"""A session handed on as JSON lines and CSV loses nothing and runs nothing."""

from __future__ import annotations

import csv
import io
import json

from companion.record import Entry, MemoryLog
from companion.record.canonical import canonical_json, sha256_hex
from companion.record.export import write_events_csv, write_json_lines, write_readings_csv
from companion.report.readings import reading_rows


def a_log(*entries: Entry) -> MemoryLog:
    log = MemoryLog("s1")
    log.append(entries)
    return log


def test_json_lines_let_another_program_check_the_chain() -> None:
    log = a_log(Entry("said", {"text": "é"}), Entry("heard", {"score": 0.5}))
    out = io.StringIO()
    assert write_json_lines(log.events("s1"), out) == 2
    previous = None
    for line in out.getvalue().splitlines():
        told = json.loads(line)
        claimed = told.pop("hash")
        assert sha256_hex(canonical_json(told)) == claimed
        assert previous in (None, told["previous"])
        previous = claimed
    assert previous == log.head_hash


def test_csv_keeps_every_event_with_commas_quotes_and_lines() -> None:
    body = {"text": 'say "seven",\nthen wait'}
    out = io.StringIO(newline="")
    assert write_events_csv(a_log(Entry("said", body)).events("s1"), out) == 1
    (row,) = csv.DictReader(io.StringIO(out.getvalue(), newline=""))
    assert json.loads(row["body"]) == body
    assert row["seq"] == "1"


def test_the_readings_are_rows_of_their_own() -> None:
    accepted = {"reading_id": "left_arm", "title": "Left arm", "value": "-4.5", "unit": "mm"}
    log = a_log(Entry("said", {}), Entry("accepted", accepted))
    out = io.StringIO(newline="")
    assert write_readings_csv(reading_rows(log.events("s1")), out) == 1
    (row,) = csv.DictReader(io.StringIO(out.getvalue(), newline=""))
    assert (row["title"], row["value"], row["unit"], row["u"]) == ("Left arm", "-4.5", "mm", "")


def test_text_that_a_spreadsheet_would_run_is_disarmed() -> None:
    out = io.StringIO(newline="")
    hostile = Entry("accepted", {"title": "=HYPERLINK(1)", "spoken": "+1+2", "value": "-3"})
    write_readings_csv(reading_rows(a_log(hostile).events("s1")), out)
    (row,) = csv.DictReader(io.StringIO(out.getvalue(), newline=""))
    assert (row["title"], row["spoken"], row["value"]) == ("'=HYPERLINK(1)", "'+1+2", "-3")
