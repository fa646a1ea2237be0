"""Could a decision be passed at all, with the uncertainty that its result has when all is right?"""

from __future__ import annotations

from collections.abc import Iterator

from companion.dialogue.kind import Infeasible
from companion.dialogue.state import State
from companion.dialogue.values import measured_value, reading_name
from companion.uncertainty.conformity import best_possible_probability
from companion.uncertainty.measured import Measured


def infeasible(
    state: State,
    named: tuple[str, str, str],
    half_width: float,
    level: float,
    again: frozenset[str] = frozenset(),
    sets: int = 1,
) -> Iterator[Infeasible]:
    """The decision, if nothing could pass it. `named`: its step, its title and its result.

    `again`: readings that are taken in up to so many `sets` and averaged. A result that the
    supposed readings do not lead to is not judged.
    """
    step_id, title, result = named
    try:
        value = _averaged(measured_value(state, result), again, sets)
    except KeyError:
        return
    best = best_possible_probability(value.u, -half_width, half_width)
    if best < level:
        yield Infeasible(step_id, title, result, value, half_width, level, best)


def _averaged(value: Measured, again: frozenset[str], sets: int) -> Measured:
    """The uncertainty of a mean over so many sets of the readings that are taken again."""
    names = {reading_name(reading, 1) for reading in again}
    return Measured(
        value.value,
        tuple(
            (name, part / sets**0.5 if name in names else part)
            for name, part in value.contributions
        ),
    )
