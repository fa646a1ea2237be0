"""How a technician words his answers: as people do, not always in the same way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from random import Random

from companion.facts.meanings import COMMAND_NAMES
from companion.facts.prompting import SaidBack
from companion.language.language import Language
from companion.language.speaking import Speaker
from companion.simulation.scales import Scale

_WAYS_TO_SAY_NO = 2
_WAYS_TO_CHOOSE = 2


@dataclass(frozen=True)
class Wording:
    """What a technician says in his language: every way to say an answer, its usual one first.

    `places`: what stands before a number to mend the first, second or third of several; none where
    the ears do not know the words. `small_talk`: what is said in a bay and meant for somebody else.
    """

    speaker: Speaker
    done: tuple[str, ...]
    yes: tuple[str, ...]
    no: tuple[str, ...]
    choices: Mapping[str, tuple[str, ...]]
    commands: Mapping[str, str]
    small_talk: tuple[str, ...]
    note: str
    places: tuple[str, ...] = ()


def wording_in(language: Language) -> Wording:
    """The wording of somebody who speaks this language."""
    grammar = language.grammar
    done, yes, no = (grammar.answer_phrases(answer) for answer in ("done", "yes", "no"))
    return Wording(
        language.speaker,
        # The usual word is said twice as often as any other.
        done=(done[0], *done),
        yes=(yes[0], *yes),
        no=no[:_WAYS_TO_SAY_NO],
        choices={
            choice: grammar.choice_phrases(choice)[:_WAYS_TO_CHOOSE]
            for choice in grammar.choice_ids()
        },
        commands={name: grammar.command_phrase(name) for name in COMMAND_NAMES},
        small_talk=language.vocabulary.small_talk,
        note=language.vocabulary.spoken_note,
        places=grammar.places(),
    )


def said_choice(forms: Sequence[str], random: Random, *, varied: bool) -> str:
    """One of the ways to say an answer; the first is how it is said back."""
    return random.choice(forms) if varied else forms[0]


def said_number(
    speaker: Speaker,
    value: Decimal,
    scale: Scale,
    random: Random,
    *,
    varied: bool,
    digit_by_digit: bool = False,
    direction_last: bool = False,
) -> str:
    """The reading in words: its sign as a direction, its unit said or left out."""
    size = abs(value)
    by_digits = digit_by_digit or (varied and random.random() < 0.5)
    with_unit = scale.unit == "turns" or not varied or random.random() < 0.5
    say = speaker.say_figure if by_digits else speaker.say_number
    amount = say(size, (scale.unit or None) if with_unit else None)
    if scale.directions is None or value == 0:
        return amount
    direction = speaker.direction_word(scale.directions[0 if value > 0 else 1])
    if varied and random.random() < 0.25 and not direction_last:
        return f"{direction} {amount}"
    return f"{amount} {direction}"


def says_the_same(said_back: SaidBack, value: Decimal, scale: Scale) -> bool:
    """Whether what is said back is this value, with the right direction."""
    if said_back.value is None or Decimal(said_back.value) != abs(value):
        return False
    if scale.directions is None or value == 0:
        return True
    return said_back.direction == scale.directions[0 if value > 0 else 1]
