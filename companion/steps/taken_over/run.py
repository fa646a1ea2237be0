"""Puts into the state what still holds, and takes it out again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal, InvalidOperation

from companion.dialogue.progress import mark_stale
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.facts.message import Amount, Message, Told, in_a_row
from companion.facts.taking_over import StillTrue, TakenOver
from companion.steps.reading.model import Reading
from companion.steps.reading.values import as_taken
from companion.steps.taken_over.model import TakingOver
from companion.steps.visit_end.run import told_of
from companion.uncertainty.measured import Measured

KEPT = "still_true"
"""Where a state keeps what earlier jobs found and still holds."""


def offered(state: State) -> tuple[StillTrue, ...]:
    """What earlier jobs found and still holds; nothing where the job was begun without."""
    found = state.kept.get(KEPT, ())
    return found if isinstance(found, tuple) else ()


def asks_of_the_car(state: State) -> bool:
    """Whether any of it only holds while the car stands as it did."""
    return any(one.scope == "car" for one in offered(state))


def told(found: Iterable[StillTrue]) -> Told:
    """The stages that are saved, by the day that they are from."""
    by_day: dict[int, dict[str, None]] = {}
    for one in found:
        by_day.setdefault(one.days_ago, {})[one.stage] = None
    return in_a_row(
        *(
            Message("taken-over", {"days": days, "stages": tuple(stages)})
            for days, stages in sorted(by_day.items())
        )
    )


def undone(state: State) -> Told:
    """What earlier jobs of the visit left to its end: lasers may be on, and nobody looked since."""
    known = told_of(state)
    left = known.left if known is not None else ()
    return Message("left-undone", {"left": left}) if left else ""


def take_over(tx: Transaction, step: TakingOver, *, moved: bool) -> None:
    """From here on it counts as if it had been found in this job. `moved`: the car's does not."""
    state = tx.state
    taken = [one for one in offered(state) if not (moved and one.scope == "car")]
    for one in taken:
        state = _with(state, one)
    tx.state = replace(state, done=state.done | {step.id})
    steps = tuple(dict.fromkeys(one.step_id for one in taken))
    all_steps = dict.fromkeys(one.step_id for one in offered(state))
    tx.record(
        TakenOver(
            step_id=step.id,
            steps=steps,
            left=tuple(name for name in all_steps if name not in steps),
            stages=tuple(dict.fromkeys(one.stage for one in taken)),
        )
    )


def give_back(tx: Transaction, why: Told) -> None:
    """None of it counts any more."""
    mark_stale(tx, {one.step_id for one in offered(tx.state)}, why, by_technician=True)


def _with(state: State, one: StillTrue) -> State:
    """The state with one of the things that still hold."""
    match one.what:
        case "reading":
            return _with_reading(state, one)
        case "answer":
            return replace(state, answers={**state.answers, one.step_id: one.value})
        case "done":
            return replace(state, done=state.done | {one.value or one.step_id})
        case "result" | "correction" if one.figure is not None:
            result = Measured(one.figure, tuple((part.name, part.adds) for part in one.parts))
            return replace(
                state,
                results={**state.results, one.result: result},
                done=state.done | {one.step_id},
            )
        case _:
            return state


def _with_reading(state: State, one: StillTrue) -> State:
    step = next((s for s in state.plan.steps if s.id == one.step_id), None)
    if not isinstance(step, Reading):
        return state
    try:
        value = Decimal(one.value)
    except InvalidOperation:
        return state
    taken = as_taken(step, value, Amount(abs(value), one.unit, one.direction), one.take)
    return replace(
        state,
        readings={**state.readings, step.id: taken},
        takes={**state.takes, step.id: max(one.take, state.takes.get(step.id, 0))},
        last_values={**state.last_values, step.id: taken},
    )
