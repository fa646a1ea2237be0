"""Doing jobs: starting one, and continuing one that was interrupted."""

from __future__ import annotations

import secrets
import shlex
import signal
import sys
from collections.abc import Callable, Sequence
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any, NoReturn

import click
from click.core import ParameterSource

from companion.commands.job_screen import Screen, marked
from companion.commands.options import (
    ears_and_voice,
    job_files,
    language_option,
    paths_of,
    room_options,
    with_mount,
)
from companion.commands.reports import report_file
from companion.commands.saying import say_now
from companion.commands.sending import sending_afterwards
from companion.commands.settings import settings_now
from companion.commands.shared import BROKEN_OFF, about, own_record, record_option
from companion.commands.visit_left import remind
from companion.commands.visits import (
    NEW,
    car_of,
    car_options,
    tell_what_is_left,
    visit_for,
)
from companion.commands.which_vehicle import (
    ask_vehicle,
    is_told,
    sha256_of,
    shop_vehicles,
    which_vehicle,
)
from companion.dialogue.state import State
from companion.errors import FileProblem, RecordError
from companion.facts.afterwards import SignedOff
from companion.facts.beforehand import HearingBefore
from companion.facts.car import Car
from companion.facts.ending import Finished
from companion.facts.message import Message, Tell
from companion.facts.opening import Opened, VehicleChoice
from companion.job.loader import STAND_CHECK, VISIT_END, JobPaths, LoadedJob
from companion.job.whereabouts import lies_at
from companion.language.language import Language
from companion.language.loader import REFERENCE
from companion.published.kept import as_of, version_of
from companion.recognition.port import SoundEnded
from companion.record.database import Database, open_for_reading
from companion.record.enrolling import read_roll
from companion.record.port import StoredEvent
from companion.record.visits import find_visit
from companion.report.visit_left import left_of
from companion.report.wording import wording_in
from companion.runtime import assembly
from companion.runtime.drift_watch import watch_for_drift
from companion.runtime.job_voice import JobVoice, voice_for_job
from companion.runtime.live_job import (
    Bystander,
    Devices,
    devices,
    for_job,
    job_room,
    open_devices,
)
from companion.runtime.loop import OfVisit, Room, replay_record, resume_job, start_job
from companion.runtime.preflight import (
    Hearer,
    WhenChecked,
    heard_cautions,
    hearing_before,
    into_prompts,
    refuse_overdue,
)
from companion.runtime.stand_check import refuse_unchecked
from companion.runtime.visiting import next_sensor_now, of_visit, validity_of
from companion.settings.published import FILES, settings_of_version

_OVER = frozenset({Finished.KIND, SignedOff.KIND})
"""A signed-off job is over, also one that stopped: what was signed must not go on."""


@click.command()
@job_files
@record_option
@ears_and_voice
@language_option
@click.option("--technician", default="", help="Who does the job, for the record.")
@click.option(
    "--visit",
    default=NEW,
    show_default=True,
    help="The car's visit: new, last (the same car as before), or its name (companion visit list).",
)
@car_options
@click.option(
    "--take-over/--measure-all",
    default=True,
    show_default=True,
    help="Whether to take over what earlier jobs found and what is still true.",
)
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
    with sending_afterwards(options["record"], options["language"]):
        if options["or_resume"] and (session := _goes_on(options["record"], paths)):
            sys.exit(_resume(session, paths, **room, wait=True))
        sys.exit(
            _start(
                paths,
                **room,
                language=options["language"],
                technician=options["technician"],
                voice_check=options["voice_check"],
                wait=options["or_resume"],
                visit=options["visit"],
                car=car_of(options),
                take_over=options["take_over"],
            )
        )


@click.command()
@click.argument("session", required=False)
@job_files
@record_option
@ears_and_voice
def resume(session: str | None, **options: Any) -> None:
    """Continue an interrupted job (by default the last one) from where it stopped.

    It goes on in the language that it was begun in, with the files that it was begun with.

    \b
    Example: companion resume
    """
    with sending_afterwards(options["record"]):
        sys.exit(_resume(session, paths_of(options), **room_options(options)))


@click.command("check-stand")
@job_files
@record_option
@ears_and_voice
@language_option
@click.option("--technician", default="", help="Who does the check, for the record.")
def check_stand(**options: Any) -> None:
    """Check the stand once a month: laser heads, and a known turn.

    The known turn of the mirror bar, by a shim, must come out as known. The results are kept in
    the record, and the watch over each stand shows them over time (review drift). A job
    file of your own is given by --job; without one the shipped check is done.

    \b
    Example: companion check-stand --technician "A. Example"
    """
    _do_shipped(STAND_CHECK, options, visit=NEW, asks_vehicle=False)


@click.command("end-visit")
@job_files
@record_option
@ears_and_voice
@language_option
@click.option("--technician", default="", help="Who does it, for the record.")
@click.option(
    "--visit",
    default="last",
    show_default=True,
    help="The car's visit: last, or its name (companion visit list).",
)
def end_visit(**options: Any) -> None:
    """Do what is left at the end of a visit: codes, switching off, road test.

    For a car that no further sensor follows on, though the last job was told that one would: the
    job of the last sensor asks all this by itself. A job file of your own is given by --job.

    \b
    Example: companion end-visit
    """
    _do_shipped(VISIT_END, options, visit=options["visit"])


def _do_shipped(
    job: Path, options: dict[str, Any], *, visit: str, asks_vehicle: bool = True
) -> NoReturn:
    """This job, or the job file that the command line names; nothing is taken over for it."""
    paths = paths_of(options)
    source = click.get_current_context().get_parameter_source("job_file")
    if source is not ParameterSource.COMMANDLINE:
        paths = replace(paths, job=job)
    with sending_afterwards(options["record"], options["language"]):
        sys.exit(
            _start(
                paths,
                **room_options(options),
                language=options["language"],
                technician=options["technician"],
                voice_check="never",
                wait=False,
                visit=visit,
                car=Car(),
                take_over=False,
                asks_vehicle=asks_vehicle,
            )
        )


def _start(
    paths: JobPaths,
    record: Path,
    ears: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    language: str,
    technician: str,
    voice_check: WhenChecked,
    wait: bool,
    visit: str,
    car: Car,
    take_over: bool,
    asks_vehicle: bool = True,
) -> int:
    """A new job; 0 when it ended inside."""
    spoken = assembly.language(language)
    today = datetime.now().astimezone().date()
    known = not asks_vehicle or is_told() or not shop_vehicles()
    loaded = _loaded(paths, spoken, today) if known else None
    tell = _tell_in(spoken)
    with own_record(record) as database:
        earlier = None if visit == NEW else find_visit(database, visit)
        which = which_vehicle(database, earlier) if loaded is None else None
        if which is not None and which.path is not None:
            paths = with_mount(replace(paths, vehicle=which.path))
            loaded = _loaded(paths, spoken, today)
            named = {"vehicle": loaded.plan.files.vehicle.name}
            tell(Message("vehicle-of-visit", named))
        with open_devices(ears, voice, spoken, settings_now(), tell, wait=wait) as found:
            remind(database, found, spoken, but=earlier.id if earlier is not None else "")
            choice = None
            if loaded is None:
                assert which is not None  # noqa: S101  -- without it everything is loaded
                path, choice = ask_vehicle(found, which, spoken)
                paths = with_mount(replace(paths, vehicle=path))
                loaded = _loaded(paths, spoken, today)
            with for_job(found, loaded, spoken, tell) as made:
                belongs_to = of_visit(
                    database,
                    visit_for(database, record, visit, car),
                    loaded,
                    made.language,
                    validity_of(settings_now()),
                    take_over=take_over,
                    technician=technician,
                    was_there=visit != NEW,
                )
                gave = which is not None and which.path is not None
                begun = _Begun(loaded, replace(belongs_to, gave_vehicle=gave), choice, paths.bay)
                hearer = Hearer(technician, ears.microphone or "", made.ears.name)
                # Typed answers and sound files have no room to listen to.
                live = ears.kind != "typed" and ears.sound is None
                before = HearingBefore()
                if live:
                    before = hearing_before(made.ears, hearer, voice_check, database, today)
                    allowed = into_prompts(made.echo, database, technician, today)
                    before = replace(before, into_prompts=allowed)
                return _go_through(begun, database, record, made, hearer, before, spoken)


@dataclass(frozen=True)
class _Begun:
    """A job that begins: its files, its visit, how its vehicle was chosen, where its bay stands."""

    loaded: LoadedJob
    belongs_to: OfVisit
    choice: VehicleChoice | None
    bay: Path


def _loaded(paths: JobPaths, spoken: Language, today: date) -> LoadedJob:
    """The job of these files; raises FileProblem also where the shop refuses what is overdue."""
    loaded = assembly.load(paths, spoken)
    if settings_now().overdue_instruments == "refuse":
        refuse_overdue(loaded.plan.files.bay, today, paths.bay)
    return loaded


def _go_through(
    begun: _Begun,
    database: Database,
    record: Path,
    made: Devices,
    hearer: Hearer,
    before: HearingBefore,
    spoken: Language,
) -> int:
    """The whole job, once all is known that it begins with."""
    loaded, belongs_to, technician = begun.loaded, begun.belongs_to, hearer.technician
    today = datetime.now().astimezone().date()
    if settings_now().unchecked_stand == "refuse":
        refuse_unchecked(belongs_to.stand_check, begun.bay)
    session = database.create_session()
    voice_kept = voice_for_job(record, technician, spoken.code, made.recogniser, _tell_in(spoken))
    job = job_room(database, session, record, made, settings_now(), _bystander(spoken))
    named = Message("live-visit", {"visit": belongs_to.id, "session": session})
    click.echo(f"{spoken.show(named)} {about(loaded, spoken)}\n")
    with _learning(voice_kept, job, spoken) as room:
        return _outcome(
            lambda: start_job(
                room,
                loaded,
                made.language,
                technician=technician,
                microphone=hearer.microphone,
                hearing=before,
                visit=belongs_to,
                cautions_known=heard_cautions(
                    database, technician, loaded.plan.files.job.id, spoken.code, today
                ),
                today=today,
                sound_goes=settings_now().sound_goes,
                name_salt=secrets.token_hex(16),
                voice=_version(voice_kept),
                vehicle_choice=begun.choice,
            ),
            spoken,
            lambda: watch_for_drift(room, record, session, made.language, _tell_in(spoken)),
            record,
            session,
        )


def _resume(
    session: str | None,
    paths: JobPaths,
    record: Path,
    ears: assembly.EarsChoice,
    voice: assembly.VoiceChoice,
    wait: bool = False,
) -> int:
    """The rest of an interrupted job."""
    with own_record(record) as database:
        chosen = session or _broken_off(database, record)
        stored = list(database.events(chosen))
        spoken = _language_of(stored)
        loaded = assembly.load(_as_it_began(paths, stored), spoken)
        with devices(
            loaded, ears, voice, spoken, settings_now(), _tell_in(spoken), wait=wait
        ) as made:
            voice_kept = voice_for_job(
                record, _technician_of(stored), spoken.code, made.recogniser, _tell_in(spoken)
            )
            job = job_room(database, chosen, record, made, settings_now(), _bystander(spoken))
            click.echo(f"{_session(chosen, spoken)} {about(loaded, spoken)}\n")
            # Somebody else may go on with it: no prompt is known yet.
            allowed = into_prompts(made.echo, database, "", date.min)
            with _learning(voice_kept, job, spoken) as room:
                return _outcome(
                    lambda: resume_job(
                        room,
                        loaded,
                        made.language,
                        stored,
                        _version(voice_kept),
                        allowed,
                        next_sensor_now(database, stored, chosen),
                    ),
                    spoken,
                    lambda: watch_for_drift(room, record, chosen, made.language, _tell_in(spoken)),
                    record,
                    chosen,
                )


def _learning(kept: JobVoice | None, room: Room, spoken: Language) -> AbstractContextManager[Room]:
    """The room, which learns the technician's voice where that is allowed."""
    if kept is None:
        return nullcontext(room)
    today = datetime.now().astimezone().date()
    return kept.learning(room, _tell_in(spoken), sound=settings_now().keep_sound, today=today)


def _version(kept: JobVoice | None) -> str:
    return "" if kept is None else kept.version


def _technician_of(stored: Sequence[StoredEvent]) -> str:
    return next((event.fact.technician for event in stored if isinstance(event.fact, Opened)), "")


def _language_of(stored: Sequence[StoredEvent]) -> Language:
    """The language that a recorded job is spoken in."""
    code = next((event.fact.language for event in stored if isinstance(event.fact, Opened)), None)
    return assembly.language(code or REFERENCE)


def _as_it_began(paths: JobPaths, stored: Sequence[StoredEvent]) -> JobPaths:
    """The files as they were: of published ones that version, and the vehicle that was chosen."""
    opened = next((e.fact for e in stored if isinstance(e.fact, Opened)), Opened())
    if not is_told() and (opened.vehicle_choice is not None or opened.vehicle_of_visit):
        wanted = opened.file_hashes.get("vehicle")
        its = (one.path for one in shop_vehicles() if sha256_of(one.path) == wanted)
        paths = with_mount(replace(paths, vehicle=next(its, paths.vehicle)))
    if opened.published == 0:
        return _where_they_lay(paths, opened)
    if opened.published == version_of(paths):
        return paths
    said = settings_of_version(settings_now().published_by, opened.published)
    return as_of(
        paths, opened.published, {FILES[name]: said[name] for name in FILES if name in said}
    )


def _where_they_lay(paths: JobPaths, opened: Opened) -> JobPaths:
    """The files where the job found them, but for those that are named at the command line.

    Raises FileProblem for one that is gone: another is not looked up in its place.
    """
    given = click.get_current_context().get_parameter_source
    lay: dict[str, Path] = {}
    for name, told in opened.file_paths.items():
        if given(f"{name}_file") is ParameterSource.COMMANDLINE:
            continue
        path = lies_at(told)
        if path is None or not path.is_file():
            raise FileProblem(
                f"{path or told}: the {name} file that this job began with is no longer there; "
                f"wanted: the same file there again, or --{name} with where it is now",
                said="file-of-the-job-gone",
                file=str(path or told),
                name=name,
            )
        lay[name] = path
    return replace(paths, **lay)


def _bystander(language: Language) -> Bystander:
    return Bystander(_tell_in(language), Screen(language.code))


def _tell_in(language: Language) -> Tell:
    def tell(message: Message) -> None:
        told = marked("note", language.show(message), wording_in(language.code))
        click.secho(told, fg="yellow", err=True)

    return tell


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
        spoken = _language_of(stored)
        replay_record(assembly.load(_as_it_began(paths, stored), spoken), spoken, stored)
    except (RecordError, FileProblem) as error:
        say = say_now()
        click.echo(f"{say('start-not-continued', why=say.words.problem(error))}\n")
        return None
    return last


def _session(session: str, language: Language) -> str:
    return language.show(Message("live-session", {"session": session}))


def _outcome(
    run: Callable[[], State],
    language: Language,
    watch: Callable[[], object],
    record: Path,
    session: str,
) -> int:
    """The exit code; `watch` follows a job that came to its end."""
    # Asked to end by a service manager or a shutdown: the same as Ctrl-C.
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        state = run()
        if state.result not in (None, "stopped"):
            watch()
    except (SoundEnded, KeyboardInterrupt):
        told = Message("live-interrupted", {"command": _how_to_go_on()})
        click.echo(f"\n{language.show(told)}")
        return BROKEN_OFF
    finally:
        signal.signal(signal.SIGTERM, before)
    if state.result is not None:
        _tell_what_is_left(record, session, language)
        told = Message("live-next", _what_follows(record, session))
        click.echo(f"\n{language.show(told)}")
    return BROKEN_OFF if state.result in (None, "stopped") else 0


def _tell_what_is_left(record: Path, session: str, language: Language) -> None:
    """What is still to be set and to be done on the car of this job."""
    with open_for_reading(record) as database:
        opened = next((event.fact for event in database.events(session)), None)
        if not isinstance(opened, Opened) or not opened.visit:
            return
        left = left_of(database, find_visit(database, opened.visit))
    if left.sensors or left.undone:
        click.echo()
        tell_what_is_left(left, opened.visit, wording_in(language.code))


def _what_follows(record: Path, session: str) -> dict[str, str]:
    """The commands for a job that is over: its report, with the file that it writes, and its
    sign-off. Whose name has no PIN has to say the role."""
    with open_for_reading(record) as database:
        last = next(s.session_id for s in database.newest_first() if s.event_count)
        name = _technician_of(list(database.events(session))) or "NAME"
        known = read_roll(database).find(name) is not None
    named = () if session == last else (session,)
    role = {} if known else {"role": "technician"}
    return {
        "report": _command("report", *named, **_kinds_of_its_own()),
        "file": str(report_file(session).absolute()),
        "sign": _command("sign", *named, by=name, **role),
    }


def _command(*words: str, **given: str) -> str:
    """A command about a job, with the record where that was chosen."""
    context = click.get_current_context()
    line = ["companion", *words]
    if context.get_parameter_source("record") is ParameterSource.COMMANDLINE:
        line += ["--record", str(context.params["record"])]
    for name, value in given.items():
        line += [f"--{name}", value]
    return shlex.join(line)


def _kinds_of_its_own() -> dict[str, str]:
    """The folder of kinds of step, where it was chosen: the report needs it for their words."""
    context = click.get_current_context()
    chosen = context.get_parameter_source("step_kinds") is ParameterSource.COMMANDLINE
    return {"step-kinds": str(context.params["step_kinds"])} if chosen else {}


def _how_to_go_on() -> str:
    """The whole command: what was chosen on the command line has to be chosen again."""
    context = click.get_current_context()
    known = {option.name: option for option in resume.params if isinstance(option, click.Option)}
    words = ["companion", "resume"]
    if isinstance(session := context.params.get("session"), str):
        words.append(session)
    for name, value in context.params.items():
        by_hand = context.get_parameter_source(name) is ParameterSource.COMMANDLINE
        if name in known and by_hand and value is not None:
            words += [known[name].opts[-1], str(value)]
    return shlex.join(words)


def _broken_off(database: Database, record: Path) -> str:
    """The newest session that has begun and is neither finished nor signed off."""
    for session in database.newest_first():
        kinds = [event.kind for event in database.events(session.session_id)]
        if kinds and _OVER.isdisjoint(kinds):
            return session.session_id
    raise RecordError(
        f"{record}: holds no interrupted job to continue; start a new one",
        said="nothing-to-resume",
        record=str(record),
    )


COMMANDS = (start, resume, check_stand, end_visit)
