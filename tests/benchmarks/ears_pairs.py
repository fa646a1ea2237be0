"""Words that sound alike, two by two: how often each is taken for the other.

Of a pair, a word that no prompt takes ("less", "tree") must never be taken for its neighbour.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from companion.language.grammar import StepGrammar
from tests.benchmarks.common import Results, rounded

TEENS = tuple(
    (f"{start}teen", "forty" if start == "four" else f"{start}ty")
    for start in ("thir", "four", "fif", "six", "seven", "eigh", "nine")
)


@dataclass(frozen=True)
class Pair:
    """Two things to say that sound alike, at one of the prompts of the trials."""

    step: str
    one: str
    other: str

    @property
    def name(self) -> str:
        """How the pair is called in the figures."""
        return f"{self.one} / {self.other}"

    def neighbour(self, said: str) -> str:
        """What this one of the pair may be taken for."""
        return self.other if said == self.one else self.one


BESIDE_TEENS = (
    Pair("digit", "five", "nine"),
    Pair("digit", "zero", "three"),
    Pair("digit", "six", "eight"),
    Pair("digit", "three", "tree"),
    Pair("directed", "one five left", "one five less"),
    Pair("doing", "done", "stop"),
    Pair("confirm", "no", "nine"),
)
"""Said for the kind "pairs"; the teens are said for a kind of their own."""
PAIRS = (*(Pair("number", *teen) for teen in TEENS), *BESIDE_TEENS)


def sayings() -> Iterator[tuple[str, str]]:
    """Prompt and words of all that is said for the kind "pairs", each once."""
    yield from dict.fromkeys(
        (pair.step, words) for pair in BESIDE_TEENS for words in (pair.one, pair.other)
    )


def by_pair(
    answers: Sequence[Any], levels: Sequence[str], prompts: Mapping[str, StepGrammar]
) -> Results:
    """For each pair and level: right, refused, taken for the other, for something else, n.

    Of a word that the prompt does not know, refused is right.
    """
    told: Results = {}
    for pair in PAIRS:
        grammar = prompts[pair.step]
        of_pair = [a for a in answers if a.step == pair.step and a.said in (pair.one, pair.other)]
        told[pair.name] = {
            level: _cell(pair, grammar, [a for a in of_pair if a.level == level])
            for level in levels
        }
    return told


def _cell(pair: Pair, grammar: StepGrammar, answers: Sequence[Any]) -> Results:
    counts = {"right": 0, "refused": 0, "taken_for_other": 0, "wrong_otherwise": 0}
    for answer in answers:
        counts[_outcome(pair, grammar, answer)] += 1
    n = len(answers)
    share = counts["taken_for_other"] / n if n else None
    return {**counts, "n": n, "share_taken_for_other": rounded(share)}


def _outcome(pair: Pair, grammar: StepGrammar, answer: Any) -> str:
    if answer.result == "refused":
        return "refused" if grammar.parse(answer.said) is not None else "right"
    if answer.result == "right":
        return "right"
    other = grammar.parse(pair.neighbour(answer.said))
    same = other is not None and grammar.parse(answer.words) == other
    return "taken_for_other" if same else "wrong_otherwise"
