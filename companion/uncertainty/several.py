"""Several results that have to be inside together: by sets that agree, at the look that it is.

Each result keeps its own limits. That all are inside has at least the probability one less the sum
of what each misses (Boole's inequality), however they are correlated. The stated risk is spent over
the largest number of looks (`sequential.py`), as for the aim.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from companion.errors import MeasureError
from companion.uncertainty.agreement import REFUSED_BELOW, Scatter, held_against
from companion.uncertainty.conformity import probability_inside
from companion.uncertainty.measured import Measured
from companion.uncertainty.sequential import look_at
from companion.uncertainty.sets import combined
from companion.uncertainty.taking import own_to_a_take, widened

Answer = Literal["inside", "outside", "too_close", "refused"]
Row = tuple[Measured, ...]
"""One set: every result once."""

# Keeps sets of readings without doubt comparable, in the result's unit.
_LEAST_U = 1e-6


@dataclass(frozen=True)
class Several:
    """What the sets say at this look.

    `means`: of the sets, their scatter widened where they scatter more than entered.
    `probabilities`: of each result alone; `together`: a lower bound for all of them. `disagrees`:
    the result whose sets lie furthest apart, where they are refused.
    """

    answer: Answer
    means: Row
    probabilities: tuple[float, ...]
    together: float
    level: float
    disagrees: int | None = None


def judge_several(
    sets: Sequence[Row],
    limits: Sequence[tuple[float, float]],
    confidence: float,
    look: int,
    most_looks: int,
) -> Several:
    """Inside, outside or too close at look number `look` (from 1); refused where sets contradict.

    `limits`: the lower and upper one of each result, in its unit. `look` counts every set that was
    measured in this place, those that no longer count as well. Raises MeasureError for no set, or
    sets that are not as long as the limits.
    """
    if not sets or any(len(row) != len(limits) for row in sets):
        raise MeasureError(
            f"sets: found {len(sets)} of {sorted({len(row) for row in sets})} results with "
            f"{len(limits)} limits; wanted: one set or more, a result for each limit"
        )
    means: list[Measured] = []
    levels: list[float] = []
    probabilities: list[float] = []
    unlikely: list[tuple[float, int]] = []
    for place, (low, high) in enumerate(limits):
        column = [row[place] for row in sets]
        agreement = held_against(_between(column), REFUSED_BELOW / len(limits))
        if agreement.answer == "refused":
            unlikely.append((agreement.probability, place))
        so_far = [widened(_mean(column[: n + 1]), agreement.factor) for n in range(len(column))]
        means.append(so_far[-1])
        probabilities.append(probability_inside(so_far[-1].value, so_far[-1].u, low, high))
        doubts = [value.u for value in so_far][-look:]
        doubts = doubts[:1] * (look - len(doubts)) + doubts
        levels.append(look_at(confidence, look, most_looks, doubts).level)
    together = max(0.0, 1.0 - sum(1.0 - p for p in probabilities))
    level = max(levels)
    answer: Answer = "too_close"
    if unlikely:
        answer = "refused"
    elif together >= level:
        answer = "inside"
    elif min(probabilities) <= 1.0 - confidence:
        answer = "outside"
    disagrees = min(unlikely)[1] if unlikely else None
    return Several(answer, tuple(means), tuple(probabilities), together, level, disagrees)


def _mean(values: Sequence[Measured]) -> Measured:
    return combined([1.0 / len(values)] * len(values), values)


def _between(values: Sequence[Measured]) -> Scatter:
    """Chi-square of one result's sets about their mean, in what differs from set to set."""
    middle = sum(value.value for value in values) / len(values)
    own = [
        sum(part**2 for name, part in value.contributions if own_to_a_take(name))
        for value in values
    ]
    variance = max(sum(own) / len(own), _LEAST_U**2)
    total = sum((value.value - middle) ** 2 for value in values) / variance
    return Scatter(total, len(values) - 1)
