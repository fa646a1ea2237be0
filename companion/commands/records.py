"""The record itself: whether it is unbroken, sealing it, copying it, taking it out."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TextIO

import click
from click.core import ParameterSource

from companion.archive.index_check import index_problems
from companion.commands.saying import say_now, tell
from companion.commands.shared import (
    force_option,
    own_record,
    record_option,
    require_new,
    require_record,
    session_id,
    store_options,
    tell_seal,
    told_left_over,
)
from companion.errors import RecordError
from companion.facts.message import Message
from companion.record.audit.keys import read_public_key
from companion.record.audit.seal import make_seal, proof_of, read_proof, read_seal, write_outside
from companion.record.audit.verify import Outside, examine
from companion.record.backup import Copied, back_up
from companion.record.backup import restore as put_back
from companion.record.cars import CarStore, cars_folder
from companion.record.cars_kept import cars_left_over
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import OFFICE, Database, open_for_reading
from companion.record.export import (
    EVENT_COLUMNS,
    READING_COLUMNS,
    write_events_csv,
    write_json_lines,
    write_readings_csv,
)
from companion.record.finding import Finding
from companion.record.following import Follower
from companion.record.left_over import left_over
from companion.record.office import has_office
from companion.record.open_to_others import open_to_others
from companion.record.outputs import IsOurs, write_output
from companion.record.parquet import write_events_parquet, write_readings_parquet
from companion.record.port import StoredEvent
from companion.report.readings import reading_rows
from companion.statistics.figures_check import figures_problems

NOT_UNBROKEN = 7
TEXT_FORMS: dict[str, Callable[[Iterable[StoredEvent], TextIO], int]] = {
    "jsonl": write_json_lines,
    "csv": write_events_csv,
    "readings": lambda events, out: write_readings_csv(reading_rows(events), out),
}
PARQUET_FORMS: dict[str, Callable[[Iterable[StoredEvent], Path], int]] = {
    "parquet": write_events_parquet,
    "readings-parquet": lambda events, path: write_readings_parquet(reading_rows(events), path),
}
IS_FORM: dict[str, IsOurs] = {
    "jsonl": lambda first: first.startswith(b'{"at":'),
    "csv": lambda first: first.startswith(",".join(EVENT_COLUMNS).encode("ascii")),
    "readings": lambda first: first.startswith(",".join(READING_COLUMNS).encode("ascii")),
    **dict.fromkeys(PARQUET_FORMS, lambda first: first.startswith(b"PAR1")),
}
"""How a file of each form begins."""
seal_option = click.option(
    "--seal",
    "seal_file",
    type=click.Path(path_type=Path),
    help="A seal kept elsewhere: proves that this is not an older or a different file.",
)


@click.command()
@record_option
@click.option("--session", help="Only this job.")
@click.option(
    "--head",
    help="The head hash printed on a report of this session: proves that its end is not missing.",
)
@seal_option
@click.option(
    "--root", default="", help="The root or check phrase of a seal, if that is all you kept."
)
@click.option(
    "--proof",
    "proof_file",
    type=click.Path(path_type=Path),
    help="A proof that one session was under a seal.",
)
@click.option(
    "--key",
    "key_files",
    type=click.Path(path_type=Path),
    multiple=True,
    help="A public key (.pub) that sign-offs must be signed with; can be given more than once.",
)
@click.option(
    "--box-key",
    "box_files",
    type=click.Path(path_type=Path),
    multiple=True,
    help="The public key (.pub) of the box that must have written everything; can be given more "
    "than once.",
)
@store_options
@click.option("--box", help="With --store: which box's record this is, for an auditor's login.")
def verify(
    record: Path,
    session: str | None,
    head: str | None,
    seal_file: Path | None,
    root: str,
    proof_file: Path | None,
    key_files: tuple[Path, ...],
    box_files: tuple[Path, ...],
    store: str | None,
    store_password_file: Path | None,
    box: str | None,
) -> None:
    """Check that nothing in the record was changed, left out or lost.

    The file alone shows whether events and clips are unchanged. Whether the end of a job is
    missing, or this is an older file, only shows against something that was kept elsewhere.

    \b
    Example: companion verify
    Example: companion verify --session 20310506-070809-0a1b2c3d --head 3f2a…
    Example: companion verify --seal monday.seal
    Example: companion verify --root "walnut otter amber kayak ..."
    Example: companion verify --store "postgresql://ROLE@store.example/companion"
    """
    asked_for = click.get_current_context().get_parameter_source("store")
    witnessed_by = store if asked_for is ParameterSource.COMMANDLINE else None
    heads = {}
    if head is not None or session is not None:
        # Fails here for a job that the record does not hold: nothing of it was checked.
        with open_for_reading(record) as database:
            named = session_id(database, session, record)
        heads = {named: head} if head is not None else {}
    outside = Outside(
        heads,
        read_seal(seal_file) if seal_file is not None else None,
        root,
        read_proof(proof_file) if proof_file is not None else None,
        frozenset(map(read_public_key, key_files)),
        frozenset(map(read_public_key, box_files)),
    )
    examined = examine(
        record, ClipStore(clips_folder(record)), only_session=session, outside=outside
    )
    findings = list(examined.findings)
    if not findings and session is None:
        findings = [
            *(Finding("", 0, "index", told) for told in index_problems(record)),
            *(Finding("", 0, "figures", told) for told in figures_problems(record)),
        ]
    witnessed: tuple[Message, ...] = ()
    if witnessed_by is not None:
        from companion.store.connecting import connected
        from companion.store.witness import witness

        with connected(witnessed_by, store_password_file) as connection:
            seen = witness(record, connection, box)
        findings += seen.findings
        witnessed = seen.told
    for finding in findings:
        click.echo(str(finding))
    say = say_now()
    for opened in open_to_others(record):
        tell(say(f"verify-open-{opened.to}", file=str(opened.path), remedy=opened.remedy))
    sounds = ClipStore(clips_folder(record))
    lying = left_over(record, sounds, at_work=Follower(record).writer_at_work() is not False)
    if told := told_left_over(lying, say):
        click.echo(say("left-over-in", folder=str(sounds.folder), told=told))
    with open_for_reading(record) as database:
        cars = CarStore(cars_folder(record))
        unkept = cars_left_over(database.events(OFFICE) if has_office(database) else (), cars)
    if unkept:
        click.echo(say("left-over-cars", folder=str(cars.folder), count=len(unkept)))
    if findings:
        click.echo(say("verify-broken"))
        sys.exit(NOT_UNBROKEN)
    click.echo(say("verify-unbroken"))
    for message in (*examined.told, *witnessed):
        tell(say(message.id, **message.args))
    if not (heads or seal_file or root or proof_file or witnessed):
        click.echo(say("verify-nothing-elsewhere"))
    if not box_files:
        click.echo(say("verify-no-box-key"))


@click.command()
@record_option
@click.option(
    "--out", type=click.Path(path_type=Path), help="Write the seal to this new file, to be kept."
)
@click.option(
    "--proof-of",
    "proven",
    metavar="SESSION",
    help="Write to --out only the proof that this session is under the seal.",
)
def seal(record: Path, out: Path | None, proven: str | None) -> None:
    """Seal the record: one hash over all its jobs, to be kept away from the record.

    Keep the file on another machine or a stick, write the root down, or read the check phrase to
    somebody. "companion verify" can later check the record against any of the three.

    \b
    Example: companion seal --out monday.seal
    """
    say = say_now()
    if proven is not None and out is None:
        raise click.UsageError(say("seal-proof-needs-out"))
    if out is not None:
        require_new(out, RecordError)
    require_record(record)
    with own_record(record) as database:
        made = make_seal(database)
    if out is not None:
        write_outside(out, made if proven is None else proof_of(made, proven))
    click.echo(say("sealed", when=made.made_utc, count=len(made.leaves)))
    tell_seal(made.root, made.phrase, say)
    if out is not None:
        click.echo(say("seal-written", file=str(out)))


@click.command()
@click.argument("target", type=click.Path(path_type=Path))
@record_option
@click.option(
    "--without-clips",
    is_flag=True,
    help="Leave the recorded voices out, and what is known of cars.",
)
def backup(target: Path, record: Path, without_clips: bool) -> None:
    """Copy the record to a new file TARGET, with its clips beside it; a job may be running
    meanwhile.

    The copy is verified. PINs and keys are not in it.

    \b
    Example: companion backup /media/stick/monday.sqlite
    """
    _tell(back_up(record, target, with_clips=not without_clips), target)


@click.command()
@click.argument("copy", type=click.Path(path_type=Path))
@record_option
@seal_option
@click.option(
    "--without-clips",
    is_flag=True,
    help="The copy was made without the recorded voices and cars, which stay missing.",
)
def restore(copy: Path, record: Path, seal_file: Path | None, without_clips: bool) -> None:
    """Restore the record from a backup COPY, after verifying it; an existing record is never
    overwritten.

    \b
    Example: companion restore /media/stick/monday.sqlite --seal monday.seal
    """
    outside = Outside(seal=read_seal(seal_file)) if seal_file is not None else None
    record.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    _tell(put_back(copy, record, outside, with_clips=not without_clips), record)


def _tell(copied: Copied, target: Path) -> None:
    counts = {
        "sessions": copied.sessions,
        "events": copied.events,
        "clips": copied.clips_new,
        "there": copied.clips_there,
    }
    say = say_now()
    click.echo(say("copied", file=str(target), **counts))
    if copied.clips_wrong:
        click.echo(say("copied-not-in-it", count=copied.clips_wrong))


@click.command()
@click.argument("session", required=False)
@record_option
@click.option("--all", "every", is_flag=True, help="Every job of the record, the earliest first.")
@click.option(
    "--form",
    type=click.Choice([*TEXT_FORMS, *PARQUET_FORMS]),
    default="jsonl",
    show_default=True,
    help="parquet needs the extra 'parquet'.",
)
@click.option(
    "--out", type=click.Path(path_type=Path), help="Where to write it. Default: the terminal."
)
@force_option
def export(
    session: str | None, record: Path, every: bool, form: str, out: Path | None, force: bool
) -> None:
    """Write the events of a job as JSON lines, CSV or Parquet, or its readings.

    The forms are described in docs/record.md, as JSON Schema in docs/schema.

    \b
    Example: companion export --form readings --out readings.csv
    Example: companion export --all --form readings-parquet --out all.parquet
    """
    with open_for_reading(record) as database:
        if every:
            events = _every_event(database)
        else:
            events = database.events(session_id(database, session, record))
        if form in PARQUET_FORMS and out is None:
            raise click.UsageError(say_now()("export-not-printed"))
        if out is None:
            TEXT_FORMS[form](events, sys.stdout)
            return
        count = write_output(
            out, lambda path: _written(events, form, path), IS_FORM[form], force=force
        )
    click.echo(say_now()("export-written", count=count, file=str(out)))


def _every_event(database: Database) -> Iterator[StoredEvent]:
    for session in database.sessions():
        yield from database.events(session.session_id)


def _written(events: Iterator[StoredEvent], form: str, out: Path) -> int:
    if form in PARQUET_FORMS:
        return PARQUET_FORMS[form](events, out)
    with out.open("w", encoding="utf-8", newline="") as file:
        return TEXT_FORMS[form](events, file)


COMMANDS = (verify, seal, backup, restore, export)
