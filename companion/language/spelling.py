"""Letters and digits spelled aloud in the international spelling alphabet: alfa, bravo, charlie.

Its words are those of the ICAO (Annex 10, volume II, chapter 5) and the ITU (Radio Regulations,
appendix 14), which people of any language say nearly alike; the digits are the language's own.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

Command = Literal["go_back", "repeat", "stop"]
COMMANDS: tuple[Command, ...] = ("go_back", "repeat", "stop")
MOST_AT_A_TIME = 4
"""So many signs are said in one breath: what people keep in mind, and ears tell apart."""

MOST_TYPED = 40


@dataclass(frozen=True, slots=True)
class Spelt:
    """Capital letters and digits, as they were spelled."""

    signs: str


@dataclass(frozen=True, slots=True)
class SpellingEnds:
    """There is no sign more."""


@dataclass(frozen=True, slots=True)
class SpellingCommand:
    """Take the last signs back, say it again, or stop."""

    name: Command


Spelling = Spelt | SpellingEnds | SpellingCommand


@dataclass(frozen=True)
class Alphabet:
    """The words of each sign, the one that is said first; `without`: those that ears do not know.

    A sign that no word is left for cannot be heard.
    """

    words: Mapping[str, tuple[str, ...]]

    def without(self, lacking: frozenset[str]) -> Alphabet:
        """The alphabet as far as these words are not needed."""
        return Alphabet(
            {
                sign: tuple(w for w in words if w not in lacking)
                for sign, words in self.words.items()
            }
        )

    @property
    def unheard(self) -> tuple[str, ...]:
        """The signs that have no word left."""
        return tuple(sign for sign, words in self.words.items() if not words)

    @cached_property
    def signs(self) -> Mapping[str, str]:
        """The sign of each word."""
        return {word: sign for sign, words in self.words.items() for word in words}

    def aloud(self, signs: str) -> str:
        """The signs as they are said back, with a pause between."""
        return ", ".join(self.words[sign][0] for sign in signs)


class SpelledGrammar:
    """What may be said where something is spelled (`recognition.port.StepGrammarLike`).

    `least` to `most` signs, or a command; with `end` also that there is no sign more: that and the
    commands in the language's own phrases. Where it is known how many signs come, `least` and
    `most` are the same, so that ears cannot make one word of two, or two of one. `denied`: signs
    that were said no to just now, and so are not what is said again.
    """

    def __init__(
        self,
        alphabet: Alphabet,
        least: int,
        most: int,
        commands: Mapping[Command, str],
        end: str,
        denied: frozenset[str] = frozenset(),
    ) -> None:
        self.alphabet = alphabet
        self.most = most
        self._denied = denied
        self._least, self._most = least, most
        self._said: dict[str, Spelling] = {p: SpellingCommand(n) for n, p in commands.items()}
        if end:
            self._said[end] = SpellingEnds()

    @property
    def automaton(self) -> SpelledGrammar:
        """The machine of words: this."""
        return self

    def arcs(self, state: int) -> Iterator[tuple[str, int]]:
        """State n: n signs were said; behind them, the words of the commands."""
        if 0 <= state < self._most:
            for word in self.alphabet.signs:
                yield word, state + 1
        for number, phrase in enumerate(self._said):
            words, begins = phrase.split(), self._begin(number)
            if state == 0:
                yield words[0], begins
            elif begins <= state < begins + len(words) - 1:
                yield words[state - begins + 1], state + 1

    def is_end(self, state: int) -> bool:
        """Whether it may end here."""
        if self._least <= state <= self._most:
            return True
        ends = (self._begin(n) + len(p.split()) - 1 for n, p in enumerate(self._said))
        return state in ends

    def _begin(self, number: int) -> int:
        before = list(self._said)[:number]
        return self._most + 1 + sum(len(phrase.split()) for phrase in before)

    def jsgf(self) -> str:
        """See `StepGrammarLike.jsgf`."""
        more = self._most - self._least
        signs = " ".join(["<sign>"] * self._least + ["[<sign>"] * more) + "]" * more
        return (
            "#JSGF V1.0;\ngrammar spelled;\n"
            f"<sign> = {' | '.join(self.alphabet.signs)};\n"
            f"public <spelled> = {signs} | {' | '.join(self._said)};\n"
        )

    def phrases(self) -> tuple[str, ...]:
        """See `StepGrammarLike.phrases`."""
        return (*self._said, *self.alphabet.signs)

    def words(self) -> frozenset[str]:
        """See `StepGrammarLike.words`."""
        return frozenset(self.alphabet.signs).union(*(p.split() for p in self._said))

    def parse(self, text: str) -> Spelling | None:
        """What the words mean; None where they are not all of the alphabet."""
        words = text.lower().split()
        if found := self._said.get(" ".join(words)):
            return found
        signs = [self.alphabet.signs.get(word, "") for word in words]
        # More than is asked for at a time was typed or scanned: the grammar has it nowhere.
        fits = self._least <= len(signs) <= MOST_TYPED and all(signs)
        spelt = "".join(signs)
        return Spelt(spelt) if fits and spelt not in self._denied else None

    def typed(self, text: str) -> str:
        """What was typed, as words: letters and digits by their words, words as they are."""
        plain = " ".join(text.lower().split())
        if self.parse(plain) is not None:
            return plain
        said: list[str] = []
        for piece in text.replace("-", " ").split():
            signs = piece.upper()
            if piece.lower() not in self.alphabet.signs and all(
                self.alphabet.words.get(sign) for sign in signs
            ):
                said += [self.alphabet.words[sign][0] for sign in signs]
            else:
                said.append(piece.lower())
        return " ".join(said)
