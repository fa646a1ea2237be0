"""Several results that have to be inside together: by sets that agree, at the look that it is.

Each result keeps its own limits. That all are inside has at least the probability one less the sum
of what each misses (Boole's inequality), however they are correlated. The stated risk is spent over
the largest number of looks (`sequential.py`), as for the aim; and as there "inside" has to bear any
one doubt that nothing checks being too small (`unchecked.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from companion.errors import MeasureError
from companion.uncertainty.agreement import REFUSED_BELOW, Scatter, held_against
from companion.uncertainty.conformity import probability_inside
from companion.uncertainty.measured import Measured
from companion.uncertainty.redundancy import GroupOf
from companion.uncertainty.sequential import levels_at, look_at
from companion.uncertainty.sets import combined
from companion.uncertainty.taking import averages_away, own_to_a_take, widened
from companion.uncertainty.unchecked import u_if_wrong, variances_of

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
    the result whose sets lie furthest apart, where they are refused. `not_inside`: the results that
    keep all of it from being inside. `wrong`: of the doubts that
    nothing checks the one that, were it `WRONG_BY` times as large, would leave some result least;
    `probability_if_wrong` is what it leaves that, and `level_if_wrong` what it has to reach.
    """

    answer: Answer
    means: Row
    probabilities: tuple[float, ...]
    together: float
    level: float
    disagrees: int | None = None
    not_inside: tuple[int, ...] = ()
    wrong: str = ""
    probability_if_wrong: float = 1.0
    level_if_wrong: float = 0.0


@dataclass(frozen=True)
class Unchecked:
    """What a budget line rests on, and how sure "inside" has to be were one such doubt wrong."""

    group_of: GroupOf
    confidence: float


def judge_several(
    sets: Sequence[Row],
    limits: Sequence[tuple[float, float]],
    confidence: float,
    look: int,
    most_looks: int,
    unchecked: Unchecked | None = None,
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
    columns: list[list[Measured]] = []
    levels: list[float] = []
    probabilities: list[float] = []
    unlikely: list[tuple[float, int]] = []
    for place, (low, high) in enumerate(limits):
        column = [row[place] for row in sets]
        agreement = held_against(_between(column), REFUSED_BELOW / len(limits))
        if agreement.answer == "refused":
            unlikely.append((agreement.probability, place))
        so_far = [widened(_mean(column[: n + 1]), agreement.factor) for n in range(len(column))]
        columns.append(so_far)
        means.append(so_far[-1])
        probabilities.append(probability_inside(so_far[-1].value, so_far[-1].u, low, high))
        doubts = _at_each_look([value.u for value in so_far], look)
        levels.append(look_at(confidence, look, most_looks, doubts).level)
    together = _all_of(probabilities)
    level = max(levels)
    wrong = _if_wrong(columns, limits, look, most_looks, unchecked) if unchecked else []
    worst = min(wrong, key=lambda one: one.left - one.wanted, default=NOTHING_WRONG)
    answer: Answer = "too_close"
    if unlikely:
        answer = "refused"
    elif together >= level and worst.left >= worst.wanted:
        answer = "inside"
    elif min(probabilities) <= 1.0 - confidence:
        answer = "outside"
    return Several(
        answer,
        tuple(means),
        tuple(probabilities),
        together,
        level,
        disagrees=min(unlikely)[1] if unlikely else None,
        not_inside=_not_inside(probabilities, level, wrong),
        wrong=worst.group,
        probability_if_wrong=worst.left,
        level_if_wrong=worst.wanted,
    )


def means_of(sets: Sequence[Row]) -> Row:
    """The mean of each result over the sets, its doubt as entered."""
    return tuple(_mean(column) for column in zip(*sets, strict=True))


def sets_to_settle(
    sets: Sequence[Row],
    limits: Sequence[tuple[float, float]],
    confidence: float,
    look: int,
    most_looks: int,
    unchecked: Unchecked,
) -> int | None:
    """So many more sets would have it called inside, were each to lie at the mean of those so far.

    None: not by the last look either. `look` is the one that was had; arguments as `judge_several`.
    """
    supposed = list(sets)
    mean = means_of(sets)
    for more in range(1, most_looks - look + 1):
        supposed.append(
            tuple(_come_again(at, like, more) for at, like in zip(mean, sets[-1], strict=True))
        )
        judged = judge_several(supposed, limits, confidence, look + more, most_looks, unchecked)
        if judged.answer == "inside":
            return more
    return None


def _come_again(at: Measured, like: Measured, number: int) -> Measured:
    """One more result of its kind: what scatters is new, what repeats is the same."""
    return Measured(
        at.value,
        tuple(
            (f"{name} supposed {number}" if averages_away(name) else name, part)
            for name, part in like.contributions
        ),
    )


@dataclass(frozen=True)
class _Wrong:
    """Were this group's doubt wrong: what that leaves a result (by its place), and the level."""

    group: str
    place: int
    left: float
    wanted: float


NOTHING_WRONG = _Wrong("", 0, 1.0, 0.0)


def _not_inside(
    probabilities: Sequence[float], level: float, wrong: Sequence[_Wrong]
) -> tuple[int, ...]:
    """The results that miss their level by themselves; where only all together do, the worst."""
    found = {place for place, p in enumerate(probabilities) if p < level}
    found |= {one.place for one in wrong if one.left < one.wanted}
    worst = min(range(len(probabilities)), key=lambda place: probabilities[place])
    return tuple(sorted(found or {worst}))


def _if_wrong(
    columns: Sequence[Sequence[Measured]],
    limits: Sequence[tuple[float, float]],
    look: int,
    most_looks: int,
    unchecked: Unchecked,
) -> list[_Wrong]:
    """What every doubt that nothing checks would leave every result, and the level.

    Each result by itself: one that is outside makes all of it false, and its own level alone keeps
    the risk (intersection-union test, R. L. Berger, Technometrics 24 (1982) 295-300). `columns`: of
    each result the mean of the first set, of the first two, and so on.
    """
    rows: list[tuple[str, int, list[float]]] = []
    for place, column in enumerate(columns):
        shares = [variances_of(value, unchecked.group_of) for value in column]
        for group in shares[-1]:
            doubts = [
                u_if_wrong(value.u, share.get(group, 0.0))
                for value, share in zip(column, shares, strict=True)
            ]
            rows.append((group, place, doubts))
    if not rows:
        return []
    at_each = np.array([_at_each_look(doubts, look) for _, _, doubts in rows])
    levels = levels_at(unchecked.confidence, look, most_looks, at_each).tolist()
    return [
        _Wrong(
            group,
            place,
            probability_inside(columns[place][-1].value, doubts[-1], *limits[place]),
            level,
        )
        for (group, place, doubts), level in zip(rows, levels, strict=True)
    ]


def _all_of(probabilities: Iterable[float]) -> float:
    """At least so likely are all of them together (Boole)."""
    return max(0.0, 1.0 - sum(1.0 - p for p in probabilities))


def _at_each_look(doubts: Sequence[float], look: int) -> list[float]:
    """Of the mean at every look up to this one; looks without a set have the first one's doubt."""
    kept = list(doubts[-look:])
    return kept[:1] * (look - len(kept)) + kept


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
