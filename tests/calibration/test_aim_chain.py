"""The whole chain from readings to aim: propagated doubt against simulated readings."""

from __future__ import annotations

import numpy as np
import pytest

from companion.calibration.formulas import evaluate
from companion.uncertainty.conformity import decide
from companion.uncertainty.measured import Measured, measured, propagate
from tests.second_order import bend

LEFT_SPOTS = {0: 772.0, 90: 768.0, 180: 779.0, 270: 783.0}
RIGHT_SPOTS = {0: 781.0, 90: 774.0, 180: 769.0, 270: 776.0}
# Every reading of the echo route: value and standard uncertainty.
READINGS: dict[str, tuple[float, float]] = {
    **{f"left_{turn}": (spot, 0.49) for turn, spot in LEFT_SPOTS.items()},
    **{f"right_{turn}": (spot, 0.49) for turn, spot in RIGHT_SPOTS.items()},
    "path": (4700.0, 35.0),
    "toe_left": (0.12, 0.0104),
    "toe_right": (0.05, 0.0104),
    "spot_left": (-9.0, 0.42),
    "spot_right": (18.0, 0.42),
    "plumb": (-0.4, 0.104),
    "floor_rl": (420.0, 0.42),
    "floor_rr": (421.0, 0.42),
    "floor_fl": (418.0, 0.42),
    "floor_fr": (419.0, 0.42),
    "line_laser": (0.0, 0.006),
    **{f"lean_{i}": (v, 0.01) for i, v in ((1, 3.0), (2, 0.0), (3, -3.0))},
    **{f"swing_{i}": (v, 0.01) for i, v in ((1, 3.0), (2, 0.0), (3, -3.0))},
    **{f"lean_echo_{i}": (v, 0.058) for i, v in ((1, 47.1), (2, 48.0), (3, 45.9))},
    **{f"swing_echo_{i}": (v, 0.058) for i, v in ((1, 44.9), (2, 48.0), (3, 46.9))},
}  # fmt: skip


def chain(readings: dict[str, Measured]) -> dict[str, Measured]:
    """As the job binds it, formula by formula."""
    r = readings
    out: dict[str, Measured] = {}
    for side, grows in (("left", 1.0), ("right", -1.0)):
        out[side] = evaluate(
            "run_out",
            {f"spot_{turn}_mm": r[f"{side}_{turn}"] for turn in (0, 90, 180, 270)}
            | {"path_mm": r["path"], "grows_to_left": Measured(grows)},
        )["run_out_heading_deg"]
    toe = evaluate(
        "toe_from_angle", {"toe_left_deg": r["toe_left"], "toe_right_deg": r["toe_right"]}
    )["total_toe_deg"]
    turn = evaluate(
        "stand_turn",
        {
            "spot_left_mm": r["spot_left"],
            "spot_right_mm": r["spot_right"],
            "path_mm": r["path"],
            "run_out_left_deg": out["left"],
            "run_out_right_deg": out["right"],
            "total_toe_deg": toe,
        },
    )
    floor = evaluate(
        "floor_plane",
        {
            "rear_left_mm": r["floor_rl"],
            "rear_right_mm": r["floor_rr"],
            "front_left_mm": r["floor_fl"],
            "front_right_mm": r["floor_fr"],
            "stand_mm": Measured(420.0),
            "wheelbase_mm": Measured(2700.0),
            "rear_track_mm": Measured(1550.0),
            "front_track_mm": Measured(1550.0),
            "stand_ahead_mm": Measured(2000.0),
        },
    )["floor_slope_up_deg"]
    slope = propagate(lambda v: {"s": v["f"] + v["l"]}, {"f": floor, "l": r["line_laser"]})["s"]
    vertex = {
        kind: evaluate(
            "echo_vertex",
            {f"lean_{i}_deg": r[f"{kind}_{i}"] for i in (1, 2, 3)}
            | {f"echo_{i}_db": r[f"{kind}_echo_{i}"] for i in (1, 2, 3)},
        )["vertex_deg"]
        for kind in ("lean", "swing")
    }
    aim = evaluate(
        "aim_error",
        {
            "vertex_swing_deg": vertex["swing"],
            "vertex_lean_deg": vertex["lean"],
            "stand_turn_deg": turn["stand_turn_deg"],
            "plate_plumb_deg": evaluate("plate_plumb", {"plumb_mm_per_m": r["plumb"]})[
                "plate_plumb_deg"
            ],
            "floor_slope_up_deg": slope,
        },
    )
    return aim | {"beam_disagreement_deg": turn["beam_disagreement_deg"]}


def plain(values: dict[str, float]) -> dict[str, float]:
    """The chain on bare numbers."""
    return {
        key: item.value
        for key, item in chain({name: Measured(value) for name, value in values.items()}).items()
    }


def test_the_aims_doubt_agrees_with_simulated_readings_within_five_percent() -> None:
    """Monte Carlo as in JCGM 101:2008, seeded: 6000 whole jobs' worth of readings."""
    ours = chain({name: measured(name, *pair) for name, pair in READINGS.items()})
    generator = np.random.default_rng(20_240_614)
    rows = [
        list(plain({n: generator.normal(value, u) for n, (value, u) in READINGS.items()}).values())
        for _ in range(6000)
    ]
    simulated = np.array(rows)
    sd, mean = simulated.std(axis=0, ddof=1), simulated.mean(axis=0)
    for index, (name, item) in enumerate(ours.items()):
        assert item.u == pytest.approx(sd[index], rel=0.05), name
        assert abs(item.value - mean[index]) < 0.1 * item.u, name
        # Coverage: 95 % of the simulated results lie within 1.96 u of the value.
        inside = np.abs(simulated[:, index] - item.value) <= 1.96 * item.u
        assert float(inside.mean()) == pytest.approx(0.95, abs=0.012), name


def test_the_whole_chain_is_straight_enough_for_first_order() -> None:
    inputs = {name: measured(name, *pair) for name, pair in READINGS.items()}
    for name, found in bend(plain, inputs).items():
        assert found.u_second <= 1.01 * found.u_first, name
        assert abs(found.shift) <= 0.05 * found.u_first, name


def test_the_verdict_from_propagated_doubt_is_that_of_the_simulated_distribution() -> None:
    ours = chain({name: measured(name, *pair) for name, pair in READINGS.items()})
    generator = np.random.default_rng(20_240_615)
    drawn = np.array(
        [
            plain({n: generator.normal(v, u) for n, (v, u) in READINGS.items()})["aim_yaw_deg"]
            for _ in range(3000)
        ]
    )
    yaw = ours["aim_yaw_deg"]
    for limit in (abs(yaw.value), abs(yaw.value) + yaw.u, abs(yaw.value) + 2 * yaw.u):
        share = float(np.mean(np.abs(drawn) <= limit))
        verdict = decide(yaw.value, yaw.u, -limit, limit)
        assert verdict.probability_inside == pytest.approx(share, abs=0.03)
