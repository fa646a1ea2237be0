"""What accepting and counting prove."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from companion.errors import MeasureError
from companion.uncertainty.risk import (
    global_risk,
    rate_at_most,
    rate_between,
    rate_between_wilson,
)


def test_risks_agree_with_drawn_items() -> None:
    generator = np.random.default_rng(3)
    true = generator.normal(0.05, 0.3, 400_000)
    seen = true + generator.normal(0.0, 0.1, true.size)
    good, taken = np.abs(true) <= 0.4, np.abs(seen) <= 0.3
    found = global_risk(0.05, 0.3, 0.1, (-0.4, 0.4), (-0.3, 0.3))
    assert found.false_accept == pytest.approx(float(np.mean(~good & taken)), abs=5e-4)
    assert found.false_reject == pytest.approx(float(np.mean(good & ~taken)), abs=2e-3)
    assert found.inside == pytest.approx(float(np.mean(good)), abs=2e-3)
    assert found.accepted == pytest.approx(float(np.mean(taken)), abs=2e-3)


@settings(max_examples=40, deadline=None)
@given(sd=st.floats(0.05, 1.0), u=st.floats(0.005, 0.5), guard=st.floats(0.0, 0.3))
def test_a_guard_band_trades_one_risk_for_the_other(sd: float, u: float, guard: float) -> None:
    plain = global_risk(0.0, sd, u, (-0.4, 0.4))
    guarded = global_risk(0.0, sd, u, (-0.4, 0.4), (-0.4 + guard, 0.4 - guard))
    assert guarded.false_accept <= plain.false_accept + 1e-9
    assert guarded.false_reject >= plain.false_reject - 1e-9
    assert plain.accepted == pytest.approx(
        plain.inside - plain.false_reject + plain.false_accept, abs=1e-9
    )
    shifted = global_risk(2.0, sd, u, (1.6, 2.4))
    assert shifted.false_accept == pytest.approx(plain.false_accept, abs=1e-9)


@settings(max_examples=50, deadline=None)
@given(trials=st.integers(1, 400), data=st.data())
def test_exact_bounds_hold_the_rate_and_mirror(trials: int, data: st.DataObject) -> None:
    count = data.draw(st.integers(0, trials))
    low, high = rate_between(count, trials)
    assert low <= count / trials <= high
    other_low, other_high = rate_between(trials - count, trials)
    assert (1 - other_high, 1 - other_low) == pytest.approx((low, high), abs=1e-9)
    assert rate_at_most(count, trials) <= high + 1e-12
    wilson = rate_between_wilson(count, trials)
    assert wilson[0] - 1e-12 <= count / trials <= wilson[1] + 1e-12


def test_nothing_counted_proves_nothing() -> None:
    for wrong in ((0, 0), (5, 4), (-1, 4)):
        with pytest.raises(MeasureError, match="count within the trials"):
            rate_between(*wrong)
    with pytest.raises(MeasureError, match="above 0"):
        global_risk(0.0, 0.0, 0.1, (-1.0, 1.0))
