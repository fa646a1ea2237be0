"""What the levels of the sets tell of their own noise, for the entered doubt to be held against."""

from __future__ import annotations

import math
from dataclasses import replace

from companion.dialogue.state import State, TakenReading
from companion.steps.aim.model import AimDecision, Noise
from companion.steps.aim.state import AimRound
from companion.steps.reading.model import Reading
from companion.steps.shared.rests_on import ROUNDS, rests_on, scale_of
from companion.uncertainty.agreement import NO_SCATTER, Scatter
from companion.uncertainty.measured import Measured, resolution_u
from companion.uncertainty.repeats import AlwaysZero, scatter_of_levels
from companion.uncertainty.sets import Redundancy


def levels_now(state: State, step: AimDecision) -> tuple[float, ...]:
    """The levels of the newest set; none where this job's route has none."""
    taken = _taken(state, step)
    return tuple(float(reading.value) for reading in taken)


def misfits_now(state: State, step: AimDecision) -> tuple[Measured, ...]:
    """What no parabola explains in the newest set; none where this job's route has none."""
    if step.noise is None or any(name not in state.results for name in step.noise.misfits):
        return ()
    return tuple(state.results[name] for name in step.noise.misfits)


def widths_now(state: State, step: AimDecision) -> tuple[Measured, ...]:
    """The beam's widths by the newest set; none where this job's route has none."""
    if step.noise is None or any(name not in state.results for name in step.noise.widths):
        return ()
    return tuple(state.results[name] for name in step.noise.widths)


def redundancy_of(state: State, step: AimDecision, aim: AimRound) -> Redundancy:
    """What this job has to check its own doubts by."""
    misfits, names = misfits_so_far(aim), () if step.noise is None else step.noise.levels
    if aim.short is not None:
        # Levels that only widths come from are not those of this set.
        return Redundancy(
            (*misfits, *((left,) for left in aim.short.left_over)),
            aim.short.takes,
            rests_on(state),
        )
    return Redundancy(misfits, names, rests_on(state))


def misfits_so_far(aim: AimRound) -> tuple[tuple[Measured, ...], ...]:
    """Each misfit's takes, one a set."""
    return tuple(zip(*aim.misfits, strict=True))


def degrees_of_freedom(state: State, aim: AimRound) -> dict[str, float]:
    """By budget line: one less than the trial readings that its doubt is the scatter of.

    Lines whose doubt nobody has said to rest on repeats are left out: known for certain.
    """
    stand = state.plan.files.bay.stand
    repeats = {f"bay.stand.{name}": count for name, count in stand.repeats_of().items()}
    for step in state.plan.steps:
        if isinstance(step, Reading) and step.from_repeats is not None:
            repeats[step.id] = step.from_repeats
    if not repeats:
        return {}
    found: dict[str, float] = {}
    for line in {line for pair in aim.sets for axis in pair for line, _ in axis.contributions}:
        head, mark, source = line.partition(": ")
        count = repeats.get(source if mark else scale_of(head))
        if count is not None and ROUNDS not in line:
            found[line] = count - 1.0
    return found


def scatter_seen(state: State, step: AimDecision, aim: AimRound) -> Scatter:
    """Chi-square of all levels that should be alike, in their entered scatter."""
    taken = _taken(state, step)
    if not taken and aim.short is not None:
        # A short set takes some of them: how they scatter was seen by those before.
        taken = _taken(replace(state, readings=state.last_values), step)
    if step.noise is None or not taken:
        return NO_SCATTER
    u_level = max(_u_of_a_take(reading) for reading in taken)
    if u_level == 0.0:
        return NO_SCATTER
    names = step.noise.levels
    return scatter_of_levels(
        aim.levels,
        u_level,
        [
            AlwaysZero(_weights(names, dict(zip(pair, (1.0, -1.0), strict=True))))
            for pair in step.noise.same_place
        ],
        [
            _weights(names, dict(zip(bend, (1.0, -2.0, 1.0), strict=True)))
            for bend in step.noise.bends
        ],
    )


def _taken(state: State, step: AimDecision) -> list[TakenReading]:
    noise: Noise | None = step.noise
    if noise is None or any(name not in state.readings for name in noise.levels):
        return []
    return [state.readings[name] for name in noise.levels]


def _u_of_a_take(reading: TakenReading) -> float:
    """What two takes may differ by: all of the doubt where nobody has said what scatters."""
    rounding = resolution_u(reading.resolution)
    rest = math.sqrt(max(0.0, reading.u**2 - rounding**2))
    return math.hypot(rounding, rest if reading.scatters is None else reading.scatters)


def _weights(names: tuple[str, ...], given: dict[str, float]) -> tuple[float, ...]:
    return tuple(given.get(name, 0.0) for name in names)
