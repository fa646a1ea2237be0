"""The sets that a verdict has seen, as the conversation's state keeps them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.steps.verdict.model import Verdict
from companion.uncertainty.measured import Measured
from companion.uncertainty.several import Row

KEPT_AS = "verdict"


@dataclass(frozen=True)
class Looks:
    """The sets that count in this place, and how many were looked at.

    `place`: how often each of the steps that move it has moved it. `sent_back`: the results that
    could not be called inside here, each with its mean, for what moves them.
    """

    place: tuple[int, ...]
    sets: tuple[Row, ...] = ()
    looks: int = 0
    sent_back: tuple[tuple[str, Measured], ...] = ()


def place_of(state: State, step: Verdict) -> tuple[int, ...]:
    """Where what is judged stands now, as `Looks.place` has it."""
    return tuple(state.rounds.get(moved, 0) for moved in step.moved_by)


def to_put_right(state: State, verdict_id: str | None) -> Mapping[str, Measured]:
    """The results that the verdict has sent back and that were not moved since, by their means."""
    step = state.plan.step(verdict_id) if verdict_id is not None else None
    if not isinstance(step, Verdict):
        return {}
    seen = looks_of(state, step.id)
    return dict(seen.sent_back) if seen and seen.place == place_of(state, step) else {}


def looks_of(state: State, step_id: str) -> Looks | None:
    """What the step has seen; None before its first look."""
    kept = state.kept.get(KEPT_AS, {})
    found = kept.get(step_id) if isinstance(kept, Mapping) else None
    return found if isinstance(found, Looks) else None


def keep(tx: Transaction, step_id: str, looks: Looks | None) -> None:
    """The sets as they count from here on; None: as if nothing had been looked at."""
    kept = tx.state.kept.get(KEPT_AS, {})
    others = dict(kept) if isinstance(kept, Mapping) else {}
    others.pop(step_id, None)
    seen = {**others, step_id: looks} if looks is not None else others
    tx.change(kept={**tx.state.kept, KEPT_AS: seen})
