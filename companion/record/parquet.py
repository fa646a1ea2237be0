"""Events and readings as Parquet files, for programs that work on columns (extra `parquet`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice
from pathlib import Path
from typing import Any

from companion.errors import RecordError
from companion.record.exported import EVENT_FORM, READING_FORM, EventRow, ReadingRow
from companion.record.port import StoredEvent
from companion.record.rows import row_of_event

ROWS_A_GROUP = 50_000


def write_events_parquet(events: Iterable[StoredEvent], path: Path) -> int:
    """Every event as a row (schema `event-row`); returns their number."""
    rows = ({**row_of_event(event), "clock_trusted": event.clock_trusted} for event in events)
    names = tuple(EventRow.model_fields)
    types = {"seq": "int64", "monotonic_ns": "int64", "clock_trusted": "bool_"}
    return _write(rows, names, types, path, f"bay-companion event-row {EVENT_FORM}")


def write_readings_parquet(readings: Iterable[ReadingRow], path: Path) -> int:
    """A row for each reading (schema `reading-row`); returns their number."""
    rows = (reading.model_dump() for reading in readings)
    names = tuple(ReadingRow.model_fields)
    types = {"seq": "int64", "attempts": "int64"}
    types |= dict.fromkeys(("u", "low", "high"), "float64")
    return _write(rows, names, types, path, f"bay-companion reading-row {READING_FORM}")


def _write(
    rows: Iterator[dict[str, Any]],
    names: tuple[str, ...],
    types: dict[str, str],
    path: Path,
    form: str,
) -> int:
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError as error:
        raise RecordError(
            "Parquet needs the package pyarrow; install the extra 'parquet', or take CSV"
        ) from error
    schema = pyarrow.schema(
        [(name, getattr(pyarrow, types.get(name, "string"))()) for name in names],
        metadata={"form": form},
    )
    count = 0
    with pyarrow.parquet.ParquetWriter(path, schema, compression="zstd") as writer:
        while group := list(islice(rows, ROWS_A_GROUP)):
            writer.write_table(pyarrow.Table.from_pylist(group, schema=schema))
            count += len(group)
    return count
