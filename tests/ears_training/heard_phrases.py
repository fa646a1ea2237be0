"""How the packaged heads of a language hear its grammars from voices that are kept for scoring.

For a language that nobody was recorded speaking this is all that can be measured: it says whether
a word is lost, and nothing of people.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from companion.facts.meanings import COMMAND_NAMES
from companion.language.expectation import Expectation
from companion.language.grammar import StepGrammar
from companion.language.language import Language
from companion.runtime import assembly
from tests.benchmarks.bay_sound import as_sound, compressor_hum, impact_bursts, mixed
from tests.benchmarks.common import on_all_cores
from tests.benchmarks.ears_voices import say
from tests.ears_training.phrases import number_forms

VOICES = {"en": ("flite awb",), "es": ("espeak es", "espeak es-419")}
LEVELS_DB = {"clean": 49.0, "20": 20.0, "10": 10.0}
_READINGS = 80
_BEFORE_S, _AFTER_S = 0.4, 0.3


@dataclass(frozen=True)
class Outcome:
    """What became of one phrase: right, refused or wrong, and what was heard."""

    reading: bool
    level: str
    text: str
    became: str
    heard: str


def heard_phrases(language: str, seed: int) -> list[Outcome]:
    """Every answer, choice and command, and some readings, by each voice at each level."""
    found = on_all_cores(partial(_at_level, language, seed), tuple(LEVELS_DB))
    return [outcome for of_level in found for outcome in of_level]


def _sayings(language: Language, seed: int) -> Iterator[tuple[bool, StepGrammar, str]]:
    asked = [Expectation(done=True, yes_no=True, commands=COMMAND_NAMES)]
    asked += [Expectation(choices=(choice,)) for choice in language.choice_ids()]
    for grammar in map(language.for_step, asked):
        yield from ((False, grammar, phrase) for phrase in grammar.phrases())
    generator = random.Random(seed)
    forms = [language.for_step(Expectation(form)) for form in number_forms()]
    for number in range(_READINGS):
        grammar = forms[number % len(forms)]
        yield True, grammar, grammar.generate(generator)[0]


def _at_level(code: str, seed: int, level: str) -> list[Outcome]:
    language = assembly.language(code)
    ears = assembly.make_recogniser(assembly.EarsChoice("own"), language)
    found = []
    for number, (reading, grammar, text) in enumerate(_sayings(language, seed)):
        for voice in VOICES[code]:
            speech = say(voice, text, seed)
            if speech is None:
                continue
            generator = np.random.default_rng([seed, number])
            make = impact_bursts if generator.random() < 0.5 else compressor_hum
            noise = make(len(speech) / 16_000 + _BEFORE_S + _AFTER_S + 0.1, generator)
            sound = mixed(speech, noise, LEVELS_DB[level], generator, _BEFORE_S, _AFTER_S)
            ears.load(grammar)
            heard = ears.recognise(as_sound(sound))
            became = "refused"
            if heard.words and heard.confidence >= ears.least_confidence:
                right = grammar.parse(heard.words) == grammar.parse(text)
                became = "right" if right else "wrong"
            found.append(Outcome(reading, level, text, became, heard.words))
    return found


def report(outcomes: list[Outcome]) -> None:
    """Right, refused and wrong by level, then every phrase that was not right, and what it was."""
    for reading in (False, True):
        for level in LEVELS_DB:
            here = [o.became for o in outcomes if (o.reading, o.level) == (reading, level)]
            count = Counter(here)
            name = "readings" if reading else "answers, choices, commands"
            shares = (f"{100 * count[b] / max(1, len(here)):.1f} % {b}" for b in count)
            print(f"{name}, {level}: {', '.join(shares)} of {len(here)}")
    for (text, became, heard), times in Counter(
        (o.text, o.became, o.heard) for o in outcomes if o.became != "right"
    ).most_common():
        print(f"{times} times {became}: {text!r}, likeliest {heard!r}")
