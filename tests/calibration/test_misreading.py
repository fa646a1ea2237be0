"""Slips at a scale, and the echo level that has one."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from companion.calibration.misreading import misread_level, reading_slips
from companion.calibration.suspects import suspects
from companion.errors import MeasureError
from companion.uncertainty.measured import measured

PLACES = {
    "towards": (3.0, 0.0),
    "upright": (0.0, 0.0),
    "away": (-3.0, 0.0),
    "left": (0.0, 3.0),
    "middle": (0.0, 0.0),
    "right": (0.0, -3.0),
}


def levels(yaw_deg: float, elevation_deg: float) -> dict[str, float]:
    return {
        name: round(
            55.0 - 24 * ((lean - elevation_deg) / 12) ** 2 - 24 * ((swing - yaw_deg) / 10) ** 2,
            1,
        )
        for name, (lean, swing) in PLACES.items()
    }


def named(read: dict[str, float]) -> list[tuple[str, float]]:
    found = misread_level(PLACES, read, 12.0, 10.0, 0.06, 0.1)
    assert sum(s.percent for s in found) == pytest.approx(100)
    return [(s.cause, s.percent) for s in found]


def test_the_slips_of_a_reading_are_what_people_do_at_scales() -> None:
    assert set(reading_slips(89.0, 1.0, True)) == {10.0, -10.0, 178.0, -9.0}
    assert set(reading_slips(-12.0, 1.0, True)) == {10.0, -10.0, -24.0, 9.0}
    # 40.6 may be 4.6 (its first digits in the wrong order) or 46.0 (its last two).
    assert sorted(reading_slips(40.6, 0.1, False)) == pytest.approx([-5.4, -1.0, 1.0, 36.0])
    assert set(reading_slips(0.0, 0.01, True)) == {0.1, -0.1}


@given(
    yaw=st.floats(-2.0, 2.0),
    elevation=st.floats(-2.0, 2.0),
    which=st.sampled_from(["upright", "middle"]),
    off=st.sampled_from([-3.0, -1.7, -1.0, 1.0, 1.7, 3.0]),
)
def test_a_level_misread_in_the_middle_is_named(
    yaw: float, elevation: float, which: str, off: float
) -> None:
    read = levels(yaw, elevation)
    (first, percent), *_ = named({**read, which: read[which] + off})
    assert first == which
    assert percent > 90


@given(
    yaw=st.floats(-2.0, 2.0),
    elevation=st.floats(-2.0, 2.0),
    which=st.sampled_from(["towards", "away", "left", "right"]),
    off=st.sampled_from([-3.3, -2.2, 2.2, 3.3]),
)
def test_of_a_level_at_the_end_the_pair_is_named(
    yaw: float, elevation: float, which: str, off: float
) -> None:
    """Both ends of a lean balance each other: only the kind of slip tells them apart."""
    pairs = ({"towards", "away"}, {"left", "right"})
    read = levels(yaw, elevation)
    first, second, *rest = named({**read, which: read[which] + off})
    assert {first[0], second[0]} == next(pair for pair in pairs if which in pair)
    assert sum(percent for _, percent in rest) < 10


def test_too_few_levels_cannot_judge_each_other() -> None:
    four = {name: PLACES[name] for name in ("towards", "upright", "away", "left")}
    with pytest.raises(MeasureError, match="wanted: five levels"):
        misread_level(four, dict.fromkeys(four, 50.0), 12.0, 10.0, 0.06, 0.1)


def test_left_taken_for_right_gives_the_spot_away() -> None:
    """Either spot could be off by any amount; turned round, only one of them explains it all."""
    slope = 1.0 / 82.0
    disagreement = measured("left", 2 * 40 * slope, 0.3 * slope)
    causes = {"left": ["left"], "right": ["right"]}
    alike = {"left": 20.0, "right": 20.0}
    ways = {"left": slope, "right": -slope}
    blind = suspects(disagreement, causes, alike, ways)
    assert blind[0].percent == pytest.approx(50, abs=1)
    slips = {"left": [80 * slope, -10 * slope], "right": [-36 * slope, 10 * slope]}
    told = suspects(disagreement, causes, alike, ways, slips)
    assert (told[0].cause, told[0].error) == ("left", pytest.approx(80))
    assert told[0].percent > 95


def test_the_chances_are_those_of_bayes_rule_worked_out_by_other_means() -> None:
    """scipy's normal densities and numpy's least squares, one level left out at a time."""
    u_db, likely_error_db = 0.4, 1.5
    read = levels(0.4, -0.7)
    read["left"] += 1.1
    plane = np.array([[1.0, *PLACES[name]] for name in PLACES])
    flat = np.array(
        [
            read[n] + 24 * ((lean / 12) ** 2 + (swing / 10) ** 2)
            for n, (lean, swing) in PLACES.items()
        ]
    )
    weights = []
    for index, name in enumerate(PLACES):
        others = [place for place in range(len(PLACES)) if place != index]
        fitted, *_ = np.linalg.lstsq(plane[others], flat[others], rcond=None)
        excess = flat[index] - plane[index] @ fitted
        foretold = plane[index] @ np.linalg.inv(plane[others].T @ plane[others]) @ plane[index]
        spread = u_db * math.sqrt(1.0 + foretold)
        slips = np.array(reading_slips(read[name], 0.1, False))
        looks_misread = norm.pdf(excess, scale=math.hypot(spread, likely_error_db))
        looks_like_a_slip = norm.pdf(excess - slips, scale=spread).mean()
        left_over = flat[others] - plane[others] @ fitted
        agrees = math.exp(-0.5 * float(left_over @ left_over) / u_db**2)
        weights.append(agrees * (looks_misread + looks_like_a_slip) / 2.0)
    percent = {n: 100.0 * w / sum(weights) for n, w in zip(PLACES, weights, strict=True)}
    found = {s.cause: s.percent for s in misread_level(PLACES, read, 12.0, 10.0, u_db, 0.1)}
    assert found == pytest.approx(percent)
    assert min(percent.values()) > 1.0, "a case in which every density counts"
