"""Decisions right behind a fine turn: five levels with the widths of the whole set before it.

What five do not settle the nine do, one look later. The turn is taken to have come out as planned,
in every one: on radars at a limit that check would only help.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
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
from tests.benchmarks.hostile_bay import Array, Drawn, Sizes, draw
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


Slip = Callable[[np.random.Generator, Array, bool], Array]
"""Levels as they were read, by the nine that were right; true where the swing is what is off."""


def _one_level(generator: np.random.Generator, levels: Array, _: bool) -> Array:
    """One of the five, by anything from three steps of the display to ten decibels."""
    read = levels.copy()
    read[generator.choice(FAR_PLACES)] += _some_db(generator)
    return read


def _two_levels(generator: np.random.Generator, levels: Array, _: bool) -> Array:
    read = levels.copy()
    for place in generator.choice(FAR_PLACES, 2, replace=False):
        read[place] += _some_db(generator)
    return read


def _near_for_far(generator: np.random.Generator, levels: Array, swings: bool) -> Array:
    """The plate at the near notch where it should be at the far one, once."""
    read = levels.copy()
    far, near = SIDES_OF[swings][generator.integers(2)]
    read[far] = levels[near]
    return read


def _both_near_for_far(_: np.random.Generator, levels: Array, swings: bool) -> Array:
    read = levels.copy()
    for far, near in SIDES_OF[swings]:
        read[far] = levels[near]
    return read


def _other_way(_: np.random.Generator, levels: Array, swings: bool) -> Array:
    """Both sides of one axis taken for each other."""
    read = levels.copy()
    (one, _near), (other, _further) = SIDES_OF[swings]
    read[one], read[other] = levels[other], levels[one]
    return read


def _not_put_back(_: np.random.Generator, levels: Array, __: bool) -> Array:
    """The plate still leaned away while its edges are swung: both swings lose what that costs."""
    read = levels.copy()
    for far, _near in SIDES_OF[True]:
        read[far] += levels[4] - levels[2]
    return read


def _opposite(generator: np.random.Generator, levels: Array, swings: bool) -> Array:
    """Both far levels of the axis, by the same one to three tenths, so that it looks nearer.

    No sum of five levels shows it, and none of nine as well as it shows one.
    """
    read = levels.copy()
    (one, _near), (other, _further) = SIDES_OF[swings]
    way = 1.0 if levels[one] < levels[other] else -1.0
    size = way * round(generator.uniform(0.1, 0.3), 1)
    read[one], read[other] = levels[one] + size, levels[other] - size
    return read


def _some_db(generator: np.random.Generator) -> float:
    return float(generator.choice((-1.0, 1.0)) * round(generator.uniform(0.3, 10.0), 1))


FAR_PLACES = (0, 2, 4, 5, 8)
# Far and near place of either side: of the leans, of the swings.
SIDES_OF = {False: ((0, 1), (4, 3)), True: ((5, 6), (8, 7))}
SLIPS: dict[str, Slip] = {
    "one level": _one_level,
    "two levels": _two_levels,
    "near notch for far": _near_for_far,
    "both near for far": _both_near_for_far,
    "sides for each other": _other_way,
    "lean not put back": _not_put_back,
    "both opposite": _opposite,
}


def slipped_part(slip: str, sizes: Sizes, count: int, seed: tuple[int, ...]) -> list[ShortOutcome]:
    """So many radars up to half a degree outside a limit, whose five levels have this slip.

    That the aim is where no turn should have brought it is not held against them: in a job it is.
    """
    generator = np.random.default_rng(seed)
    out = (LIMIT_DEG + generator.uniform(1e-4, 0.5, count)) * generator.choice((-1.0, 1.0), count)
    inside, swings = generator.uniform(-0.15, 0.15, count), generator.random(count) < 0.5
    aims = np.where(swings, out, inside), np.where(swings, inside, out)
    drawn = draw(generator, sizes, aims, MOST_LOOKS, (FINE_TURNS_DEG, FINE_TURNS_DEG))
    for index in range(count):
        levels = drawn.levels_db[index, 0]
        drawn.levels_db[index, 0] = SLIPS[slip](generator, levels, bool(swings[index]))
    return [decide_short(drawn, index, sizes, foreseen=False) for index in range(count)]


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
