"""Trying out the ears."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any, assert_never

import click

from companion.commands.options import (
    job_files,
    language_option,
    paths_of,
    refuse_model_without_vosk,
)
from companion.commands.saying import say_now, tell
from companion.dialogue.kind import kind_of
from companion.errors import FileProblem
from companion.facts.meanings import (
    Choice,
    Command,
    Confirmed,
    Done,
    Meaning,
    Mended,
    No,
    Number,
    Pair,
    Unconfirmed,
    Word,
    Yes,
)
from companion.job.loader import JobPaths, LoadedJob
from companion.language.expectation import Expectation
from companion.language.language import Language
from companion.recognition.fetch import fetch_ears as fetch
from companion.recognition.source import LONGEST_ANSWER_S, read_sound
from companion.record.place import record_path
from companion.runtime import assembly
from companion.runtime.assembly import DEFAULT_RECOGNISER, RECOGNISERS, EarsChoice

NOT_UNDERSTOOD = 1


@click.command()
@click.argument("step")
@language_option
@job_files
def phrases(step: str, language: str, **options: Any) -> None:
    """Show what can be said at a step of the job.

    \b
    Example: companion phrases spot_left_mm
    """
    _phrases(step, paths_of(options), assembly.language(language))


@click.command()
@click.argument("sound", type=click.Path(path_type=Path))
@click.option("--step", required=True, help="The step whose answer the sound is.")
@click.option(
    "--ears",
    type=click.Choice(RECOGNISERS),
    default=DEFAULT_RECOGNISER,
    show_default=True,
)
@click.option("--model", type=click.Path(path_type=Path), help="Vosk model folder.")
@language_option
@job_files
def hear(
    sound: Path, step: str, ears: str, model: Path | None, language: str, **options: Any
) -> None:
    """Recognise a WAV or FLAC file as the answer to a step, and show what it means.

    \b
    Example: companion hear reading.wav --step plate_distance_mm
    """
    refuse_model_without_vosk(ears, model)
    sys.exit(
        _hear(
            sound,
            step,
            EarsChoice(ears, sound, model),
            paths_of(options),
            assembly.language(language),
        )
    )


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
    """Download a Vosk model (by default the small English one), check its SHA-256 and unpack it.

    This is the only command that uses the network; with --from-file it does not.

    \b
    Example: companion fetch-ears
    Example: companion fetch-ears --from-file vosk-model-small-en-us-0.15.zip
    """
    if url is not None and sha256 is None:
        raise click.UsageError(say_now()("fetch-url-needs-sha"))
    _fetch_ears(from_file, url, sha256, into)


def _phrases(step_id: str, paths: JobPaths, language: Language) -> None:
    """What may be said at one step."""
    expectation = _expected_at(assembly.load(paths, language), step_id)
    for phrase in language.for_step(expectation).examples():
        click.echo(phrase)


def _hear(
    sound: Path, step_id: str, choice: assembly.EarsChoice, paths: JobPaths, language: Language
) -> int:
    """What one sound file means as the answer to a step."""
    expectation = _expected_at(assembly.load(paths, language), step_id)
    answer = read_sound(sound, LONGEST_ANSWER_S)
    recogniser = assembly.make_recogniser(choice, language)
    # Words that these ears do not know are left out.
    missing = recogniser.missing_words(language.for_step(expectation).words())
    grammar = language.without(missing).for_step(expectation)
    recogniser.load(grammar)
    heard = recogniser.recognise(answer)
    meaning = grammar.parse(heard.words) if heard.words else None
    sure = heard.confidence >= recogniser.least_confidence
    say = say_now()
    told = in_words(meaning, language) if meaning is not None and sure else say("hear-no-meaning")
    confidence = {
        "confidence": say.number(heard.confidence, 2),
        "least": say.number(recogniser.least_confidence, 2),
    }
    lines = {
        "hear-heard": heard.words or say("hear-nothing"),
        "hear-confidence": say("hear-confidence-told", **confidence),
        "hear-means": told,
    }
    width = max(len(say(id_)) for id_ in lines)
    for id_, line in lines.items():
        tell(f"{say(id_):{width}}  {line}")
    return 0 if meaning is not None and sure else NOT_UNDERSTOOD


def in_words(meaning: Meaning, language: Language) -> str:
    """What an answer means, as a person would say it."""
    match meaning:
        case Number():
            return language.speaker.read_back(meaning)
        case Choice(choice_id):
            return language.choice_name(choice_id)
        case Done():
            return language.grammar.answer_phrases("done")[0]
        case Yes():
            return language.grammar.answer_phrases("yes")[0]
        case No():
            return language.grammar.answer_phrases("no")[0]
        case Command(name):
            return language.grammar.command_phrase(name)
        case Word(text):
            return text
        case Pair(first, second):
            return ", ".join(map(language.speaker.read_back, (first, second)))
        case Confirmed(then):
            return f"{language.grammar.answer_phrases('yes')[0]}, {in_words(then, language)}"
        case Unconfirmed(then):
            return in_words(then, language)
        case Mended(place, number):
            places = language.whole.grammar.places()
            return f"{places[place - 1]} {language.speaker.read_back(number)}"
        case _:
            assert_never(meaning)


def _fetch_ears(
    from_file: Path | None, url: str | None, sha256: str | None, into: Path | None
) -> None:
    """A Vosk model, checked against its hash."""
    folder = into or record_path().parent / "ears"
    given = {name: value for name, value in (("url", url), ("sha256", sha256)) if value is not None}
    model = fetch(folder, from_file=from_file, **given)
    click.echo(say_now()("fetch-model", folder=str(model)))
    click.echo(say_now()("fetch-use", folder=str(model)))


def _expected_at(loaded: LoadedJob, step_id: str) -> Expectation:
    """What may be answered at one step of the job."""
    plan = loaded.plan
    asked = {step.id: kind_of(plan, step).expectation(step) for step in plan.steps}
    expectation = asked.get(step_id)
    if expectation is None:
        known = ", ".join(name for name, expected in asked.items() if expected is not None)
        raise FileProblem(
            f"step '{step_id}' is not a step that asks for an answer; wanted one of: {known}",
            said="no-such-step",
            step=step_id,
            known=known,
        )
    return expectation


COMMANDS = (phrases, hear, fetch_ears)
