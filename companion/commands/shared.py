"""What several commands do on their way: open the record, find the session, name the job."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from companion.errors import CompanionError, RecordError
from companion.facts.answers import Accepted
from companion.facts.ending import Finished, Stopped
from companion.facts.message import Message
from companion.facts.shown import Shows
from companion.language.language import Language
from companion.language.loader import load_language
from companion.record.audit.check_phrase import BITS
from companion.record.database import Database, Session, open_record
from companion.record.left_over import LeftOver
from companion.record.place import record_path

if TYPE_CHECKING:
    from companion.job.loader import LoadedJob
    from companion.report.wording import Wording


Command = Callable[..., Any]

BROKEN_OFF = 8
"""The exit code of a job that ended without "inside"."""


def record_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Which record."""
    return click.option(
        "--record",
        type=click.Path(path_type=Path),
        default=record_path,
        help="The record (SQLite). Default: in your data folder.",
    )(command)


def retention_options(setting: str, what: str) -> Callable[[Command], Command]:
    """How old what is deleted has to be, why, and whether to ask; `setting` has the usual days."""

    # Most commands need no settings to be listed.
    from companion.settings.model import Settings

    def add(command: Command) -> Command:
        command = click.option("--yes", is_flag=True, help="Do not ask.")(command)
        command = click.option(
            "--why",
            default="kept for the agreed time",
            show_default=True,
            help="The reason, for the record.",
        )(command)
        return click.option(
            "--days",
            type=click.IntRange(0),
            default=Settings.model_fields[setting].default,
            help=f"{what} Default: the setting {setting}.",
        )(command)

    return add


def store_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Where the store is, and by which login."""
    command = click.option(
        "--password-file",
        "store_password_file",
        type=click.Path(path_type=Path),
        help="File with the login's password, as the store's keeper gave it (mode 0600).",
    )(command)
    return click.option(
        "--store",
        help="The store: an address such as postgresql://ROLE@store.example/companion. Beyond "
        "this machine its name is verified and the line encrypted.",
    )(command)


def force_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Whether to write over what is no such output."""
    return click.option(
        "--force",
        is_flag=True,
        help="Also overwrite a file that is something else, but never a record.",
    )(command)


def step_kinds_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Which kinds of step there are beside the companion's own."""
    return click.option(
        "--step-kinds",
        "step_kinds",
        type=click.Path(path_type=Path),
        help="Folder with kinds of step of your own: code that runs as the companion does.",
    )(command)


def shows_of(step_kinds: Path | None) -> Shows:
    """What can put facts of step kinds into words; most commands need none of the kinds."""
    from companion.steps.registry import find_kinds

    return find_kinds(step_kinds).kinds


@contextmanager
def own_record(path: Path) -> Iterator[Database]:
    """The record to write into; its folder is made where it is missing."""
    try:
        # Voices and names are in it: a folder made here is for its owner alone.
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise RecordError(
            f"{path.parent}: the record's folder cannot be made ({error.strerror}); "
            "wanted: a folder that can be written, or another --record",
            said="no-folder-for-record",
            folder=str(path.parent),
            why=str(error.strerror),
        ) from error
    with open_record(path) as database:
        yield database


def session_id(database: Database, session: str | None, record: Path) -> str:
    """The session that was asked for, or the last one; one begun and dropped is passed over."""
    if session is not None:
        return database.session(session).session_id
    worked_on = (one.session_id for one in database.newest_first() if _was_worked_on(database, one))
    last = next(worked_on, None) or database.last_session_id()
    if last is None:
        raise RecordError(
            f"{record}: holds no job yet; wanted: one made by 'companion start'",
            said="no-job-yet",
            record=str(record),
        )
    return last


def _was_worked_on(database: Database, session: Session) -> bool:
    """Whether anything was read in it, or it came to an end; a damaged one counts."""
    try:
        events = database.events(session.session_id)
        return any(isinstance(event.fact, Accepted | Finished | Stopped) for event in events)
    except RecordError:
        return True


def require_record(record: Path) -> None:
    """Raise `RecordError` where there is no such file."""
    if not record.is_file():
        raise RecordError(
            f"{record}: there is no such record file", said="no-record", record=str(record)
        )


def require_new(out: Path, error: type[CompanionError] = CompanionError) -> None:
    """Raise the error where something stands at `out`."""
    if out.exists():
        raise error(f"{out}: already exists; name a new file", said="already-there", file=str(out))


def told_left_over(found: LeftOver, say: Wording) -> str:
    """How many of what; "" for nothing."""
    counted = {"clips": found.orphans, "remnants": found.remnants, "others": found.others}
    return ", ".join(
        say(f"left-over-{what}", count=len(each)) for what, each in counted.items() if each
    )


def tell_seal(root: str, phrase: str, say: Wording) -> None:
    """A seal's root and phrase, the words before them as wide as each other."""
    lines = {"seal-root": root, "seal-phrase": f"{phrase}   ({BITS} bits)"}
    width = max(len(say(id_)) for id_ in lines)
    for id_, told in lines.items():
        click.echo(f"{say(id_):{width}}  {told}")


def about(loaded: LoadedJob, language: Language | None = None) -> str:
    """One line that names the job, the vehicle and the bay."""
    files = loaded.plan.files
    words = language or load_language()
    told = f"{files.job.name}; {files.vehicle.name}; {files.bay.shop}, {files.bay.name}."
    named = {n: getattr(files, n) for n in ("job", "vehicle", "mount", "bay")}
    which = tuple(Message(f"file-{n}") for n, file in named.items() if file and file.example)
    if not which:
        return told
    said = (Message("live-example-files"), Message("live-example-which", {"files": which}))
    return " ".join((told, *map(words.show, said)))
