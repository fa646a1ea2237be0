"""Every result's doubt against simulated readings (Monte Carlo as in JCGM 101:2008), seeded.

Readings are drawn from normal distributions with the doubts of the example bay; the spread of what
comes out must agree with the propagated doubt within 5 %.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.calibration.formulas import FORMULAS, evaluate
from companion.calibration.mount import Mount, Screw, forward, geometry_response
from companion.calibration.reach import miss_at_range_m
from companion.calibration.response import prior_response
from companion.calibration.screws import plan_turns
from companion.uncertainty.measured import measured

DRAWS = 10_000
WITHIN = 0.05
Bay = dict[str, dict[str, tuple[float, float]]]

LEFT = Screw("left", "left", 60.0, 5.0, 0.8, "right", 5.0, 5.0, 0.25, 0.1)
UPPER = Screw("upper", "upper", -4.0, 55.0, 0.8, "right", 5.0, 5.0, 0.25, 0.1)
CORNERS = tuple(
    replace(LEFT, id=f"screw {number}", y_mm=y, z_mm=z)
    for number, (y, z) in enumerate(((45.0, 35.0), (-45.0, 35.0), (0.0, -40.0)))
)
MOUNTS = {
    "two screws": Mount((LEFT, UPPER), "clockwise"),
    "three screws": Mount(CORNERS, "clockwise"),
}


def agrees(u: float, drawn: NDArray[np.float64], value: float) -> None:
    sd, mean = float(drawn.std(ddof=1)), float(drawn.mean())
    assert u == pytest.approx(sd, rel=WITHIN)
    assert abs(mean - value) < 0.1 * u


@pytest.mark.parametrize("name", sorted(FORMULAS))
def test_every_formulas_doubt_is_that_of_simulated_readings(name: str, bay: Bay) -> None:
    pairs = bay[name]
    ours = evaluate(name, {key: measured(key, *pair) for key, pair in pairs.items()})
    generator = np.random.default_rng(20_240_801)
    drawn = {key: generator.normal(value, u, DRAWS) for key, (value, u) in pairs.items()}
    rows = [
        FORMULAS[name].function({key: float(item[n]) for key, item in drawn.items()})
        for n in range(DRAWS)
    ]
    assert set(ours) == set(FORMULAS[name].outputs)
    for output, item in ours.items():
        agrees(item.u, np.array([row[output] for row in rows]), item.value)


def test_the_miss_down_the_road() -> None:
    drawn = np.random.default_rng(1).normal(0.21, 0.06, DRAWS)
    for range_m in (50.0, 100.0, 150.0):
        miss = miss_at_range_m(measured("yaw", 0.21, 0.06), range_m)
        agrees(miss.u, range_m * np.tan(np.radians(drawn)), miss.value)


@pytest.mark.parametrize("of", MOUNTS)
def test_what_the_screws_are_foretold_to_leave(of: str) -> None:
    """Mounts whose pitches and places differ from the drawing, hands that turn a little wrongly."""
    mount, aim = MOUNTS[of], np.array([1.3, -0.9])
    noise, relative_sd, setting = np.diag([0.04**2, 0.05**2]), 0.2, 0.02
    response = prior_response(mount, relative_sd)
    plan = plan_turns(
        mount, *aim, response, [0] * len(mount.screws), 0.4, 0.4, noise, setting_u_turns=setting
    )
    generator = np.random.default_rng(4)
    turns = np.array([float(turn) for turn in plan.turns])
    levers = mount.levers_mm
    place_sd = np.hypot(
        relative_sd / 3.0 * levers, 0.02 * np.hypot(levers[:, 0], levers[:, 1])[:, None]
    )
    left = []
    for _ in range(DRAWS):
        places = levers + generator.normal(0.0, 1.0, levers.shape) * place_sd
        sizes = 1.0 + generator.normal(0.0, relative_sd, len(turns))
        true = Mount(
            tuple(
                replace(screw, y_mm=float(y), z_mm=float(z), pitch_mm=screw.pitch_mm * float(size))
                for screw, (y, z), size in zip(mount.screws, places, sizes, strict=True)
            ),
            mount.approach,
        )
        made = turns + np.where(turns != 0.0, generator.normal(0.0, setting, len(turns)), 0.0)
        left.append(aim + generator.multivariate_normal([0.0, 0.0], noise) + forward(true, made))
    drawn = np.array(left)
    u = np.sqrt(np.diag(plan.predicted_covariance))
    for axis, foretold in enumerate((plan.predicted_yaw_deg, plan.predicted_elevation_deg)):
        agrees(float(u[axis]), drawn[:, axis], foretold)
    inside = float(np.mean(np.all(np.abs(drawn) <= 0.4, axis=1)))
    assert plan.predicted_probability == pytest.approx(inside, abs=0.02)


@pytest.mark.parametrize("of", MOUNTS)
def test_a_response_as_the_drawing_has_it(of: str) -> None:
    """Every entry's doubt, and how entries go together."""
    mount, relative_sd = MOUNTS[of], 0.2
    generator = np.random.default_rng(5)
    levers = mount.levers_mm
    place_sd = np.hypot(
        relative_sd / 3.0 * levers, 0.02 * np.hypot(levers[:, 0], levers[:, 1])[:, None]
    )
    drawn = []
    for _ in range(DRAWS):
        places = levers + generator.normal(0.0, 1.0, levers.shape) * place_sd
        true = Mount(
            tuple(
                replace(s, y_mm=float(y), z_mm=float(z), pitch_mm=s.pitch_mm * float(size))
                for s, (y, z), size in zip(
                    mount.screws,
                    places,
                    1.0 + generator.normal(0.0, relative_sd, len(levers)),
                    strict=True,
                )
            ),
            mount.approach,
        )
        drawn.append(geometry_response(true).ravel())
    ours = np.array(prior_response(mount, relative_sd).covariance)
    scattered = np.cov(np.array(drawn).T)
    u, sd = np.sqrt(np.diag(ours)), np.sqrt(np.diag(scattered))
    assert u == pytest.approx(sd, rel=WITHIN)
    assert ours / np.outer(u, u) == pytest.approx(scattered / np.outer(sd, sd), abs=0.05)
