"""Which reading is behind it when results do not fit: it is named, and it alone is read again."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from companion.calibration.misreading import misread_level, reading_slips
from companion.calibration.suspects import Suspect, suspects, suspects_together
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import State, Task
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import as_measured, grounds, number
from companion.facts import workings as facts
from companion.facts.message import Told
from companion.steps.reading.model import Reading
from companion.steps.reading.values import reading_u
from companion.steps.shared import advice
from companion.steps.shared.causes import EchoLevels
from companion.steps.shared.causes import Suspect as Cause
from companion.uncertainty.measured import Measured

# So much of the blame, in percent, is looked into at once, but never more than two causes.
ENOUGH_BLAME, MOST_AT_ONCE = 60.0, 2


def ask_the_likeliest(
    tx: Transaction,
    step_id: str,
    found: tuple[Suspect, ...],
    causes: dict[str, tuple[str, ...]],
    again: Retry,
    before: Told = "",
    at: str | None = None,
) -> None:
    """Read again what is most likely wrong and was not yet looked into, else all of it.

    Causes that cost more steps to look into wait a little: the chance counts most, though.
    `before`: what has to be done first when something is read out of its order; `at`: whose task
    that is, where it is another step's.
    """
    looked_into = tx.state.suspected.get(step_id, frozenset())
    left = [suspect for suspect in found if suspect.cause not in looked_into]
    left.sort(key=lambda suspect: -suspect.percent / math.sqrt(len(causes[suspect.cause])))
    blame = math.fsum(suspect.percent for suspect in left)
    chosen: list[Suspect] = []
    for suspect in left[:MOST_AT_ONCE]:
        if math.fsum(s.percent for s in chosen) < ENOUGH_BLAME / 100.0 * blame:
            chosen.append(suspect)
    names = [suspect.cause for suspect in chosen]
    told = tuple(facts.Suspect(s.cause, s.percent, s.error) for s in found)
    tx.record(facts.Suspected(step_id, told, tuple(names), grounds("suspects")))
    if not chosen:
        tx.change(suspected={**tx.state.suspected, step_id: frozenset()})
        retry(tx, step_id, again)
        return
    tx.change(suspected={**tx.state.suspected, step_id: looked_into | set(names)})
    steps = tuple(step for name in names for step in causes[name])
    wrong = again.say if again.wrong is None else again.wrong
    narrowed = replace(again, say=advice.suspected(wrong, names), steps=steps, wait=False)
    if not before:
        retry(tx, step_id, narrowed)
        return
    tx.announce(narrowed.say, "explain")
    retry(tx, step_id, narrowed, (Task(at or step_id, before),))


def ask_misread_level(
    tx: Transaction, step_id: str, echo: EchoLevels, again: Retry, at: str | None = None
) -> None:
    """Read the level again that fits the others worst; if they still misfit, all of them."""
    state = tx.state
    found = None if step_id in state.suspected else misread_levels(state, echo)
    if found is not None:
        ask_the_likeliest(tx, step_id, *found, again, echo.before, at)
        return
    tx.change(suspected=cleared(state, step_id))
    tx.announce(again.say, "explain")
    retry(tx, step_id, again, (Task(at or step_id, echo.before),))


@dataclass(frozen=True)
class Off:
    """How far a result is from where it belongs; `slack`: how far it may truly be (one sigma)."""

    value: Measured
    slack: float


def suspects_of(
    state: State, off: Sequence[Off], causes: tuple[Cause, ...]
) -> tuple[tuple[Suspect, ...], dict[str, tuple[str, ...]]]:
    """The causes, the likeliest first, and the steps of each; those that cannot matter left out.

    Several results tell apart what one alone cannot: each reading bends them in its own way.
    """
    parts = [dict(one.value.contributions) for one in off]
    behind: dict[str, list[str]] = {}
    likely: dict[str, float] = {}
    sensitivity: dict[str, tuple[float, ...]] = {}
    slips: dict[str, list[tuple[float, ...]]] = {}
    steps: dict[str, tuple[str, ...]] = {}
    for cause in causes:
        for reading_id in cause.readings:
            if reading_id not in state.readings:
                continue
            taken, step = state.readings[reading_id], state.plan.step(reading_id)
            if not isinstance(step, Reading):
                continue
            lines = [line for line in as_measured(reading_id, taken).contributions if line[1] > 0.0]
            slopes = tuple(
                max((of.get(line, 0.0) / own for line, own in lines), key=abs, default=0.0)
                for of in parts
            )
            if not any(slopes):
                continue
            behind.setdefault(cause.name, []).extend(line for line, _ in lines)
            likely[cause.name] = cause.likely_error
            # Of several readings the one that matters most stands for all of them.
            known = sensitivity.get(cause.name, (0.0,) * len(off))
            sensitivity[cause.name] = max(known, slopes, key=lambda each: math.hypot(*each))
            slips.setdefault(cause.name, []).extend(
                tuple(slope * error for slope in slopes)
                for error in reading_slips(
                    float(taken.value), step.resolution, bool(step.number.directions)
                )
            )
            steps[cause.name] = (*cause.also, *cause.readings)
    if len(off) > 1:
        results, slack = [one.value for one in off], [one.slack for one in off]
        return suspects_together(results, slack, likely, sensitivity, slips), steps
    only = {cause: slopes[0] for cause, slopes in sensitivity.items()}
    particular = {cause: [slip[0] for slip in each] for cause, each in slips.items()}
    return suspects(off[0].value, behind, likely, only, particular), steps


def misread_levels(
    state: State, echo: EchoLevels
) -> tuple[tuple[Suspect, ...], dict[str, tuple[str, ...]]] | None:
    """The level that fits the others worst; None while not all of them are there."""
    step = state.plan.step(echo.levels[0].reading)
    missing = any(level.reading not in state.readings for level in echo.levels)
    if missing or not isinstance(step, Reading):
        return None
    found = misread_level(
        {
            level.name: (number(state, level.lean), number(state, level.swing))
            for level in echo.levels
        },
        {level.name: float(state.readings[level.reading].value) for level in echo.levels},
        number(state, echo.beam_width_lean),
        number(state, echo.beam_width_swing),
        reading_u(step),
        step.resolution,
    )
    return found, {level.name: (level.reading,) for level in echo.levels}


def cleared(state: State, step_id: str) -> dict[str, frozenset[str]]:
    """What was suspected, but for this step: its results fit now."""
    return {key: names for key, names in state.suspected.items() if key != step_id}
