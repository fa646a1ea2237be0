"""At a read-back "no" is never a number: what a lone number must show there to be believed.

"No" is said there to stop an error, and sounds like some number of nearly every language ("nought",
a little like "nine"; "no", "nueve"). A new reading that is a single word is rare there, so it needs
more evidence than "no" could give.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from companion.recognition.own.evidence import Evidence
from companion.recognition.own.search import Hearing
from companion.recognition.port import StepGrammarLike

MOST_OF_NO = -6.0
"""A lone number is doubted where any hearing holds "no" for more probable than this (natural
logarithm). Of 480 hearings of "no" by 30 people of the tuning half 16 came out as a number, one
of them sure of itself ("nought"); with this limit none, and 9 in 10 lone numbers pass."""


@dataclass(frozen=True)
class ReadBackWords:
    """The words of a language that a read-back turns on.

    `yes`, `no`: a phrase of each. `lone_numbers`: single words that are a number. `never_alone`:
    those of them that are never believed there by themselves.
    """

    yes: str
    no: str
    lone_numbers: frozenset[str]
    never_alone: frozenset[str] = frozenset()


def is_read_back(words: ReadBackWords, grammar: StepGrammarLike) -> bool:
    """Whether yes and no may be said there."""
    return all(grammar.parse(word) is not None for word in (words.yes, words.no))


def may_be_no(
    words: ReadBackWords, grammar: StepGrammarLike, found: Evidence, hearings: Sequence[Hearing]
) -> bool:
    """Whether a lone number, heard at a read-back, may have been "no"."""
    if found.words not in words.lone_numbers:
        return False
    return found.words in words.never_alone or _leaves_room(hearings, grammar.parse(words.no))


def is_faint(
    words: ReadBackWords,
    grammar: StepGrammarLike,
    found: Evidence,
    least: float,
    least_alone: float,
) -> bool:
    """Whether a single word that says neither yes nor no is less likely to both heads than `least`.

    A lone number must be as likely as `least_alone`: there are few other words to choose from, so a
    word that the prompt does not know ("forward", "follow") comes near to one of them.
    """
    if len(found.words.split()) != 1:
        return False
    if found.meaning in (grammar.parse(words.yes), grammar.parse(words.no)):
        return False
    return found.of_both < (least_alone if found.words in words.lone_numbers else least)


def may_be_yes_too(
    words: ReadBackWords, grammar: StepGrammarLike, found: Evidence, hearings: Sequence[Hearing]
) -> bool:
    """Whether readings, taken for a correction, may have had a "yes" before them that went unheard.

    Where yes and the next readings may be one answer, the same readings alone would correct those
    before: they need more evidence than such an answer could give.
    """
    after_yes = grammar.parse(f"{words.yes} {found.words}")
    return after_yes not in (None, found.meaning) and _leaves_room(hearings, after_yes)


def _leaves_room(hearings: Sequence[Hearing], wanted: object) -> bool:
    """Whether any hearing holds this meaning for more than hardly possible."""
    return any(
        said.meaning == wanted and said.log_probability > MOST_OF_NO
        for hearing in hearings
        for said in hearing.whole
    )
