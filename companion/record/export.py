"""A session for other programs: JSON lines and CSV."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable
from typing import TextIO

from companion.record.canonical import canonical_json
from companion.record.exported import EventRow, ReadingRow, exported_event
from companion.record.port import StoredEvent
from companion.record.rows import row_of_event

EVENT_COLUMNS = tuple(EventRow.model_fields)
READING_COLUMNS = tuple(ReadingRow.model_fields)


def write_json_lines(events: Iterable[StoredEvent], out: TextIO) -> int:
    """One canonical JSON object a line, every field of the event; returns the line count.

    A line holds what the event's hash was made of and the hash itself, so another program
    can check the chain (`exported.ExportedEvent`).
    """
    count = 0
    for event in events:
        out.write(canonical_json(exported_event(event)).decode("utf-8") + "\n")
        count += 1
    return count


def write_events_csv(events: Iterable[StoredEvent], out: TextIO) -> int:
    """Every event as a row (RFC 4180, header first), the body as canonical JSON text.

    Open the file with `newline=""`. Returns the number of events.
    """
    writer = csv.writer(out)
    writer.writerow(EVENT_COLUMNS)
    count = 0
    for event in events:
        row = row_of_event(event)
        writer.writerow(_cell(row[column]) for column in EVENT_COLUMNS)
        count += 1
    return count


def write_readings_csv(readings: Iterable[ReadingRow], out: TextIO) -> int:
    """A row for each reading (RFC 4180, header first); returns their number."""
    writer = csv.writer(out)
    writer.writerow(READING_COLUMNS)
    count = 0
    for reading in readings:
        writer.writerow(map(_cell, reading.model_dump().values()))
        count += 1
    return count


def _cell(value: object) -> str:
    """Text for a cell; text that a spreadsheet would run as a formula is disarmed by a quote."""
    if value is None:
        return ""
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    return (
        f"'{text}"
        if text[:1] in ("=", "@", "\t", "\r", "+", "-") and not _is_number(text)
        else text
    )


def _is_number(text: str) -> bool:
    return text[1:].replace(".", "", 1).isdigit() and text[0] in "+-"
