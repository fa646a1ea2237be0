"""Several results at their limits, drawn by scipy: how often any look at them says "inside".

Nothing here is worked out by formulas of the package: true values, a fixed error of a figure that
stays from set to set, and scatter are drawn; what is counted is how often all looks at one place
together say "inside" of a result that is a hair outside.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import beta, norm  # type: ignore[import-untyped]

from companion.uncertainty.measured import Measured
from companion.uncertainty.several import Unchecked, judge_several

LIMIT, OTHER_LIMIT, MOST_LOOKS, TRIALS = 5.0, 15.0, 4, 1200
FIXED_U, SCATTER_U, OTHER_U = 0.6, 0.5, 1.2


def group_of(line: str) -> str | None:
    return line


def said_inside(times: float, unchecked: Unchecked | None, confidence: float, seed: int) -> int:
    """Of the trials those that any look called inside; the fixed error is `times` as entered."""
    generator = np.random.default_rng(seed)
    found = 0
    for _ in range(TRIALS):
        off = norm.rvs(0.0, times * FIXED_U, random_state=generator)
        other = norm.rvs(0.0, 4.0, random_state=generator)
        sets: list[tuple[Measured, Measured]] = []
        for look in range(1, MOST_LOOKS + 1):
            noise = norm.rvs(0.0, (SCATTER_U, OTHER_U), random_state=generator)
            sets.append(
                (
                    Measured(LIMIT + 1e-4 + off + noise[0], (("a", FIXED_U), (f"b #{look}", 0.5))),
                    Measured(other + noise[1], ((f"c #{look}", OTHER_U),)),
                )
            )
            limits = [(-LIMIT, LIMIT), (-OTHER_LIMIT, OTHER_LIMIT)]
            judged = judge_several(sets, limits, confidence, look, MOST_LOOKS, unchecked)
            if judged.answer == "inside":
                found += 1
                break
            if judged.answer == "refused":
                break
    return found


def upper(found: int) -> float:
    """Clopper and Pearson, one sided 95 %, by scipy's beta distribution."""
    return float(beta.ppf(0.95, found + 1, TRIALS - found))


def test_all_looks_together_keep_the_stated_risk() -> None:
    """One per cent over four looks, at the limit itself, the doubt as it was entered."""
    assert upper(said_inside(1.0, None, 0.99, 1)) < 0.02


def test_a_figure_three_times_as_wrong_breaks_it_and_the_guard_keeps_five_per_cent() -> None:
    unguarded = said_inside(3.0, None, 0.99, 2)
    guarded = said_inside(3.0, Unchecked(group_of, 0.95), 0.99, 2)
    assert unguarded / TRIALS > 0.08
    assert upper(guarded) < 0.05 + 0.015


@pytest.mark.parametrize("times", [1.0, 3.0])
def test_in_the_middle_the_guard_keeps_nothing_back(times: float) -> None:
    """Two sets whose mean is the middle, with twelve of its own doubts to either limit."""
    sets = [(Measured(times * 0.1, (("a", 0.3), (f"b #{look}", 0.3))),) for look in (1, 2)]
    judged = judge_several(sets, [(-5.0, 5.0)], 0.99, 2, 4, Unchecked(group_of, 0.95))
    assert judged.answer == "inside"
