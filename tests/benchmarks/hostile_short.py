"""Decisions right behind a fine turn: five levels with the widths of the whole set before it.

What five do not settle the nine do, one look later. The turn is taken to have come out as planned,
in every one: on radars at a limit that check would only help.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from companion.errors import MeasureError
from companion.steps.aim.looking import WORTH_SAYING
from companion.steps.aim.short_set import DOUBTED_BELOW
from companion.uncertainty.agreement import held_against
from companion.uncertainty.measured import Measured
from companion.uncertainty.redundancy import scatter_of_misfits
from companion.uncertainty.repeats import scatter_of_levels
from companion.uncertainty.sets import Judged, Pair, Redundancy, judge_sets
from companion.uncertainty.taking import line_of
from tests.benchmarks.hostile_bay import Drawn, Sizes, draw
from tests.benchmarks.hostile_decisions import (
    CONFIDENCE,
    LEVELS,
    LIMIT_DEG,
    MOST_LOOKS,
    at_the_limit,
    beams_disagree,
    rests_on,
    short_set,
    stand_turn_of,
    u_of_level,
    whole_set,
    widths_fit,
)

FAR_LEVELS = tuple(LEVELS[n] for n in (0, 2, 4, 5, 8))
# The aim before a fine turn, further off than after it: up to the largest that is allowed.
FINE_TURNS_DEG = (-0.55, -0.3, 0.3, 0.55)
BOTH_DEG = (LIMIT_DEG, LIMIT_DEG)


@dataclass(frozen=True)
class ShortOutcome:
    """One decision. `inside` by five or by nine levels; `short`: by five; `covered` of the five."""

    inside: bool
    short: bool
    noticed: bool
    covered: int


def decide_part(
    real: Sizes, stated: Sizes, count: int, seed: tuple[int, ...]
) -> list[ShortOutcome]:
    """So many decisions on radars a hair outside a limit; every second one was foreseen."""
    generator = np.random.default_rng(seed)
    aims = at_the_limit(generator, count)
    drawn = draw(generator, real, aims, MOST_LOOKS, (FINE_TURNS_DEG, FINE_TURNS_DEG))
    return [decide_short(drawn, index, stated, foreseen=index % 2 == 0) for index in range(count)]


def decide_short(drawn: Drawn, index: int, sizes: Sizes, *, foreseen: bool) -> ShortOutcome:
    """All looks at one position of the screws, the first by a short set."""
    covered = 0
    if beams_disagree(stand_turn_of(drawn, index, sizes)[1]):
        return ShortOutcome(inside=False, short=False, noticed=True, covered=0)
    try:
        for look, judged in enumerate(_looks(drawn, index, sizes), 1):
            if look == 1:
                truths = (drawn.aim_yaw_deg[index], drawn.aim_elevation_deg[index])
                covered = sum(
                    abs(axis.value - truth) <= 1.96 * axis.u
                    for axis, truth in zip(judged.aim, truths, strict=True)
                )
                if judged.answer == "inside" and judged.stands_alone:
                    return ShortOutcome(inside=True, short=True, noticed=False, covered=covered)
                continue
            if judged.answer == "inside" and (look > 2 or foreseen or judged.stands_alone):
                return ShortOutcome(inside=True, short=False, noticed=False, covered=covered)
            if judged.answer in ("outside", "refused"):
                break
    except MeasureError:
        return ShortOutcome(inside=False, short=False, noticed=True, covered=covered)
    refused = judged.answer == "refused"
    return ShortOutcome(inside=False, short=False, noticed=refused, covered=covered)


def _looks(drawn: Drawn, index: int, sizes: Sizes) -> Iterator[Judged]:
    """The five, then the nine with them among them, then further sets.

    Raises MeasureError where the levels form no peak or contradict the beam.
    """
    turn, _ = stand_turn_of(drawn, index, sizes)
    before = whole_set(drawn.before_db[index, 0], drawn, index, 0, sizes, turn)
    if not widths_fit(before.widths):
        raise MeasureError("the widths contradict the beam")
    levels = drawn.levels_db[index, 0]
    short = short_set(levels, drawn, index, 1, sizes, turn, before.widths)
    misfits: list[list[Measured]] = [before.left_over]
    takes = tuple(line_of(name, 1) for name in FAR_LEVELS)
    left = [[item] for item in (*before.left_over, *short.left_over)]
    judged = judge_sets(
        [short.aim],
        BOTH_DEG,
        CONFIDENCE,
        1,
        MOST_LOOKS,
        redundancy=Redundancy(left, takes, rests_on),
    )
    fits = held_against(scatter_of_misfits(short.left_over)).probability >= DOUBTED_BELOW
    yield judged if fits and judged.agreement.factor <= WORTH_SAYING else _doubted(judged)
    sets: list[Pair] = []
    for look in range(2, MOST_LOOKS + 1):
        whole = whole_set(drawn.levels_db[index, look - 2], drawn, index, look - 1, sizes, turn)
        if not widths_fit(whole.widths):
            raise MeasureError("the widths contradict the beam")
        sets.append(whole.aim)
        misfits.append(whole.left_over)
        rounds = [drawn.before_db[index].tolist(), drawn.levels_db[index, : look - 1].tolist()]
        yield judge_sets(
            sets,
            BOTH_DEG,
            CONFIDENCE,
            look,
            MOST_LOOKS,
            scatter=scatter_of_levels(rounds, u_of_level(sizes), []),
            redundancy=Redundancy(list(zip(*misfits, strict=True)), LEVELS, rests_on),
        )


def _doubted(judged: Judged) -> Judged:
    return replace(judged, answer="too_close", stands_alone=False)
