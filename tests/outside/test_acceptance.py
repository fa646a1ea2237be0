"""The guard that the report states, against scipy and the exact limits by definition."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from companion.report.acceptance import accepted_up_to


# CON-13. Definition: exact two-sided limits at 95 %.
@pytest.mark.parametrize(("u", "limit"), [(0.2, 0.471029), (0.3, 0.306214), (0.4, 0.081515)])
def test_con_13_the_last_value_that_is_accepted(u: float, limit: float) -> None:
    assert accepted_up_to(u, 0.8, 0.95) == pytest.approx(limit, abs=1e-6)


# CON-14. Definition: with u = 0.6 of the limit nothing is accepted at all.
def test_con_14_no_value_is_accepted() -> None:
    assert accepted_up_to(0.6, 1.0, 0.95) is None


def test_what_is_not_recorded_gives_no_guard() -> None:
    assert accepted_up_to(None, 0.4, 0.95) is None
    assert accepted_up_to(0.1, None, 0.95) is None
    assert accepted_up_to(0.1, 0.4, None) is None
    assert accepted_up_to(0.0, 0.4, 0.95) == 0.4


# scipy.stats.norm as oracle.
@given(u=st.floats(0.001, 0.5), limit=st.floats(0.05, 2.0), level=st.floats(0.8, 0.999))
def test_at_the_last_value_the_chance_is_the_level(u: float, limit: float, level: float) -> None:
    last = accepted_up_to(u, limit, level)
    if last is None:
        assert norm.cdf(limit / u) - norm.cdf(-limit / u) < level
    else:
        chance = norm.cdf((limit - last) / u) - norm.cdf((-limit - last) / u)
        assert chance == pytest.approx(level, abs=1e-6)
