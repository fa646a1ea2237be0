"""The bounds of several looks: against drawn walks, and one way of asking against another."""

from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from companion.errors import MeasureError
from companion.uncertainty.measured import Measured
from companion.uncertainty.sequential import (
    bounds,
    bounds_of_each,
    levels_at,
    look_at,
    look_at_several,
    spent,
)
from companion.uncertainty.sets import judge_sets

RISK = 0.05


@pytest.mark.parametrize("information", [(0.05, 0.1, 1.0), (0.3, 0.6, 1.0), (0.9, 0.95, 1.0)])
def test_each_look_crosses_as_often_as_its_share_of_the_risk(
    information: tuple[float, ...],
) -> None:
    """The judge draws the readings themselves: sums of independent normal steps."""
    z = np.array(bounds(RISK, 3, "pocock", information))
    steps = np.diff((0.0, *information)) ** 0.5
    drawn = np.random.default_rng(11).normal(size=(1_000_000, 3)) * steps
    beyond = drawn.cumsum(axis=1) / np.sqrt(information) > z
    crossed = np.maximum.accumulate(beyond, axis=1).mean(axis=0)
    wanted = [spent("pocock", RISK, look / 3) for look in (1, 2, 3)]
    assert crossed.tolist() == pytest.approx(wanted, abs=0.0008)


def test_side_by_side_each_has_the_bounds_that_it_has_alone() -> None:
    """At the second look only one of them learned something new."""
    rows = np.array([[0.3, 0.3, 0.7, 1.0], [0.3, 0.6, 0.8, 1.0], [0.2, 0.4, 0.4, 1.0]])
    together = bounds_of_each(RISK, 4, "pocock", rows)
    alone = [bounds_of_each(RISK, 4, "pocock", row[None])[0] for row in rows]
    assert together == pytest.approx(np.array(alone), abs=1e-9)


def test_the_level_of_a_look_is_that_of_its_own_bound() -> None:
    doubts = (0.3, 0.2, 0.15)
    z = bounds(RISK, 3, "pocock", [1.0 / u**2 for u in doubts])
    for look in (2, 3):
        level = look_at(1.0 - RISK, look, 3, doubts[:look]).level
        # Shares of the information are rounded, of all looks and of those so far.
        assert level == pytest.approx(NormalDist().cdf(z[look - 1]), abs=1e-4)


def test_two_sets_are_held_to_the_level_that_their_own_doubts_give() -> None:
    sets = [
        (Measured(0.0, ((f"yaw #{n}", 0.1),)), Measured(0.0, ((f"elevation #{n}", 0.1),)))
        for n in (1, 2)
    ]
    judged = judge_sets(sets, (1.0, 1.0), 1.0 - RISK, 2, 3)
    assert judged.level == look_at(1.0 - RISK, 2, 3, (0.1, 0.1 / math.sqrt(2.0))).level


DOUBTS = st.lists(
    st.lists(st.floats(0.005, 0.5), min_size=4, max_size=4).map(lambda row: sorted(row)[::-1]),
    min_size=1,
    max_size=5,
)


@settings(max_examples=30)
@given(
    rows=DOUBTS, number=st.integers(1, 4), spending=st.sampled_from(["pocock", "obrien_fleming"])
)
def test_many_means_at_once_have_the_levels_of_each_look(
    rows: list[list[float]], number: int, spending: str
) -> None:
    so_far = [row[:number] for row in rows]
    # Shares of the information are rounded to thousandths: what lies between two may go to either.
    shares = [(row[-1] / u) ** 2 * 1000.0 for row in so_far for u in row]
    assume(all(abs(share % 1.0 - 0.5) > 1e-6 for share in shares))
    together = levels_at(1.0 - RISK, number, 4, np.array(so_far), spending)
    alone = [look_at(1.0 - RISK, number, 4, row, spending).level for row in so_far]
    assert together.tolist() == pytest.approx(alone, abs=1e-12)
    # Looked at together, the strictest of them counts.
    strictest = look_at_several(1.0 - RISK, number, 4, so_far, spending)
    assert strictest.level == pytest.approx(max(alone), abs=1e-12)
    assert strictest.spent == pytest.approx(spent(spending, RISK, number / 4))


def test_the_unit_of_the_doubts_changes_no_level() -> None:
    """A first look that tells next to nothing beside the last one is bounded as it is."""
    for doubts in ((0.9, 0.02, 0.015), (0.3, 0.2, 0.15)):
        levels = [
            look_at(1.0 - RISK, 3, 3, [unit * u for u in doubts]).level for unit in (1, 60, 1e-2)
        ]
        assert levels == pytest.approx([levels[0]] * 3, abs=1e-12)


@pytest.mark.parametrize("confidence", [0.5, 1.0, 0.2, 1.7])
def test_a_certainty_that_is_none_is_named_as_it_was_given(confidence: float) -> None:
    with pytest.raises(MeasureError, match=f"certainty of {confidence}; wanted: 0.5 to 1"):
        look_at(confidence, 2, 3)
