"""The sets that a verdict has seen, as the conversation's state keeps them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.uncertainty.several import Row

KEPT_AS = "verdict"


@dataclass(frozen=True)
class Looks:
    """The sets that count in this place, and how many were looked at.

    `place`: how often each of the steps that move it has moved it.
    """

    place: tuple[int, ...]
    sets: tuple[Row, ...] = ()
    looks: int = 0


def looks_of(state: State, step_id: str) -> Looks | None:
    """What the step has seen; None before its first look."""
    kept = state.kept.get(KEPT_AS, {})
    found = kept.get(step_id) if isinstance(kept, Mapping) else None
    return found if isinstance(found, Looks) else None


def keep(tx: Transaction, step_id: str, looks: Looks | None) -> None:
    """The sets as they count from here on; None: as if nothing had been looked at."""
    kept = tx.state.kept.get(KEPT_AS, {})
    before = kept if isinstance(kept, Mapping) else {}
    others = {name: seen for name, seen in before.items() if name != step_id}
    seen = {**others, step_id: looks} if looks is not None else others
    tx.change(kept={**tx.state.kept, KEPT_AS: seen})
