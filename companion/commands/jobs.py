"""Doing jobs: starting one, and continuing one that was interrupted."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import click

from companion import parts
from companion.beforehand import Hearer, WhenChecked, hearing_before
from companion.commands.live_parts import devices, job_room
from companion.commands.options import (
    ears_and_voice,
    job_files,
    paths_of,
    room_options,
)
from companion.commands.shared import BROKEN_OFF, about, own_record, record_option
from companion.dialogue.state import State
from companion.ears.port import SoundEnded
from companion.errors import RecordError
from companion.facts.afterwards import SignedOff
from companion.facts.beforehand import HearingBefore
from companion.facts.ending import Finished
from companion.loop import replay_record, resume_job, start_job
from companion.procedure.loader import JobPaths
from companion.record.database import Database, open_for_reading

_OVER = frozenset({Finished.KIND, SignedOff.KIND})
"""A signed-off job is over, also one that stopped: what was signed must not go on."""


@click.command()
@job_files
@record_option
@ears_and_voice
@click.option("--technician", default="", help="Who does the job, for the record.")
@click.option(
    "--voice-check",
    type=click.Choice(["first_job", "always", "never"]),
    default="first_job",
    show_default=True,
    help="When to offer to check how well you are heard, by ten words.",
)
@click.option(
    "--or-resume",
    is_flag=True,
    help="Continue the last job instead, if it was interrupted and used the same files; and wait "
    "for a microphone and loudspeaker that are not plugged in yet.",
)
def start(**options: Any) -> None:
    """Start a job and take it through to its result.

    \b
    Example, answers typed:            companion start --technician "A. Example"
    Example, spoken, through speakers: companion start --ears own --voice speaker
    Stop at any time with "stop" or Ctrl-C; "companion resume" picks up from there.
    """
    paths, room = paths_of(options), room_options(options)
    if options["or_resume"] and (session := _goes_on(options["record"], paths)):
        sys.exit(_resume(session, paths, **room, wait=True))
    wait = options["or_resume"]
    who, when = options["technician"], options["voice_check"]
    sys.exit(_start(paths, **room, technician=who, voice_check=when, wait=wait))


@click.command()
@click.argument("session", required=False)
@job_files
@record_option
@ears_and_voice
def resume(session: str | None, **options: Any) -> None:
    """Continue an interrupted job (by default the last one) from where it stopped.

    \b
    Example: companion resume
    """
    sys.exit(_resume(session, paths_of(options), **room_options(options)))


def _start(
    paths: JobPaths,
    record: Path,
    ears: parts.EarsChoice,
    voice: parts.VoiceChoice,
    technician: str,
    voice_check: WhenChecked,
    wait: bool,
) -> int:
    """A new job; 0 when it ended inside."""
    loaded = parts.load(paths)
    with (
        own_record(record) as database,
        devices(loaded, ears, voice, wait=wait) as (hear, speak),
    ):
        session = database.create_session()
        room = job_room(database, session, record, hear, speak)
        click.echo(f"Session {session}. {about(loaded)}\n")
        hearer = Hearer(technician, ears.microphone or "", hear.name)
        # Typed answers and sound files have no room to listen to.
        live = ears.kind != "typed" and ears.sound is None
        today = datetime.now().astimezone().date()
        before = (
            hearing_before(hear, hearer, voice_check, database, today) if live else HearingBefore()
        )
        return _outcome(
            lambda: start_job(
                room,
                loaded,
                parts.grammar(),
                technician=technician,
                microphone=hearer.microphone,
                hearing=before,
            )
        )


def _resume(
    session: str | None,
    paths: JobPaths,
    record: Path,
    ears: parts.EarsChoice,
    voice: parts.VoiceChoice,
    wait: bool = False,
) -> int:
    """The rest of an interrupted job."""
    loaded = parts.load(paths)
    with (
        own_record(record) as database,
        devices(loaded, ears, voice, wait=wait) as (hear, speak),
    ):
        chosen = session or _broken_off(database, record)
        stored = list(database.events(chosen))
        room = job_room(database, chosen, record, hear, speak)
        click.echo(f"Session {chosen}. {about(loaded)}\n")
        return _outcome(lambda: resume_job(room, loaded, parts.grammar(), stored))


def _goes_on(record: Path, paths: JobPaths) -> str | None:
    """The last job, if it was interrupted and can be continued with these files."""
    if not record.exists():
        return None
    with open_for_reading(record) as database:
        begun = (s.session_id for s in database.newest_first() if s.event_count)
        last = next(begun, None)
        if last is None:
            return None
        stored = list(database.events(last))
    if any(event.kind in _OVER for event in stored):
        return None
    try:
        replay_record(parts.load(paths), parts.grammar(), stored)
    except RecordError as error:
        click.echo(f"The last job cannot be continued: {error}\nStarting a new one.\n")
        return None
    return last


def _outcome(run: Callable[[], State]) -> int:
    # Asked to end by a service manager or a shutdown: the same as Ctrl-C.
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        state = run()
    except (SoundEnded, KeyboardInterrupt):
        click.echo("\nInterrupted; nothing is lost. To continue: companion resume")
        return BROKEN_OFF
    finally:
        signal.signal(signal.SIGTERM, before)
    return BROKEN_OFF if state.result in (None, "stopped") else 0


def _broken_off(database: Database, record: Path) -> str:
    """The newest session that has begun and is neither finished nor signed off."""
    for session in database.newest_first():
        kinds = [event.kind for event in database.events(session.session_id)]
        if kinds and _OVER.isdisjoint(kinds):
            return session.session_id
    raise RecordError(f"{record}: holds no interrupted job to continue; start a new one")


COMMANDS = (start, resume)
