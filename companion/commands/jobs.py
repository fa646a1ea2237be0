"""Doing jobs: live, resumed, rehearsed; and the files they are made of."""

from __future__ import annotations

import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import click

from companion import parts, sound_cards
from companion.beforehand import Hearer, WhenChecked, hearing_before
from companion.commands.options import (
    ears_and_voice,
    job_files,
    paths_of,
    room_options,
    without_paths,
)
from companion.commands.settings import settings_now
from companion.commands.shared import about, own_record, record_option
from companion.dialogue.foreseeing import hopeless
from companion.dialogue.machine import begin
from companion.dialogue.state import State
from companion.ears.microphone import MicrophoneError
from companion.ears.port import Ears, SoundEnded
from companion.errors import RecordError
from companion.facts.afterwards import SignedOff
from companion.facts.beforehand import HearingBefore
from companion.facts.ending import Finished
from companion.live.lasting_voice import LastingVoice
from companion.live.waiting_record import Patience, WaitingClips, WaitingLog
from companion.loop import Lexicon, Room, replay_record, resume_job, start_job
from companion.measure.doubt import budget
from companion.parts import default_recogniser
from companion.procedure.loader import JobPaths, LoadedJob
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database, open_for_reading
from companion.record.journal import SqliteLog
from companion.rehearsal.rehearsal import Rehearsal
from companion.rehearsal.scenario import Scenario
from companion.rehearsal.speakers import SyntheticSpeaker
from companion.rehearse import (
    HARDER,
    Rehearsed,
    choose_slips,
    make_rehearsal,
    run_rehearsal,
)
from companion.review.report import write_report
from companion.screen import Screen
from companion.settled import microphone_deaf_s, render_ahead, settled_ears, settled_voice
from companion.supervision import Heartbeat, service_manager
from companion.voice.player import LoudspeakerError
from companion.voice.port import Voice

BROKEN_OFF = 8
_OVER = frozenset({Finished.KIND, SignedOff.KIND})
"""A signed-off job is over, also one that stopped: what was signed must not go on."""
_LOOK_FOR_DEVICES_S = 2.0
_SIGNS_IN_WATCHDOGS_TIME = 4
Made = TypeVar("Made")


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
    help="Go on with the last job instead, where that was broken off with these files; and wait "
    "for a microphone and loudspeaker that are not plugged in yet.",
)
def start(**options: Any) -> None:
    """Begin a job and go through it to its result.

    \b
    Example, answers typed:            companion start --technician "A. Example"
    Example, spoken, through speakers: companion start --ears own --voice speaker
    Stop at any time with "stop" or Ctrl-C; "companion resume" goes on from there.
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
    """Go on with a job that was broken off (by default the last one), from where it was.

    \b
    Example: companion resume
    """
    sys.exit(_resume(session, paths_of(options), **room_options(options)))


@click.command()
@job_files
@click.option(
    "--seed", type=int, default=1, show_default=True, help="Which hidden truth and technician."
)
@click.option(
    "--spoken/--typed", default=False, help="Through real speech and a real recogniser, or as text."
)
@click.option(
    "--speaker",
    type=click.Choice(["slt", "rms", "awb"]),
    default="slt",
    show_default=True,
    help="With --spoken: the technician's voice.",
)
@click.option(
    "--ears",
    type=click.Choice(["own", "sphinx"]),
    default=default_recogniser,
    help="With --spoken. Default: own where the extra 'ears' is installed, else sphinx.",
)
@click.option(
    "--slips",
    type=click.IntRange(0, 20),
    default=0,
    show_default=True,
    help="Slips that the simulated technician makes.",
)
@click.option(
    "--record",
    type=click.Path(path_type=Path),
    help="Keep the record in this file. Default: not kept.",
)
@click.option(
    "--report", type=click.Path(path_type=Path), help="Write the report of the rehearsal here."
)
@click.option(
    "--voice-file", type=click.Path(path_type=Path), help="Speak every prompt into this sound file."
)
@click.option(
    "--harder",
    is_flag=True,
    help="A bay that needs corrections of the stand and two rounds on the screws.",
)
@click.option(
    "--voice-check", "check_voice", is_flag=True, help="Begin with the voice check (with --spoken)."
)
def rehearse(**options: Any) -> None:
    """A whole job in a simulated bay with a simulated technician.

    The bay's true errors are hidden from the companion and shown at the end.

    \b
    Example, as text, in a second:       companion rehearse --seed 1
    Example, from sound, with a report:  companion rehearse --spoken --report r.html
    """
    sys.exit(_rehearse(paths_of(options), **without_paths(options)))


@click.command(name="files")
@job_files
def check_files(**options: Any) -> None:
    """Check the job, vehicle, mount and bay files, and show the job's stages.

    \b
    Example: companion files --vehicle my_vehicle.yaml --bay my_bay.yaml
    """
    _check_files(paths_of(options))


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
        _parts(loaded, ears, voice, wait=wait) as (hear, speak),
    ):
        session = database.create_session()
        room = _room(database, session, record, hear, speak)
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
    """The rest of a job that was broken off."""
    loaded = parts.load(paths)
    with (
        own_record(record) as database,
        _parts(loaded, ears, voice, wait=wait) as (hear, speak),
    ):
        chosen = session or _broken_off(database, record)
        stored = list(database.events(chosen))
        room = _room(database, chosen, record, hear, speak)
        click.echo(f"Session {chosen}. {about(loaded)}\n")
        return _outcome(lambda: resume_job(room, loaded, parts.grammar(), stored))


def _rehearse(
    paths: JobPaths,
    *,
    seed: int,
    spoken: bool,
    speaker: str,
    ears: str,
    slips: int,
    harder: bool,
    record: Path | None,
    report: Path | None,
    voice_file: Path | None,
    check_voice: bool,
) -> int:
    """A whole job in the simulated bay; 0 when it ended inside and the hidden truth agrees."""
    loaded = parts.load(paths)
    voice_of = SyntheticSpeaker(speaker, seed) if spoken else None  # type: ignore[arg-type]
    recogniser = parts.make_recogniser(parts.EarsChoice(ears)) if spoken else None
    rehearsal = make_rehearsal(
        loaded,
        seed,
        slips=choose_slips(seed, slips),
        spread=HARDER if harder else None,
        speaker=voice_of,
        scenario=Scenario(consent="keep_sound" if spoken else "words_only"),
    )
    with tempfile.TemporaryDirectory() as scratch:
        kept = record or Path(scratch) / "rehearsal.sqlite"
        with own_record(kept) as database:
            session = database.create_session()
            clips = ClipStore(clips_folder(kept))
            speak = parts.make_voice(
                "file" if voice_file else "silent", Path(scratch) / "voice", voice_file
            )
            click.echo(f"Rehearsal {seed}, session {session}. {about(loaded)}\n")
            try:
                rehearsed = run_rehearsal(
                    loaded,
                    parts.grammar(),
                    rehearsal,
                    speak,
                    SqliteLog(database, session, clips),
                    recogniser=recogniser,
                    watcher=Screen(),
                    clips=clips,
                    voice_check=check_voice and spoken,
                )
            finally:
                speak.close()
        _show_truth(rehearsal, rehearsed)
        if report is not None:
            write_report(kept, session, report)
            click.echo(f"Report: {report}")
    score = rehearsed.score
    return 0 if score.companion_said == "inside" and score.truly_inside else BROKEN_OFF


def _check_files(paths: JobPaths) -> None:
    """The job's stages, once its files have been found right."""
    loaded = parts.load(paths)
    click.echo(f"{about(loaded)}\n")
    for number, stage in enumerate(loaded.plan.files.job.stages, 1):
        steps = ", ".join(step.id for step in stage.steps)
        click.echo(f"{number:3d}  {stage.title}: {steps}")
    for item in hopeless(begin(loaded.plan, Lexicon(parts.grammar()))):
        click.secho(
            f"\nNothing could pass at {item.title.lower()}: the doubt of {item.result} would be "
            f"{item.value.u:.2g} where {item.half_width:g} is allowed, so at best "
            f"{item.best_probability:.0%} inside; wanted is {item.level:.0%}. Most of it comes "
            f"from {budget(item.value)[0].name}.",
            fg="yellow",
        )


def _show_truth(rehearsal: Rehearsal, rehearsed: Rehearsed) -> None:
    score = rehearsed.score
    click.echo(
        f"\nHidden truth of the bay: sideways {score.truth.aim_yaw_deg:+.3f}°, height "
        f"{score.truth.aim_elevation_deg:+.3f}°: {'inside' if score.truly_inside else 'OUTSIDE'} "
        f"the tolerance, after {score.rounds} round(s) on the screws."
    )
    heard = score.hearing
    click.echo(
        f"Heard right {heard.right}, otherwise {heard.wrong}, refused {heard.refused} "
        f"of {heard.right + heard.wrong + heard.refused} answers."
    )
    for slip in rehearsal.slips.made:
        click.echo(f"Slip made: {slip.kind} ({slip.meant} became {slip.made})")


@contextmanager
def _parts(
    loaded: LoadedJob, choice: parts.EarsChoice, voice: parts.VoiceChoice, *, wait: bool
) -> Iterator[tuple[Ears, Voice]]:
    """Ears and voice of a job, which last until the block ends.

    `wait`: devices that are not plugged in yet are waited for.
    """
    recogniser = None if choice.kind == "typed" else parts.make_recogniser(choice)
    if recogniser is not None:
        parts.check_words(recogniser, loaded)
    folder = parts.record_path().parent / "voice"
    made = _as_soon_as_there(
        lambda: parts.make_voice(voice.kind, folder, voice.sound_file, voice.loudspeaker), wait=wait
    )
    settings = settings_now()
    settled = settled_voice(made, settings)
    ahead = render_ahead(settled, loaded)
    speak = LastingVoice(settled, sound_cards.start_again, _tell)
    try:
        around = _surroundings(speak)
        deaf_s = microphone_deaf_s(settings)
        ears = _as_soon_as_there(
            lambda: parts.make_ears(choice, around, recogniser, deaf_s), wait=wait
        )
        hear = settled_ears(ears, settled, settings)
        try:
            yield hear, speak
        finally:
            hear.close()
    finally:
        ahead.close()
        speak.close()


def _surroundings(speak: LastingVoice) -> parts.Surroundings:
    manager = service_manager()
    tell = partial(_tell_and_say, speak)
    if manager.watchdog_s is None:
        return parts.Surroundings(tell, speak.interrupt)
    return parts.Surroundings(
        tell, speak.interrupt, manager.alive, manager.watchdog_s / _SIGNS_IN_WATCHDOGS_TIME
    )


def _as_soon_as_there(make: Callable[[], Made], *, wait: bool) -> Made:
    """What `make` makes, once the sound device that it needs is plugged in."""
    told = False
    while True:
        try:
            return make()
        except (MicrophoneError, LoudspeakerError) as error:
            if not wait:
                raise
            if not told:
                _tell(f"{error}. I wait until it is plugged in.")
                told = True
        manager = service_manager()
        manager.ready()
        manager.alive()
        time.sleep(_LOOK_FOR_DEVICES_S)
        sound_cards.start_again()


def _tell(text: str) -> None:
    """Something that the person has to know of the companion itself, in writing."""
    click.secho(f"  note   {text}", fg="yellow", err=True)


def _tell_and_say(voice: Voice, text: str) -> None:
    _tell(text)
    voice.say(text)


def _goes_on(record: Path, paths: JobPaths) -> str | None:
    """The last job, when it was broken off and its record leads on with these files."""
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
        click.echo(f"The last job cannot be gone on with: {error}\nA new one begins.\n")
        return None
    return last


def _room(database: Database, session: str, record: Path, hear: Ears, speak: Voice) -> Room:
    clips = ClipStore(clips_folder(record))
    manager = service_manager()
    manager.ready()
    tell = partial(_tell_and_say, speak)
    patience = Patience(tell, manager.alive)
    log = WaitingLog(SqliteLog(database, session, clips), patience, tell)
    watcher = Heartbeat(Screen(), manager)
    kept = WaitingClips(clips, patience) if settings_now().keep_sound else None
    return Room(hear, speak, log, kept, watcher)


def _outcome(run: Callable[[], State]) -> int:
    # Asked to end by a service manager or a shutdown: the same as Ctrl-C.
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        state = run()
    except (SoundEnded, KeyboardInterrupt):
        click.echo("\nBroken off; nothing is lost. Go on with: companion resume")
        return BROKEN_OFF
    finally:
        signal.signal(signal.SIGTERM, before)
    return 0 if state.result in ("inside", "tool_inside") else BROKEN_OFF


def _broken_off(database: Database, record: Path) -> str:
    """The newest session that has begun and is neither finished nor signed off."""
    for session in database.newest_first():
        kinds = [event.kind for event in database.events(session.session_id)]
        if kinds and _OVER.isdisjoint(kinds):
            return session.session_id
    raise RecordError(f"{record}: holds no job that was broken off; wanted: one, or a new job")


COMMANDS = (start, resume, rehearse, check_files)
