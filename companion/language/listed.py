"""One of a list that is shown with numbers: told by its number, its name, or how that is spelled.

The number always does. A name does where the ears know its words, and in the spelling alphabet the
first signs of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import product
from typing import TYPE_CHECKING

from companion.facts.meanings import Meaning, Number
from companion.language.spelling import MOST_AT_A_TIME, Alphabet
from companion.language.vocabulary import is_word

if TYPE_CHECKING:
    from companion.language.grammar import StepGrammar

Lacking = Callable[[frozenset[str]], frozenset[str]]
"""Of these words those that the ears could never hear."""


@dataclass(frozen=True, slots=True)
class Listed:
    """The places in the list, from 1, that it may be; none for a number that is not in it."""

    places: tuple[int, ...]


@dataclass
class _Node:
    onward: dict[str, int] = field(default_factory=dict)
    is_end: bool = False


class ListedGrammar:
    """What may be said where one of a list is chosen (`recognition.port.StepGrammarLike`).

    `numbers`: the grammar of the numbers and of the commands. `phrases`: what else may be said,
    with the places that it means. Typed, a name does as it is written.
    """

    def __init__(
        self,
        numbers: StepGrammar,
        phrases: Mapping[str, tuple[int, ...]],
        names: Sequence[tuple[str, ...]],
        number_words: Sequence[str],
    ) -> None:
        self._numbers = numbers
        self._said = dict(phrases)
        self._names = names
        self._number_words = number_words
        self._nodes = [_Node()]
        for phrase in phrases:
            here = 0
            for word in phrase.split():
                if word not in self._nodes[here].onward:
                    self._nodes.append(_Node())
                    self._nodes[here].onward[word] = len(self._nodes) - 1
                here = self._nodes[here].onward[word]
            self._nodes[here].is_end = True

    @property
    def automaton(self) -> ListedGrammar:
        """The machine of words: this."""
        return self

    def arcs(self, state: int) -> Iterator[tuple[str, int]]:
        """States below 0 stand behind words of `phrases`, the others are those of the numbers."""
        if state >= 0:
            yield from self._numbers.automaton.arcs(state)
        if state <= 0:
            for word, after in self._nodes[-state].onward.items():
                yield word, -after

    def is_end(self, state: int) -> bool:
        """Whether it may end here."""
        return self._nodes[-state].is_end if state < 0 else self._numbers.automaton.is_end(state)

    def jsgf(self) -> str:
        """See `StepGrammarLike.jsgf`."""
        numbers = self._numbers.jsgf().replace("public <step>", "<step>", 1)
        return f"{numbers}public <listed> = {' | '.join(('<step>', *self._said))};\n"

    def phrases(self) -> tuple[str, ...]:
        """See `StepGrammarLike.phrases`."""
        return (*self._said, *self._numbers.phrases())

    def words(self) -> frozenset[str]:
        """See `StepGrammarLike.words`."""
        return self._numbers.words().union(*(phrase.split() for phrase in self._said))

    def parse(self, text: str) -> Listed | Meaning | None:
        """What the words mean: a place of the list, or a command."""
        words = " ".join(text.lower().split())
        if words in self._said:
            return Listed(self._said[words])
        meaning = self._numbers.parse(words)
        if isinstance(meaning, Number):
            inside = 1 <= meaning.value <= len(self._names)
            return Listed((int(meaning.value),) if inside else ())
        return meaning

    def typed(self, text: str) -> str:
        """What was typed, as words: a name, or the beginning of one, by the number of its place."""
        wanted = _plain(text)
        if wanted.isdecimal() and 1 <= int(wanted) <= len(self._names):
            return self._number_words[int(wanted) - 1]
        whole = self._places(lambda name: name == wanted)
        begun = self._places(lambda name: bool(wanted) and name.startswith(wanted))
        found = whole if len(whole) == 1 else begun
        if len(found) == 1 and self.parse(text) is None:
            return self._number_words[found[0]]
        return " ".join(text.lower().split())

    def _places(self, fits: Callable[[str], bool]) -> list[int]:
        return [n for n, names in enumerate(self._names) if any(map(fits, map(_plain, names)))]


def phrases_of(
    names: Sequence[tuple[str, ...]],
    numbers: StepGrammar,
    number_words: Sequence[str],
    before_a_number: Sequence[str],
    alphabet: Alphabet,
    lacking: Lacking,
) -> dict[str, tuple[int, ...]]:
    """What may be said beside a number alone, as far as the ears know the words.

    A phrase that means something else already is left out.
    """
    found: dict[str, list[int]] = {}
    for place, told in enumerate(names, start=1):
        ways = [" ".join(_words(name)) for name in told]
        ways += [f"{word} {number_words[place - 1]}" for word in before_a_number]
        ways += [way for name in told for way in _spelled(_plain(name).upper(), alphabet)]
        for way in dict.fromkeys(ways):
            found.setdefault(way, []).append(place)
    unknown = lacking(frozenset(word for way in found for word in way.split()))
    return {
        way: tuple(places)
        for way, places in found.items()
        if way and unknown.isdisjoint(way.split()) and numbers.parse(way) is None
    }


def _words(name: str) -> list[str]:
    """The words of a name; none where it holds more than words."""
    words = name.casefold().replace("-", " ").replace("_", " ").split()
    return words if all(map(is_word, words)) else []


def _spelled(signs: str, alphabet: Alphabet) -> Iterator[str]:
    """The first signs of a name; one that begins with a digit would be taken for a number."""
    if not signs[:1].isalpha():
        return
    for most in range(1, min(len(signs), MOST_AT_A_TIME) + 1):
        words = [alphabet.words.get(sign, ()) for sign in signs[:most]]
        yield from map(" ".join, product(*words))


def _plain(text: str) -> str:
    return "".join(sign for sign in text.casefold() if sign.isalnum())
