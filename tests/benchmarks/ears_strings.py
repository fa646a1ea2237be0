"""Number strings as people say them: a loop of the bay's number words, scored whole and by word.

No prompt of a job takes all of these ("one five two oh six" begins with no zero, a date is no
reading), so that any folder of transcribed numbers can be scored.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from companion.language.expectation import Expectation, NumberForm
from companion.runtime import assembly
from tests.benchmarks.common import rounded

MOST_WORDS = 9
STEP = "string"
_SAME = {"oh": "zero", "nought": "zero", "niner": "nine"}
_LEFT_OUT = frozenset({"and", "a", "point", "decimal"})
"""Words of numbers that no string of people here holds; the loop is without them."""


@dataclass(frozen=True)
class LoopAutomaton:
    """Up to so many of these words, one after the other; the state is how many there were."""

    words: tuple[str, ...]
    most_words: int

    def arcs(self, state: int) -> Iterator[tuple[str, int]]:
        """See `WordAutomaton.arcs`."""
        if state < self.most_words:
            yield from ((word, state + 1) for word in self.words)

    def is_end(self, state: int) -> bool:
        """See `WordAutomaton.is_end`."""
        return state > 0


class NumberLoop:
    """A grammar of any row of one to nine number words; the meaning is the row itself.

    "oh", "nought" and "zero" are one word to it, as are "niner" and "nine".
    """

    def __init__(self, words: Iterable[str], most_words: int = MOST_WORDS) -> None:
        self._words = frozenset(words)
        self._most_words = most_words
        self.automaton = LoopAutomaton(tuple(sorted(self._words)), most_words)

    def jsgf(self) -> str:
        """The loop unrolled: JSGF without repetition."""
        row = "<word>"
        for _ in range(self._most_words - 1):
            row = f"<word> [{row}]"
        ways = " | ".join(sorted(self._words))
        return f"#JSGF V1.0;\ngrammar step;\npublic <step> = {row};\n<word> = {ways};\n"

    def phrases(self) -> tuple[str, ...]:
        """Its single words."""
        return tuple(sorted(self._words))

    def words(self) -> frozenset[str]:
        """Its words."""
        return self._words

    def parse(self, text: str) -> tuple[str, ...] | None:
        """The row of words; None where one of them is no number word, or none is there."""
        words = text.split()
        if not 0 < len(words) <= self._most_words or not self._words.issuperset(words):
            return None
        return as_said(words)


def as_said(words: Iterable[str]) -> tuple[str, ...]:
    """The words with one spelling for each that counts the same."""
    return tuple(_SAME.get(word, word) for word in words)


@lru_cache(maxsize=1)
def number_loop() -> NumberLoop:
    """The loop over the packaged grammar's number words."""
    form = Expectation(NumberForm("whole", 6))
    return NumberLoop(assembly.language().for_step(form).words() - _LEFT_OUT)


def is_string(transcript: str) -> bool:
    """Whether it is a row of two number words or more."""
    return len(transcript.split()) > 1 and number_loop().parse(transcript) is not None


def word_errors(said: Sequence[str], heard: Sequence[str]) -> int:
    """The fewest words to put in, leave out or change (Levenshtein 1966)."""
    row = list(range(len(heard) + 1))
    for i, word in enumerate(said, 1):
        before, row[0] = row[0], i
        for j, other in enumerate(heard, 1):
            before, row[j] = (
                row[j],
                min(row[j] + 1, row[j - 1] + 1, before + (word != other)),
            )
    return row[-1]


def word_error_rate(pairs: Iterable[tuple[str, str]]) -> float | None:
    """Errors over words said, of pairs of what was said and what was heard ("": nothing)."""
    errors = words = 0
    for said, heard in pairs:
        row = as_said(said.split())
        errors += word_errors(row, as_said(heard.split()))
        words += len(row)
    return rounded(errors / words) if words else None
