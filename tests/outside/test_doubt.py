"""Propagation against the GUM's examples and three independent packages. Test ids are row ids."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.stats import t as student

from companion.calibration.fitting import least_squares
from companion.calibration.formulas import FORMULAS, evaluate
from companion.uncertainty.measured import (
    Measured,
    covariance,
    effective_degrees_of_freedom,
    exact,
    measured,
    propagate,
    rectangular_u,
    resolution_u,
    u_shaped_u,
)
from companion.uncertainty.student import t_factor
from tests.second_order import bend


def correlated(
    names: Sequence[str], values: Sequence[float], covariances: NDArray[np.float64]
) -> tuple[Measured, ...]:
    """Readings whose errors go together, built on hidden errors of their own (Cholesky factor)."""
    hidden = [f"{'+'.join(names)} {number}" for number in range(len(names))]
    return tuple(
        Measured(value, tuple(zip(hidden, row.tolist(), strict=True)))
        for value, row in zip(values, np.linalg.cholesky(covariances), strict=True)
    )


def correlation(a: Measured, b: Measured) -> float:
    return covariance(a, b) / (a.u * b.u)


# UNC-1 to UNC-3. JCGM 100:2008, 4.3.7 (rectangular), F.2.2.1 (resolution) and H.1.3.4 (a swing
# between two ends: U-shaped), read second hand.
def test_unc_1_to_3_building_blocks() -> None:
    assert rectangular_u(1.0) == pytest.approx(0.577350269, abs=1e-9)
    assert resolution_u(1.0) == pytest.approx(0.288675135, abs=1e-9)
    assert u_shaped_u(1.0) == pytest.approx(0.707106781, abs=1e-9)


# UNC-4. Definition. UNC-5. The `uncertainties` package, independent readings.
def test_unc_4_and_5_difference_and_half_difference() -> None:
    readings = {
        "left_mm": measured("left", 412.0, resolution_u(1.0)),
        "right_mm": measured("right", 405.0, resolution_u(1.0)),
    }
    difference = propagate(lambda v: {"d": v["left_mm"] - v["right_mm"]}, readings)["d"]
    assert difference.u == pytest.approx(0.408248290, abs=1e-9)
    offset = evaluate("stand_sideways", readings)["stand_offset_left_mm"]
    # Read 412 left and 405 right, the stand sits 3.5 mm to the right.
    assert offset.value == -3.5
    assert offset.u == pytest.approx(0.204124145, abs=1e-9)


# UNC-7. JCGM 100:2008, 4.3.7 example 1, from memory.
def test_unc_7_thermal_coefficient() -> None:
    assert rectangular_u(0.40e-6) == pytest.approx(0.2309e-6, abs=1e-10)


# UNC-8. JCGM 100:2008, 5.2.2 example, from memory.
def test_unc_8_ten_equal_resistors() -> None:
    def in_series(values: dict[str, float]) -> dict[str, float]:
        return {"total": sum(values.values())}

    together = {f"r{i}": measured("the one standard", 1000.0, 0.1) for i in range(10)}
    apart = {f"r{i}": measured(f"standard {i}", 1000.0, 0.1) for i in range(10)}
    assert propagate(in_series, together)["total"].u == pytest.approx(1.0, abs=1e-9)
    assert propagate(in_series, apart)["total"].u == pytest.approx(0.316228, abs=1e-6)


# UNC-11. JCGM 100:2008, 5.2.2, read second hand, and definition.
def test_unc_11_correlation_of_two() -> None:
    def total(b: Measured) -> float:
        a = Measured(0.0, (("shared", 3.0),))
        return propagate(lambda v: {"y": v["a"] + v["b"]}, {"a": a, "b": b})["y"].u

    assert total(Measured(0.0, (("shared", 4.0),))) == pytest.approx(7.0)
    assert total(Measured(0.0, (("shared", -4.0),))) == pytest.approx(1.0)
    assert total(Measured(0.0, (("another", 4.0),))) == pytest.approx(5.0)


END_GAUGE_DOF = {
    "standard": 18.0, "repeats": 24.0, "random": 5.0, "systematic": 8.0,
    "expansion difference": 50.0, "temperature difference": 2.0,
}  # fmt: skip


def end_gauge() -> Measured:
    """JCGM 100:2008 H.1, lengths in nm; inputs read in the GTC example file."""
    difference = Measured(215.0, (("repeats", 5.8), ("random", 3.9), ("systematic", 6.7)))
    return propagate(
        lambda v: {"l": v["s"] + v["d"] - v["s"] * (v["da"] * v["t"] + v["a"] * v["dt"])},
        {
            "s": measured("standard", 50_000_623.0, 25.0),
            "d": difference,
            "da": measured("expansion difference", 0.0, rectangular_u(1e-6)),
            "a": measured("expansion", 11.5e-6, rectangular_u(2e-6)),
            "t": Measured(-0.1, (("mean temperature", 0.2), ("cycle", u_shaped_u(0.5)))),
            "dt": measured("temperature difference", 0.0, rectangular_u(0.05)),
        },
    )["l"]


# UNC-20 and UNC-21. JCGM 100:2008 H.1 in the GTC example file: read.
def test_unc_20_end_gauge() -> None:
    gauge = end_gauge()
    assert gauge.value == pytest.approx(50_000_838.0, abs=1e-6)
    assert gauge.u == pytest.approx(31.6639, abs=1e-4)
    parts = {name: abs(part) for name, part in gauge.contributions}
    assert parts["standard"] == pytest.approx(25.0, abs=1e-6)
    assert math.hypot(parts["repeats"], parts["random"], parts["systematic"]) == pytest.approx(
        9.7, abs=0.05
    )
    assert parts["expansion difference"] == pytest.approx(2.9, abs=0.05)
    assert parts["temperature difference"] == pytest.approx(16.6, abs=0.05)


def test_unc_21_end_gauge_degrees_of_freedom() -> None:
    assert effective_degrees_of_freedom(end_gauge(), END_GAUGE_DOF) == pytest.approx(
        16.7519, abs=1e-4
    )


# UNC-22. JCGM 100:2008 H.1, read second hand; the printed 93 comes from a rounded u.
def test_unc_22_end_gauge_expanded() -> None:
    assert t_factor(0.99, 16) == pytest.approx(2.920782, abs=1e-6)
    assert t_factor(0.99, 16) * end_gauge().u == pytest.approx(92.483, abs=1e-3)
    assert t_factor(0.99, 16) * end_gauge().u == pytest.approx(93.0, abs=1.0)
    # Not rounded down to 16 degrees of freedom the factor is a little smaller.
    dof = effective_degrees_of_freedom(end_gauge(), END_GAUGE_DOF)
    assert 2.8 < t_factor(0.99, dof) < t_factor(0.99, 16)


# UNC-28. JCGM 100:2008 Table G.2, read second hand.
@pytest.mark.parametrize(("level", "factor"), [(0.95, 2.12), (0.9545, 2.17), (0.99, 2.92)])
def test_unc_28_table_of_factors(level: float, factor: float) -> None:
    assert t_factor(level, 16) == pytest.approx(factor, abs=0.005)


# scipy.stats.t as oracle.
@given(level=st.floats(0.01, 0.9999), dof=st.floats(0.5, 1e4))
def test_any_factor_as_scipy_has_it(level: float, dof: float) -> None:
    assert t_factor(level, dof) == pytest.approx(
        float(student.ppf(0.5 + level / 2.0, dof)), rel=1e-7
    )


# UNC-23. Second-order terms of H.1, read in the GTC documentation.
def test_unc_23_end_gauge_second_order() -> None:
    found = bend(
        lambda v: {"l": v["s"] + v["d"] - v["s"] * (v["da"] * v["t"] + v["a"] * v["dt"])},
        {
            "s": measured("standard", 50_000_623.0, 25.0),
            "d": measured("difference", 215.0, math.hypot(5.8, 3.9, 6.7)),
            "da": measured("expansion difference", 0.0, rectangular_u(1e-6)),
            "a": measured("expansion", 11.5e-6, rectangular_u(2e-6)),
            "t": measured("temperature", -0.1, math.hypot(0.2, u_shaped_u(0.5))),
            "dt": measured("temperature difference", 0.0, rectangular_u(0.05)),
        },
    )["l"]
    assert found.u_first == pytest.approx(31.6639, abs=1e-4)
    assert found.u_second == pytest.approx(33.8065, abs=0.01)


# UNC-9. JCGM 100:2008 4.3.5, from memory: a fifty-fifty interval of half width a.
def test_unc_9_fifty_fifty() -> None:
    assert 1.0 / t_factor(0.5, math.inf) == pytest.approx(1.482602, abs=1e-6)


# UNC-26. JCGM 100:2008 H.3, the eleven pairs and results as GTC's example and documentation have
# them (read).
def test_unc_26_thermometer_fit() -> None:
    t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
    b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160]
    fit = least_squares([[1.0, item - 20.0] for item in t], b)
    spread = math.sqrt(math.fsum(r * r for r in fit.residuals) / (len(t) - 2))
    assert spread == pytest.approx(0.003497564, abs=1e-9)
    covariances = np.array(fit.unit_covariance) * spread**2
    level, slope = correlated(["level", "slope"], fit.coefficients, covariances)
    assert (level.value, slope.value) == pytest.approx((-0.171203790, 0.002182698), abs=1e-8)
    assert (level.u, slope.u) == pytest.approx((0.002877598, 0.000667939), abs=1e-8)
    assert correlation(level, slope) == pytest.approx(-0.930430, abs=1e-6)
    at_30 = propagate(lambda v: {"b": v["y1"] + 10.0 * v["y2"]}, {"y1": level, "y2": slope})["b"]
    assert at_30.value == pytest.approx(-0.149376813, abs=1e-8)
    assert at_30.u == pytest.approx(0.004138596, abs=1e-8)


# UNC-20, UNC-21 with GTC and with metrolopy as oracles, run here.
def test_end_gauge_as_gtc_and_metrolopy_have_it() -> None:
    gtc = pytest.importorskip("GTC")
    gummy = pytest.importorskip("metrolopy").gummy
    ours = end_gauge()
    for number, result in (
        (lambda value, u, dof=None: gtc.ureal(value, u, dof or math.inf), "gtc"),
        (lambda value, u, dof=None: gummy(value, u, dof=dof or math.inf), "gummy"),
    ):
        s = number(50_000_623.0, 25.0, 18)
        d = number(215.0, 5.8, 24) + number(0.0, 3.9, 5) + number(0.0, 6.7, 8)
        da, a = number(0.0, rectangular_u(1e-6), 50), number(11.5e-6, rectangular_u(2e-6))
        t = number(-0.1, 0.2) + number(0.0, u_shaped_u(0.5))
        dt = number(0.0, rectangular_u(0.05), 2)
        length = s + d - s * (da * t + a * dt)
        u, dof = (length.u, length.df) if result == "gtc" else (length.u, length.dof)
        assert ours.u == pytest.approx(float(u), rel=1e-6)
        assert effective_degrees_of_freedom(ours, END_GAUGE_DOF) == pytest.approx(
            float(dof), rel=1e-6
        )


# UNC-24. JCGM 100:2008 H.1.6, read second hand: it prints 25.6, from a u rounded to 9.7 first.
def test_unc_24_degrees_of_freedom_of_the_difference() -> None:
    difference = Measured(215.0, (("repeats", 5.8), ("random", 3.9), ("systematic", 6.7)))
    assert effective_degrees_of_freedom(difference, END_GAUGE_DOF) == pytest.approx(
        25.447, abs=1e-3
    )
    assert 9.7**4 / sum(
        part**4 / END_GAUGE_DOF[name] for name, part in difference.contributions
    ) == pytest.approx(25.6, abs=0.05)


# UNC-25. JCGM 100:2008 H.2 in GTC's example: read. GTC warns of round-off in the printed table.
def test_unc_25_resistance_reactance_impedance() -> None:
    u = np.array([3.2e-3, 9.5e-6, 7.5e-4])
    r = np.array([[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]])
    voltage, current, phase = correlated(
        ["V", "I", "phi"], [4.999, 19.661e-3, 1.04446], r * np.outer(u, u)
    )
    assert correlation(voltage, phase) == pytest.approx(0.86)

    def circuit(v: dict[str, float]) -> dict[str, float]:
        z = v["V"] / v["I"]
        return {"R": z * math.cos(v["phi"]), "X": z * math.sin(v["phi"]), "Z": z}

    found = propagate(circuit, {"V": voltage, "I": current, "phi": phase})
    for name, value, doubt in (
        ("R", 127.732, 0.06998),
        ("X", 219.847, 0.29572),
        ("Z", 254.260, 0.23660),
    ):
        assert found[name].value == pytest.approx(value, abs=6e-4)
        assert found[name].u == pytest.approx(doubt, abs=6e-5)
    assert correlation(found["R"], found["X"]) == pytest.approx(-0.5915, abs=1e-3)
    assert correlation(found["R"], found["Z"]) == pytest.approx(-0.4906, abs=1e-3)
    assert correlation(found["X"], found["Z"]) == pytest.approx(0.9928, abs=1e-3)


# UNC-27. JCGM 100:2008 G.4.1, read second hand.
def test_unc_27_welch_satterthwaite() -> None:
    result = Measured(1.0, (("a", 0.25), ("b", 0.57), ("c", 0.82)))
    assert result.u == pytest.approx(1.029466, abs=1e-6)
    dof = effective_degrees_of_freedom(result, {"a": 9.0, "b": 4.0, "c": 14.0})
    assert dof == pytest.approx(18.998742, abs=1e-6)


# UNC-29. EA-4/02 M, S2, read second hand.
def test_unc_29_ten_kilogram_weight() -> None:
    parts = {
        "standard": measured("standard", 0.0, 22.5),
        "drift": measured("drift", 0.0, rectangular_u(15.0)),
        "comparator": measured("comparator", 0.0, rectangular_u(25.0)),
        "eccentricity": measured("eccentricity", 0.0, rectangular_u(10.0)),
        "buoyancy": measured("buoyancy", 0.0, rectangular_u(10.0)),
    }
    weight = propagate(lambda v: {"m": sum(v.values())}, parts)["m"]
    assert weight.u == pytest.approx(29.2617, abs=1e-4)
    assert 2.0 * weight.u == pytest.approx(58.5235, abs=1e-4)


# The `uncertainties` package on our own longest chain: readings to aim, with shared readings.
def test_a_chain_with_shared_readings_as_the_uncertainties_package_has_it() -> None:
    ufloat = pytest.importorskip("uncertainties").ufloat
    umath = pytest.importorskip("uncertainties.umath")
    spots = {"left": (-6.0, 0.3), "right": (9.0, 0.4)}
    path, toe = (4700.0, 6.0), {"left": (0.2, 0.02), "right": (0.1, 0.03)}
    swing, level = (0.5, 0.05), (2.0, 0.3)

    axle = evaluate(
        "toe_from_angle",
        {f"toe_{side}_deg": measured(f"toe {side}", *toe[side]) for side in toe},
    )
    turn = evaluate(
        "stand_turn",
        {f"spot_{side}_mm": measured(f"spot {side}", *spots[side]) for side in spots}
        | {
            "path_mm": measured("path", *path),
            "run_out_left_deg": exact(0.0),
            "run_out_right_deg": exact(0.0),
            "total_toe_deg": axle["total_toe_deg"],
        },
    )
    aim = evaluate(
        "aim_error",
        {
            "vertex_swing_deg": measured("swing", *swing),
            "vertex_lean_deg": exact(0.0),
            "stand_turn_deg": turn["stand_turn_deg"],
            "plate_plumb_deg": evaluate(
                "plate_plumb", {"plumb_mm_per_m": measured("plumb", *level)}
            )["plate_plumb_deg"],
            "floor_slope_up_deg": exact(0.0),
        },
    )

    length = ufloat(*path)
    half = {side: umath.degrees(umath.atan(ufloat(*spots[side]) / length)) / 2 for side in spots}
    tau = -(half["left"] + half["right"]) / 2
    disagreement = half["left"] - half["right"] + ufloat(*toe["left"]) + ufloat(*toe["right"])
    yaw = ufloat(*swing) + tau
    assert turn["beam_disagreement_deg"].u == pytest.approx(disagreement.std_dev, rel=1e-6)
    assert aim["aim_yaw_deg"].value == pytest.approx(yaw.nominal_value, rel=1e-12)
    assert aim["aim_yaw_deg"].u == pytest.approx(yaw.std_dev, rel=1e-6)
    assert aim["aim_elevation_deg"].u == pytest.approx(
        umath.degrees(umath.atan(ufloat(*level) / 1000)).std_dev, rel=1e-6
    )
    oracle = pytest.importorskip("uncertainties").covariance_matrix([tau, disagreement])
    assert covariance(turn["stand_turn_deg"], turn["beam_disagreement_deg"]) == pytest.approx(
        oracle[0][1], rel=1e-5
    )


# GTC as oracle for the three-lean vertex, whose formula bends the most.
def test_the_echo_vertex_as_gtc_has_it() -> None:
    gtc = pytest.importorskip("GTC")
    values = {"lean": [(-3.0, 0.02), (0.0, 0.02), (3.0, 0.02)]}
    values["echo"] = [(28.0, 0.05), (31.5, 0.05), (30.0, 0.05)]
    inputs = {
        f"{kind}_{i + 1}_{unit}": measured(f"{kind} {i}", *pair)
        for kind, unit in (("lean", "deg"), ("echo", "db"))
        for i, pair in enumerate(values[kind])
    }
    ours = evaluate("echo_vertex", inputs)
    (x1, x2, x3), (y1, y2, y3) = ([gtc.ureal(*p) for p in values[k]] for k in ("lean", "echo"))
    # Lagrange's form, another route than the package's.
    d1, d2, d3 = (x1 - x2) * (x1 - x3), (x2 - x1) * (x2 - x3), (x3 - x1) * (x3 - x2)
    a = y1 / d1 + y2 / d2 + y3 / d3
    b = -(y1 * (x2 + x3) / d1 + y2 * (x1 + x3) / d2 + y3 * (x1 + x2) / d3)
    c = y1 * x2 * x3 / d1 + y2 * x1 * x3 / d2 + y3 * x1 * x2 / d3
    for name, oracle in (
        ("vertex_deg", -b / (2 * a)),
        ("beam_width_deg", gtc.sqrt(-24 / a)),
        ("peak_db", c - b * b / (4 * a)),
    ):
        assert ours[name].value == pytest.approx(gtc.value(oracle), rel=1e-9)
        assert ours[name].u == pytest.approx(gtc.uncertainty(oracle), rel=1e-4)


def test_the_oracles_above_ran_on_formulas_that_exist() -> None:
    assert {"stand_turn", "aim_error", "echo_vertex", "plate_plumb"} <= set(FORMULAS)
