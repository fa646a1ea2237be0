"""What each command of the command line does."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from companion import parts
from companion.dialogue.asking import expectation_of
from companion.dialogue.state import State
from companion.ears.fetch import fetch_ears as fetch
from companion.ears.port import Ears, SoundEnded
from companion.ears.source import read_sound
from companion.errors import CompanionError, FileProblem, RecordError
from companion.loop import Room, resume_job, start_job
from companion.procedure.job import Checklist, Instruction, Question, Reading
from companion.procedure.loader import JobPaths, LoadedJob
from companion.record.clips import ClipStore, clips_folder
from companion.record.database import Database, open_for_reading, open_record
from companion.record.export import write_events_csv, write_json_lines, write_readings_csv
from companion.record.journal import SqliteLog
from companion.record.verify import verify as find_faults
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
from companion.review.explain import explain as explained
from companion.review.report import write_report
from companion.screen import Screen
from companion.voice.port import Voice

BROKEN_OFF = 8
NOT_UNBROKEN = 7
NOT_UNDERSTOOD = 1


def start(
    paths: JobPaths,
    record: Path,
    ears: parts.EarsChoice,
    voice: str,
    voice_file: Path | None,
    technician: str,
) -> int:
    """A new job; 0 when it ended inside."""
    loaded = parts.load(paths)
    with _open_record(record) as database, _parts(loaded, ears, voice, voice_file) as (hear, speak):
        session = database.create_session()
        room = _room(database, session, record, hear, speak)
        click.echo(f"Session {session}. {_about(loaded)}\n")
        context = {"technician": technician, "ears": hear.name}
        return _outcome(lambda: start_job(room, loaded, parts.grammar(), context))


def resume(
    session: str | None,
    paths: JobPaths,
    record: Path,
    ears: parts.EarsChoice,
    voice: str,
    voice_file: Path | None,
) -> int:
    """The rest of a job that was broken off."""
    loaded = parts.load(paths)
    with _open_record(record) as database, _parts(loaded, ears, voice, voice_file) as (hear, speak):
        chosen = session or _broken_off(database, record)
        stored = list(database.events(chosen))
        room = _room(database, chosen, record, hear, speak)
        click.echo(f"Session {chosen}. {_about(loaded)}\n")
        return _outcome(lambda: resume_job(room, loaded, parts.grammar(), stored))


def rehearse(
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
        with _open_record(kept) as database:
            session = database.create_session()
            clips = ClipStore(clips_folder(kept))
            speak = parts.make_voice(
                "file" if voice_file else "silent", Path(scratch) / "voice", voice_file
            )
            click.echo(f"Rehearsal {seed}, session {session}. {_about(loaded)}\n")
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
                )
            finally:
                speak.close()
        _show_truth(rehearsal, rehearsed)
        if report is not None:
            write_report(kept, session, report)
            click.echo(f"Report: {report}")
    score = rehearsed.score
    return 0 if score.companion_said == "inside" and score.truly_inside else BROKEN_OFF


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


def list_sessions(record: Path) -> None:
    """One line for each job in the record."""
    with open_for_reading(record) as database:
        for session in database.sessions():
            kinds = list(database.events(session.session_id))
            finished = [e.body["result"] for e in kinds if e.kind == "finished"]
            result = finished[-1] if finished else "broken off"
            click.echo(
                f"{session.session_id}  {session.opened_utc}  {len(kinds):5d} events  {result}"
            )


def report(session: str | None, record: Path, out: Path | None) -> None:
    """The report of one job as one HTML file."""
    with open_for_reading(record) as database:
        chosen = _session_id(database, session, record)
    target = out or Path(f"report-{chosen}.html")
    write_report(record, chosen, target)
    click.echo(f"Report: {target}")


def explain(result: str, session: str | None, record: Path) -> None:
    """Where one result, reading or step of a job came from."""
    with open_for_reading(record) as database:
        for line in explained(database.events(_session_id(database, session, record)), result):
            click.echo(line)


def verify(record: Path, session: str | None, head: str | None) -> int:
    """Says whether the record is unbroken; names the first broken event where it is not."""
    heads = {}
    if head is not None:
        with open_for_reading(record) as database:
            heads = {_session_id(database, session, record): head}
    findings = find_faults(record, ClipStore(clips_folder(record)), heads, session)
    for finding in findings:
        click.echo(str(finding))
    click.echo("Broken." if findings else "Unbroken: every event and clip is as it was written.")
    return NOT_UNBROKEN if findings else 0


def export(session: str | None, record: Path, form: str, out: Path | None) -> None:
    """The events or readings of one job for other programs."""
    write = {"jsonl": write_json_lines, "csv": write_events_csv, "readings": write_readings_csv}
    with open_for_reading(record) as database:
        events = database.events(_session_id(database, session, record))
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


def check_files(paths: JobPaths) -> None:
    """The job's stages, once its files have been found right."""
    loaded = parts.load(paths)
    click.echo(f"{_about(loaded)}\n")
    for number, stage in enumerate(loaded.plan.files.job.stages, 1):
        steps = ", ".join(step.id for step in stage.steps)
        click.echo(f"{number:3d}  {stage.title}: {steps}")


def phrases(step_id: str, paths: JobPaths) -> None:
    """What may be said at one step."""
    step = _asked_step(parts.load(paths), step_id)
    for phrase in parts.grammar().for_step(expectation_of(step)).examples():
        click.echo(phrase)


def hear(sound: Path, step_id: str, choice: parts.EarsChoice, paths: JobPaths) -> int:
    """What one sound file means as the answer to a step."""
    step = _asked_step(parts.load(paths), step_id)
    grammar = parts.grammar().for_step(expectation_of(step))
    recogniser = parts.make_recogniser(choice)
    recogniser.load(grammar)
    heard = recogniser.recognise(read_sound(sound))
    meaning = grammar.parse(heard.words) if heard.words else None
    sure = heard.confidence >= recogniser.least_confidence
    click.echo(f"heard       {heard.words or '(nothing of this step)'}")
    click.echo(f"confidence  {heard.confidence:.2f} (wanted: {recogniser.least_confidence:.2f})")
    click.echo(f"means       {meaning if meaning is not None and sure else 'nothing'}")
    return 0 if meaning is not None and sure else NOT_UNDERSTOOD


def fetch_ears(
    from_file: Path | None, url: str | None, sha256: str | None, into: Path | None
) -> None:
    """A Vosk model, checked against its hash."""
    folder = into or parts.record_path().parent / "ears"
    given = {name: value for name, value in (("url", url), ("sha256", sha256)) if value is not None}
    model = fetch(folder, from_file=from_file, **given)
    click.echo(f"Model: {model}\nUse it with: companion start --ears vosk --model {model}")


@contextmanager
def _open_record(path: Path) -> Iterator[Database]:
    try:
        # Voices and names are in it: a folder made here is for its owner alone.
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise RecordError(
            f"{path.parent}: the record's folder cannot be made ({error.strerror}); "
            "wanted: a folder that can be written, or another --record"
        ) from error
    with open_record(path) as database:
        yield database


@contextmanager
def _parts(
    loaded: LoadedJob, choice: parts.EarsChoice, voice: str, voice_file: Path | None
) -> Iterator[tuple[Ears, Voice]]:
    if choice.kind != "typed":
        parts.check_words(parts.make_recogniser(choice), loaded)
    speak = parts.make_voice(voice, parts.record_path().parent / "voice", voice_file)
    try:
        hear = parts.make_ears(choice)
        try:
            yield hear, speak
        finally:
            hear.close()
    finally:
        speak.close()


def _room(database: Database, session: str, record: Path, hear: Ears, speak: Voice) -> Room:
    clips = ClipStore(clips_folder(record))
    return Room(hear, speak, SqliteLog(database, session, clips), clips, Screen())


def _outcome(run: Callable[[], State]) -> int:
    try:
        state = run()
    except (SoundEnded, KeyboardInterrupt):
        click.echo("\nBroken off; nothing is lost. Go on with: companion resume")
        return BROKEN_OFF
    return 0 if state.result in ("inside", "tool_inside") else BROKEN_OFF


def _broken_off(database: Database, record: Path) -> str:
    """The newest session that has begun and is not over."""
    for session in reversed(database.sessions()):
        kinds = [event.kind for event in database.events(session.session_id)]
        if kinds and "finished" not in kinds:
            return session.session_id
    raise RecordError(f"{record}: holds no job that was broken off; wanted: one, or a new job")


def _session_id(database: Database, session: str | None, record: Path) -> str:
    if session is not None:
        return database.session(session).session_id
    sessions = database.sessions()
    if not sessions:
        raise RecordError(f"{record}: holds no job yet; wanted: one made by 'companion start'")
    return sessions[-1].session_id


def _about(loaded: LoadedJob) -> str:
    files = loaded.plan.files
    example = " EXAMPLE FILES, NOT A MAKER'S VALUES." if files.example else ""
    return f"{files.job.name}; {files.vehicle.name}; {files.bay.shop}, {files.bay.name}.{example}"


def _asked_step(loaded: LoadedJob, step_id: str) -> Reading | Question | Instruction | Checklist:
    for step in loaded.plan.steps:
        if step.id == step_id and isinstance(step, Reading | Question | Instruction | Checklist):
            return step
    known = ", ".join(
        s.id
        for s in loaded.plan.steps
        if isinstance(s, Reading | Question | Instruction | Checklist)
    )
    raise FileProblem(f"step '{step_id}' asks for nothing in this job; wanted one of: {known}")
