"""Rehearsing a job in a simulated bay."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

import click

from companion.commands.job_screen import Screen
from companion.commands.options import (
    job_files,
    language_option,
    paths_of,
    refuse_model_without_vosk,
    without_paths,
)
from companion.commands.settings import settings_now
from companion.commands.shared import BROKEN_OFF, about, force_option, own_record, shows_of
from companion.commands.visits import NEW, visit_for
from companion.facts.car import Car
from companion.facts.figures import Quantity
from companion.job.loader import JobPaths, LoadedJob
from companion.language.language import Language
from companion.record.clips import ClipStore, clips_folder
from companion.record.journal import SqliteLog
from companion.record.outputs import require_free
from companion.report.report import is_report, write_report
from companion.report.wording import Wording, wording_in
from companion.runtime import assembly
from companion.runtime.assembly import DEFAULT_RECOGNISER, RECOGNISERS
from companion.runtime.loop import OfVisit
from companion.runtime.rehearsing import (
    HARDER,
    TECHNICIAN,
    Rehearsed,
    choose_slips,
    make_rehearsal,
    run_rehearsal,
)
from companion.runtime.visiting import of_visit, validity_of
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.slips import MadeSlip
from companion.simulation.speakers import SyntheticSpeaker
from companion.steps.aim.model import AimDecision


@click.command()
@job_files
@click.option("--seed", type=int, default=1, show_default=True, help="Chooses bay and technician.")
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
    type=click.Choice(RECOGNISERS),
    default=DEFAULT_RECOGNISER,
    show_default=True,
    help="With --spoken.",
)
@click.option(
    "--model", type=click.Path(path_type=Path), help="Vosk model folder (with --ears vosk)."
)
@language_option
@click.option(
    "--slips",
    type=click.IntRange(0, 20),
    default=0,
    show_default=True,
    help="How many slips the simulated technician makes.",
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
    help="A bay whose screws and levers differ far from the mount file: often one round on the "
    "screws is not enough.",
)
@click.option(
    "--visit",
    default="",
    help="With --record: the car's visit (new, last or its name); a second job takes over what "
    "is still true. Default: none.",
)
@force_option
@click.option(
    "--voice-check", "check_voice", is_flag=True, help="Begin with the voice check (with --spoken)."
)
def rehearse(**options: Any) -> None:
    """Run a whole job in a simulated bay with a simulated technician.

    The bay's true errors are hidden from the companion and shown to you at the end.

    \b
    Example, as text, in a second:       companion rehearse --seed 1
    Example, from sound, with a report:  companion rehearse --spoken --report r.html
    """
    refuse_model_without_vosk(options["ears"], options["model"])
    sys.exit(_rehearse(paths_of(options), **without_paths(options)))


def _rehearse(
    paths: JobPaths,
    *,
    seed: int,
    spoken: bool,
    speaker: str,
    ears: str,
    model: Path | None,
    language: str,
    slips: int,
    harder: bool,
    record: Path | None,
    report: Path | None,
    voice_file: Path | None,
    check_voice: bool,
    force: bool,
    visit: str,
) -> int:
    """A whole job in the simulated bay.

    0 when it ended inside and the hidden truth agrees; of a job that aims nothing, when it ended.
    """
    # Said before the work, not after it.
    if report is not None:
        require_free(report, is_report, force=force)
    if voice_file is not None:
        require_free(voice_file, _is_sound, force=force)
    said, say = assembly.language(language), wording_in(language)
    loaded = assembly.load(paths, said)
    voice_of = _technicians_voice(said, speaker, seed) if spoken else None
    recogniser = (
        assembly.make_recogniser(assembly.EarsChoice(ears, model=model), said) if spoken else None
    )
    understood = said
    if recogniser is not None:
        understood = assembly.check_words(recogniser, loaded, said).language
    rehearsal = make_rehearsal(
        loaded,
        seed,
        language=understood,
        slips=choose_slips(seed, slips),
        spread=HARDER if harder else None,
        speaker=voice_of,
        scenario=Scenario(keeps_sound=spoken),
    )
    with tempfile.TemporaryDirectory() as scratch:
        kept = record or Path(scratch) / "rehearsal.sqlite"
        with own_record(kept) as database:
            belongs_to = OfVisit()
            if visit:
                belongs_to = of_visit(
                    database,
                    visit_for(database, kept, visit, Car()),
                    loaded,
                    understood,
                    validity_of(settings_now()),
                    rehearsal=True,
                    technician=TECHNICIAN,
                    was_there=visit != NEW,
                )
            session = database.create_session()
            clips = ClipStore(clips_folder(kept))
            speak = assembly.make_voice(
                "file" if voice_file else "silent",
                Path(scratch) / "voice",
                voice_file,
                language=said,
            )
            begins = {"seed": str(seed), "session": session, "about": about(loaded, said)}
            click.echo(f"{say('rehearsal-begins', **begins)}\n")
            try:
                rehearsed = run_rehearsal(
                    loaded,
                    understood,
                    rehearsal,
                    speak,
                    SqliteLog(database, session, clips),
                    recogniser=recogniser,
                    watcher=Screen(language),
                    clips=clips,
                    voice_check=check_voice and spoken,
                    visit=belongs_to,
                )
            finally:
                speak.close()
        if _aims(loaded):
            _show_truth(rehearsed, say)
        _show_hearing(rehearsal, rehearsed, say)
        if report is not None:
            write_report(kept, session, report, force=force, shows=shows_of(paths.step_kinds))
            click.echo(say("rehearsal-report", file=str(report)))
    if not _aims(loaded):
        return 0 if rehearsed.state.result not in (None, "stopped") else BROKEN_OFF
    score = rehearsed.score
    return 0 if score.companion_said == "inside" and score.truly_inside else BROKEN_OFF


def _technicians_voice(language: Language, speaker: str, seed: int) -> SyntheticSpeaker:
    """English with the chosen voice of flite; another language with its voice of espeak-ng."""
    voice = language.vocabulary.voice
    if voice.flite is None:
        return SyntheticSpeaker(voice.espeak_ng, seed, maker="espeak-ng")
    return SyntheticSpeaker(speaker, seed)


def _is_sound(first: bytes) -> bool:
    return first.startswith((b"RIFF", b"fLaC"))


def _show_truth(rehearsed: Rehearsed, say: Wording) -> None:
    score = rehearsed.score
    yaw, elevation = (
        say.amount(Quantity(value, None, "deg"), name, decimals=3)
        for name, value in (
            ("aim_yaw_deg", score.truth.aim_yaw_deg),
            ("aim_elevation_deg", score.truth.aim_elevation_deg),
        )
    )
    inside = "rehearsal-truth-inside" if score.truly_inside else "rehearsal-truth-outside"
    truth = say("rehearsal-truth", yaw=yaw, elevation=elevation)
    click.echo(f"\n{truth} {say(inside, rounds=score.rounds)}")


def _aims(loaded: LoadedJob) -> bool:
    """Whether the job is about the aim that the simulated bay hides."""
    return any(isinstance(step, AimDecision) for step in loaded.plan.steps)


def _show_hearing(rehearsal: Rehearsal, rehearsed: Rehearsed, say: Wording) -> None:
    heard = rehearsed.score.hearing
    counts = {"right": heard.right, "wrong": heard.wrong, "refused": heard.refused}
    told = {name: str(count) for name, count in counts.items()}
    click.echo(say("rehearsal-heard", answers=str(sum(counts.values())), **told))
    for slip in rehearsal.slips.made:
        click.echo(_slip(slip, say))


def _slip(slip: MadeSlip, say: Wording) -> str:
    kind = say(f"slip-kind-{slip.kind}")
    if slip.figures is None:
        return say("rehearsal-slip", slip=kind)
    right, read = (
        say.number(float(figure), max(0, -int(figure.as_tuple().exponent)))
        for figure in slip.figures
    )
    return say("rehearsal-slip-read", slip=kind, right=right, read=read)


COMMANDS = (rehearse,)
