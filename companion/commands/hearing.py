"""Trying out the ears."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import click

from companion import parts
from companion.commands.options import (
    job_files,
    paths_of,
)
from companion.dialogue.asking import expectation_of
from companion.ears.fetch import fetch_ears as fetch
from companion.ears.source import LONGEST_ANSWER_S, read_sound
from companion.errors import FileProblem
from companion.parts import RECOGNISERS, EarsChoice, default_recogniser
from companion.procedure.job import Checklist, Instruction, Question, Reading
from companion.procedure.loader import JobPaths, LoadedJob
from companion.record.place import record_path

BROKEN_OFF = 8
NOT_UNDERSTOOD = 1


@click.command()
@click.argument("step")
@job_files
def phrases(step: str, **options: Any) -> None:
    """Show what may be said at a step of the job.

    \b
    Example: companion phrases spot_left_mm
    """
    _phrases(step, paths_of(options))


@click.command()
@click.argument("sound", type=click.Path(path_type=Path))
@click.option("--step", required=True, help="The step whose answer the sound is.")
@click.option(
    "--ears",
    type=click.Choice(RECOGNISERS),
    default=default_recogniser,
    help="Default: own where the extra 'ears' is installed, else sphinx.",
)
@click.option("--model", type=click.Path(path_type=Path), help="Vosk model folder.")
@job_files
def hear(sound: Path, step: str, ears: str, model: Path | None, **options: Any) -> None:
    """Hear a WAV or FLAC file as the answer to a step, and say what it means.

    \b
    Example: companion hear reading.wav --step plate_distance_mm
    """
    sys.exit(_hear(sound, step, EarsChoice(ears, sound, model), paths_of(options)))


@click.command(name="fetch-ears")
@click.option(
    "--from-file", type=click.Path(path_type=Path), help="An archive that you already have."
)
@click.option("--url", help="Where to fetch another archive from (https); needs --sha256.")
@click.option("--sha256", help="The archive's SHA-256. Default: the small English model's.")
@click.option(
    "--into", type=click.Path(path_type=Path), help="New folder. Default: in your data folder."
)
def fetch_ears(
    from_file: Path | None, url: str | None, sha256: str | None, into: Path | None
) -> None:
    """Get a Vosk model (by default the small English one), check its SHA-256 and unpack it.

    The only command that fetches anything from the network; with --from-file nothing is fetched.

    \b
    Example: companion fetch-ears
    Example: companion fetch-ears --from-file vosk-model-small-en-us-0.15.zip
    """
    if url is not None and sha256 is None:
        raise click.UsageError("--url needs --sha256, from a source that you trust.")
    _fetch_ears(from_file, url, sha256, into)


def _phrases(step_id: str, paths: JobPaths) -> None:
    """What may be said at one step."""
    step = _asked_step(parts.load(paths), step_id)
    for phrase in parts.grammar().for_step(expectation_of(step)).examples():
        click.echo(phrase)


def _hear(sound: Path, step_id: str, choice: parts.EarsChoice, paths: JobPaths) -> int:
    """What one sound file means as the answer to a step."""
    step = _asked_step(parts.load(paths), step_id)
    grammar = parts.grammar().for_step(expectation_of(step))
    answer = read_sound(sound, LONGEST_ANSWER_S)
    recogniser = parts.make_recogniser(choice)
    recogniser.load(grammar)
    heard = recogniser.recognise(answer)
    meaning = grammar.parse(heard.words) if heard.words else None
    sure = heard.confidence >= recogniser.least_confidence
    click.echo(f"heard       {heard.words or '(nothing of this step)'}")
    click.echo(f"confidence  {heard.confidence:.2f} (wanted: {recogniser.least_confidence:.2f})")
    click.echo(f"means       {meaning if meaning is not None and sure else 'nothing'}")
    return 0 if meaning is not None and sure else NOT_UNDERSTOOD


def _fetch_ears(
    from_file: Path | None, url: str | None, sha256: str | None, into: Path | None
) -> None:
    """A Vosk model, checked against its hash."""
    folder = into or record_path().parent / "ears"
    given = {name: value for name, value in (("url", url), ("sha256", sha256)) if value is not None}
    model = fetch(folder, from_file=from_file, **given)
    click.echo(f"Model: {model}\nUse it with: companion start --ears vosk --model {model}")


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


COMMANDS = (phrases, hear, fetch_ears)
