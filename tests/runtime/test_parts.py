"""The parts that a job is built from fit each other."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pytest

from companion.dialogue.asking import YES_NO
from companion.errors import EarsError
from companion.facts.meanings import Command, No, Yes
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation, NumberForm
from companion.recognition.pedal import WORDS
from companion.recognition.typed import TypedEars
from companion.record.place import record_path
from companion.runtime import assembly
from companion.runtime.configured import render_ahead
from companion.runtime.into_prompts import speed_at
from companion.speech.port import DEFAULT_SPEED_WPM
from companion.speech.silent import SilentVoice
from tests.runtime.running import SHORT_JOB

WIDEST = Expectation(
    NumberForm("decimal", 4, 2, directions=("clockwise", "anticlockwise"), units=("mm",)),
    done=True,
    yes_no=True,
)


@pytest.mark.parametrize("kind", ["own", "sphinx"])
def test_the_ears_know_every_word_that_the_job_can_ask_for(kind: str) -> None:
    assembly.check_words(
        assembly.make_recogniser(assembly.EarsChoice(kind), assembly.language()),
        assembly.load(JobPaths()),
        assembly.language(),
    )


def test_ears_that_miss_a_word_are_refused_before_the_job() -> None:
    class Deaf:
        name = "deaf ears"

        def missing_words(self, words: frozenset[str]) -> frozenset[str]:
            return words & {"clockwise"}

    with pytest.raises(EarsError, match="deaf ears can never hear clockwise"):
        assembly.check_words(Deaf(), assembly.load(JobPaths()), assembly.language())  # type: ignore[arg-type]


class Without:
    """Ears that know every word but these."""

    name = "deaf ears"

    def __init__(self, *words: str) -> None:
        self._words = frozenset(words)

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        return words & self._words


@pytest.mark.parametrize(
    ("word", "still_said"),
    [
        ("nought", "zero"),
        ("niner", "nine"),
        ("point", "decimal"),
        ("hundred", "three zero zero millimetres"),
        ("sixteen", "one six"),
        ("finished", "done"),
        ("counterclockwise", "anticlockwise"),
        ("millimeters", "millimetres"),
        ("correct", "yes"),
    ],
)
def test_a_synonym_that_ears_lack_is_left_out(word: str, still_said: str) -> None:
    heard = assembly.check_words(
        Without(word),  # type: ignore[arg-type]
        assembly.load(JobPaths()),
        assembly.language(),
    )
    assert heard.left_out == (word,)
    assert (
        word
        not in heard.language.for_step(YES_NO).words() | heard.language.for_step(WIDEST).words()
    )
    assert set(still_said.split()) <= heard.language.for_step(WIDEST).words()


@pytest.mark.parametrize("word", ["zero", "oh"])
def test_a_nought_can_be_said_in_three_ways(word: str) -> None:
    loaded = assembly.load(JobPaths())
    if word == "oh":
        assembly.check_words(Without("oh", "nought"), loaded, assembly.language())  # type: ignore[arg-type]
    else:
        with pytest.raises(EarsError, match="never hear zero"):
            assembly.check_words(Without("zero"), loaded, assembly.language())  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "words", [("yes", "correct"), ("stop", "halt"), ("left",), ("point", "decimal"), ("five",)]
)
def test_a_meaning_that_nobody_could_say_is_named(words: tuple[str, ...]) -> None:
    with pytest.raises(EarsError, match=f"never hear .*{words[0]}"):
        assembly.check_words(
            Without(*words),  # type: ignore[arg-type]
            assembly.load(JobPaths()),
            assembly.language(),
        )


def test_what_is_left_out_is_offered_no_more_and_the_rest_means_the_same() -> None:
    whole, less = assembly.language(), assembly.language().without(frozenset({"done", "continue"}))
    asked = Expectation(done=True, commands=("carry_on", "stop"))
    assert whole.examples(asked) == ("done", "continue", "stop")
    assert less.examples(asked) == ("finished", "carry on", "stop")
    assert less.for_step(asked).parse("carry on") == whole.for_step(asked).parse("carry on")
    assert less.for_step(asked).parse("continue") is None
    assert less.whole is whole


def test_vosk_without_a_model_says_what_is_wanted() -> None:
    with pytest.raises(EarsError, match="--model FOLDER"):
        assembly.make_recogniser(assembly.EarsChoice("vosk"), assembly.language())


def test_typed_ears_need_nothing() -> None:
    around = assembly.Surroundings(tell=print, interrupt=lambda: False)
    assert isinstance(
        assembly.make_ears(assembly.EarsChoice(), around, None, assembly.language()), TypedEars
    )


def test_the_record_stands_in_the_data_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert record_path() == tmp_path / "bay-companion" / "record.sqlite"


def test_the_pedal_says_its_words_in_the_language_of_the_job() -> None:
    assert assembly.pedal_words(assembly.language()) == WORDS
    spanish = assembly.pedal_words(assembly.language("es"))
    step = assembly.language("es").for_step(Expectation(yes_no=True, commands=("stop", "repeat")))
    assert step.parse(spanish["once"][0]) == Yes()
    assert step.parse(spanish["twice"][0]) == No()
    assert step.parse(spanish["held"][0]) == Command("stop")


def test_what_ears_lack_is_no_word_of_the_pedal() -> None:
    less = assembly.language().without(frozenset({"done"}))
    assert assembly.pedal_words(less)["once"] == ("yes", "finished", "continue")


class Rendering(SilentVoice):
    """Knows what it was to render, and how fast."""

    def __init__(self) -> None:
        super().__init__()
        self.rendered: list[tuple[str, int]] = []

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        self.rendered += [(text, speed) for text in texts]


def test_what_a_job_asks_is_rendered_ahead_briskly_and_then_also_for_a_loud_room() -> None:
    voice = Rendering()
    ahead = render_ahead(voice, assembly.load(JobPaths(job=SHORT_JOB)), assembly.language(), 120)
    assert ahead.wait(10.0)
    brisk, unhurried = (("Plate distance.", speed_at(pace, 120)) for pace in ("brisk", "unhurried"))
    assert brisk != unhurried
    assert voice.rendered.index(brisk) < voice.rendered.index(unhurried)
    assert len(set(voice.rendered)) == len(voice.rendered)
    # What warns is never said briskly.
    assert {speed for text, speed in voice.rendered if text == "Brakes on."} == {unhurried[1]}
