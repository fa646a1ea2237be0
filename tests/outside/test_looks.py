"""Alpha spending against published tables and constants, and against a count of random walks."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm

from companion.uncertainty.sequential import (
    Walk,
    bounds,
    look_at,
    spent,
)


def crossing_probabilities(critical: list[float], information: list[float]) -> list[float]:
    """Probability that each look is the first whose z passes its critical value."""
    walk, found = Walk(1), []
    for z, at in zip(critical, information, strict=True):
        passed, _ = walk.beyond(np.array([z]), np.array([at]))
        found.append(float(passed[0]))
        walk.cross(np.array([z]), np.array([at]))
    return found


def even(most: int) -> list[float]:
    return [(look + 1) / most for look in range(most)]


# README of the package SeqBounds.jl (PharmCat), one-sided O'Brien-Fleming type at 0.05: read.
def test_obrien_fleming_type_as_an_independent_package_prints_it() -> None:
    spends = [spent("obrien_fleming", 0.05, t) for t in even(4)]
    assert spends == pytest.approx([8.85754e-5, 0.0055746, 0.0236251, 0.05], rel=1e-5)
    found = bounds(0.05, 4, "obrien_fleming", even(4))
    assert found == pytest.approx((3.74955, 2.53993, 2.01604, 1.72014), abs=2e-4)


# Vignette of the package GroupSeq, three looks at 0.05 one-sided: 0.069 % spent, bound 3.2: read.
def test_obrien_fleming_type_at_the_first_of_three_looks() -> None:
    found = bounds(0.05, 3, "obrien_fleming", even(3))
    assert found[0] == pytest.approx(3.2, abs=0.005)
    assert spent("obrien_fleming", 0.05, 1 / 3) == pytest.approx(0.00069, abs=5e-6)


# Five looks at two-sided 0.05, that is 0.025 to one side: Reboussin, DeMets, Kim and Lan,
# Controlled Clinical Trials 21 (2000) 190-207. The paper was not seen: O'Brien-Fleming's row is
# quoted in the tests of several packages (read), Pocock's is from memory.
@pytest.mark.parametrize(
    ("spending", "table"),
    [
        ("obrien_fleming", (4.877, 3.357, 2.680, 2.290, 2.031)),
        ("pocock", (2.438, 2.427, 2.410, 2.397, 2.386)),
    ],
)
def test_five_looks_as_the_tables_have_them(spending: str, table: tuple[float, ...]) -> None:
    # The two-sided table halves the risk inside its O'Brien-Fleming function: z of 0.0125.
    if spending == "pocock":
        assert bounds(0.025, 5, "pocock", even(5)) == pytest.approx(table, abs=2e-3)
        return
    shares = np.diff([0.0, *(spent("obrien_fleming", 0.025, t) for t in even(5))])
    assert crossing_probabilities(list(table), even(5)) == pytest.approx(shares, abs=6e-5)


# The constants of Pocock (Biometrika 64, 1977) and of O'Brien and Fleming (Biometrics 35, 1979) for
# two-sided 0.05: a constant bound, and one that falls with the root of the looks. The papers were
# not seen: those of five looks are quoted by other packages (read), the rest is from memory.
@pytest.mark.parametrize(
    ("most", "pocock", "obrien_fleming"),
    [(2, 2.178, 1.977), (3, 2.289, 2.004), (4, 2.361, 2.024), (5, 2.413, 2.040)],
)
def test_classic_constants_spend_what_they_promise(
    most: int, pocock: float, obrien_fleming: float
) -> None:
    constant = sum(crossing_probabilities([pocock] * most, even(most)))
    falling = sum(
        crossing_probabilities([obrien_fleming / math.sqrt(t) for t in even(most)], even(most))
    )
    assert constant == pytest.approx(0.025, abs=5e-5)
    assert falling == pytest.approx(0.025, abs=5e-5)


# Definition: one look is the plain test.
def test_one_look_is_the_plain_level() -> None:
    assert bounds(0.05, 1) == pytest.approx((norm.ppf(0.95),), abs=1e-9)
    assert look_at(0.95, 1, 1).level == pytest.approx(0.95, abs=1e-9)


# Counted: sets with a part in common and a part of their own, true value at the limit.
@pytest.mark.parametrize("common", [0.0, 0.5, 2.0])
@pytest.mark.parametrize("most", [3, 6])
def test_whoever_looks_again_and_again_keeps_the_risk(common: float, most: int) -> None:
    generator = np.random.default_rng(17)
    trials = 200_000
    errors = generator.normal(0.0, common, (trials, 1)) + np.cumsum(
        generator.normal(0.0, 1.0, (trials, most)), axis=1
    ) / np.arange(1, most + 1)
    doubts = [math.hypot(common, 1.0 / math.sqrt(n)) for n in range(1, most + 1)]
    said = np.zeros(trials, dtype=bool)
    for number in range(1, most + 1):
        look = look_at(0.95, number, most, doubts[:number])
        said |= errors[:, number - 1] / doubts[number - 1] > norm.ppf(look.level)
        assert look.spent <= 0.05 + 1e-12
    assert said.mean() <= 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / trials)


# Counted: a look taken again after going back has spent its share; the rest still holds.
def test_going_back_does_not_win_looks() -> None:
    generator = np.random.default_rng(18)
    trials, most = 200_000, 4
    first = generator.normal(0.0, 1.0, trials)
    said = np.zeros(trials, dtype=bool)
    for number in range(1, most + 1):
        # Every look's second set is thrown away and measured anew: the mean of two each time.
        value = first if number == 1 else (first + generator.normal(0.0, 1.0, trials)) / 2.0
        doubts = [1.0, *[math.sqrt(0.5)] * (number - 1)]
        said |= value / doubts[-1] > norm.ppf(look_at(0.95, number, most, doubts).level)
    assert said.mean() <= 0.05 + 3.0 * math.sqrt(0.05 * 0.95 / trials)
