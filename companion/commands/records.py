"""The record itself: what is in it, whether it is unbroken, taking it out."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from companion.commands.options import (
    record_option,
)
from companion.commands.shared import session_id
from companion.errors import CompanionError
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import open_for_reading
from companion.record.export import write_events_csv, write_json_lines, write_readings_csv
from companion.record.verify import verify as find_faults

BROKEN_OFF = 8
NOT_UNBROKEN = 7
NOT_UNDERSTOOD = 1


@click.command()
@record_option
def sessions(record: Path) -> None:
    """List the jobs in the record.

    \b
    Example: companion sessions
    """
    _list_sessions(record)


@click.command()
@record_option
@click.option("--session", help="Only this job.")
@click.option(
    "--head",
    help="The head hash that a report of this session shows: proves that no end is missing.",
)
def verify(record: Path, session: str | None, head: str | None) -> None:
    """Check that nothing in the record was changed, left out or lost.

    \b
    Example: companion verify
    Example: companion verify --session 0198… --head 3f2a…
    """
    sys.exit(_verify(record, session, head))


@click.command()
@click.argument("session", required=False)
@record_option
@click.option(
    "--form", type=click.Choice(["jsonl", "csv", "readings"]), default="jsonl", show_default=True
)
@click.option(
    "--out", type=click.Path(path_type=Path), help="Where to write it. Default: the terminal."
)
def export(session: str | None, record: Path, form: str, out: Path | None) -> None:
    """Write the events of a job as JSON lines or CSV, or its readings as CSV.

    \b
    Example: companion export --form readings --out readings.csv
    """
    _export(session, record, form, out)


def _list_sessions(record: Path) -> None:
    """One line for each job in the record."""
    with open_for_reading(record) as database:
        for session in database.sessions():
            kinds = list(database.events(session.session_id))
            finished = [e.body["result"] for e in kinds if e.kind == "finished"]
            result = finished[-1] if finished else "broken off"
            click.echo(
                f"{session.session_id}  {session.opened_utc}  {len(kinds):5d} events  {result}"
            )


def _verify(record: Path, session: str | None, head: str | None) -> int:
    """Says whether the record is unbroken; names the first broken event where it is not."""
    heads = {}
    if head is not None:
        with open_for_reading(record) as database:
            heads = {session_id(database, session, record): head}
    findings = find_faults(record, ClipStore(clips_folder(record)), heads, session)
    for finding in findings:
        click.echo(str(finding))
    click.echo("Broken." if findings else "Unbroken: every event and clip is as it was written.")
    return NOT_UNBROKEN if findings else 0


def _export(session: str | None, record: Path, form: str, out: Path | None) -> None:
    """The events or readings of one job for other programs."""
    write = {"jsonl": write_json_lines, "csv": write_events_csv, "readings": write_readings_csv}
    with open_for_reading(record) as database:
        events = database.events(session_id(database, session, record))
        if out is None:
            write[form](events, sys.stdout)
            return
        try:
            with out.open("w", encoding="utf-8", newline="") as file:
                count = write[form](events, file)
        except OSError as error:
            raise CompanionError(
                f"{out}: cannot be written ({error.strerror}); "
                "wanted: a folder that exists and has room"
            ) from error
    click.echo(f"{count} lines: {out}")


COMMANDS = (sessions, verify, export)
