"""What a kind of step lets report and screen show of itself, as plain values.

Report and screen know the facts that all jobs have. What a kind of step writes into the record by
itself (`Entry` facts) it also puts into words; where nobody can, the fact is shown as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Protocol

from companion.facts.kinds import Entry, Fact
from companion.facts.message import Arg


class Say(Protocol):
    """The words of the language that report or screen are in."""

    def __call__(self, id_: str, **args: Arg) -> str:
        """A text of the language's files; a kind of one's own has its words in itself."""
        ...

    def percent(self, probability: float | None) -> str:
        """A probability in percent."""
        ...


@dataclass(frozen=True)
class Table:
    """A part of the report: rows of words under a title. A table without rows is not shown."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    note: str = ""


@dataclass(frozen=True)
class Line:
    """A fact in the report's timeline: what sort it is, what it tells, and more in small print."""

    label: str
    told: str
    detail: str = ""


@dataclass(frozen=True)
class Card:
    """What stands beside the instruction on the screen while such a step is asked."""

    title: str
    lines: tuple[str, ...]


class Shown(Protocol):
    """What report and screen ask of a kind of step; each may have nothing to show."""

    def report(self, facts: Sequence[Fact], say: Say) -> Table | None:
        """What the report shows of all such steps, by the facts of the whole session."""
        ...

    def line(self, fact: Entry, say: Say) -> Line | None:
        """A fact of this kind's own in words; None for a fact that is none of its own."""
        ...

    def card(self, step: Mapping[str, Any]) -> Card | None:
        """What the screen shows while this step, as the job file has it, is asked."""
        ...


Shows = Mapping[str, Shown]
"""The kinds of step that can show something, by the name that a step of the job file has."""

NO_SHOWS: Shows = MappingProxyType({})


def words_for(shows: Shows, fact: Entry, say: Say) -> Line | None:
    """The fact in the words of the kind of step that wrote it; None where none did."""
    lines = (kind.line(fact, say) for kind in shows.values())
    return next((line for line in lines if line is not None), None)
