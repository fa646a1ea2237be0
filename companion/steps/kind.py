"""A whole kind of step: what the job file, the conversation, and those who look on ask of it.

| who asks | where it stands | what a kind tells |
| --- | --- | --- |
| job file | `job/kind.py` | model, what it uses and needs, what goes back where, its checks |
| rehearsal | `job/kind.py` | `readable`, `choices`: what the simulated technician answers |
| conversation | `dialogue/kind.py` | what is asked, what an answer does, when it is done |
| report, screen | here (`facts/shown.py`) | a table, a line of the timeline, a card on the screen |

A fact of a kind's own is an `Entry(kind, body)` of `facts/kinds.py`: the record keeps it as it
keeps any, and an older companion shows it as it is.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from companion.dialogue.kind import DialogueKind
from companion.facts.kinds import Entry, Fact
from companion.facts.shown import Card, Line, Say, Table
from companion.job.kind import S


class Kind(DialogueKind[S]):
    """One kind of step. A folder of `companion/steps`, or of one's own, has one as `KIND`."""

    def report(self, facts: Sequence[Fact], say: Say) -> Table | None:
        """What the report shows of all such steps, by the facts of the whole session."""
        return None

    def line(self, fact: Entry, say: Say) -> Line | None:
        """A fact of this kind's own in words; None for a fact that is none of its own."""
        return None

    def card(self, step: Mapping[str, Any]) -> Card | None:
        """What the screen shows while this step, as the job file has it, is asked."""
        return None
