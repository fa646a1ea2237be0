"""Three leans give the radar's aim, its beam width, and a refusal when they cannot."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.echo import EchoPeak
from companion.calibration.formulas import evaluate
from companion.errors import MeasureError
from companion.uncertainty.measured import exact

PEAKS = st.builds(
    EchoPeak,
    vertex_deg=st.floats(-3.0, 3.0),
    beam_width_deg=st.floats(4.0, 30.0),
    peak_db=st.floats(10.0, 60.0),
)


def level_db(peak: EchoPeak, lean_deg: float) -> float:
    """Through a Gaussian beam twice: 24 dB at one beam width off its middle."""
    return peak.peak_db - 24.0 * ((lean_deg - peak.vertex_deg) / peak.beam_width_deg) ** 2


def three(peak: EchoPeak, leans: tuple[float, float, float]) -> dict[str, float]:
    inputs = {f"lean_{i + 1}_deg": exact(lean) for i, lean in enumerate(leans)}
    inputs |= {f"echo_{i + 1}_db": exact(level_db(peak, x)) for i, x in enumerate(leans)}
    return {name: item.value for name, item in evaluate("echo_vertex", inputs).items()}


@given(peak=PEAKS, order=st.permutations([-3.0, 0.5, 3.0]))
def test_three_leans_in_any_order_give_the_peak_back(peak: EchoPeak, order: list[float]) -> None:
    found = three(peak, (order[0], order[1], order[2]))
    assert found["vertex_deg"] == pytest.approx(peak.vertex_deg, abs=1e-8)
    assert found["beam_width_deg"] == pytest.approx(peak.beam_width_deg, rel=1e-8)
    assert found["peak_db"] == pytest.approx(peak.peak_db, abs=1e-8)


@given(peak=PEAKS)
def test_a_mirrored_swing_gives_the_mirrored_aim(peak: EchoPeak) -> None:
    mirrored = EchoPeak(-peak.vertex_deg, peak.beam_width_deg, peak.peak_db)
    here, there = three(peak, (-2.0, 0.0, 2.0)), three(mirrored, (-2.0, 0.0, 2.0))
    assert there["vertex_deg"] == pytest.approx(-here["vertex_deg"], abs=1e-9)


@pytest.mark.parametrize("levels", [(31.0, 29.0, 31.0), (30.0, 30.0, 30.0), (29.0, 30.0, 31.0)])
def test_levels_without_a_peak_are_refused(levels: tuple[float, float, float]) -> None:
    inputs = {f"lean_{i}_deg": exact(float(i)) for i in (1, 2, 3)}
    inputs |= {f"echo_{i}_db": exact(level) for i, level in enumerate(levels, start=1)}
    with pytest.raises(MeasureError, match="do not form a peak"):
        evaluate("echo_vertex", inputs)


def test_the_same_lean_twice_is_refused() -> None:
    inputs = {f"lean_{i}_deg": exact(lean) for i, lean in enumerate((0.0, 1.0, 1.0), start=1)}
    inputs |= {f"echo_{i}_db": exact(30.0) for i in (1, 2, 3)}
    with pytest.raises(MeasureError, match="same"):
        evaluate("echo_vertex", inputs)


def test_the_mean_of_two_distances_loses_the_ripple_that_half_their_difference_shows() -> None:
    levels = {"level_db": exact(60.3), "quarter_further_db": exact(59.7)}
    found = evaluate("two_distances", levels)
    assert found["mean_db"].value == pytest.approx(60.0)
    assert found["ripple_db"].value == pytest.approx(0.3)


@given(peak=PEAKS, leans=st.lists(st.integers(-12, 12), min_size=5, max_size=5, unique=True))
def test_five_leans_of_no_order_nor_symmetry_give_the_peak_back(
    peak: EchoPeak, leans: list[int]
) -> None:
    inputs = {"distance_mm": exact(1e9), "hinge_below_mm": exact(0.0)}
    for place, half_degrees in enumerate(leans, start=1):
        lean_deg = half_degrees / 2.0
        inputs[f"lean_{place}_deg"] = exact(lean_deg)
        # The plate's middle comes nearer by the cosine of its lean.
        nearer_db = 20.0 * math.log10(math.cos(math.radians(lean_deg)))
        inputs[f"echo_{place}_db"] = exact(level_db(peak, lean_deg) - nearer_db)
    found = {name: item.value for name, item in evaluate("echo_peak_of_five", inputs).items()}
    assert found["vertex_deg"] == pytest.approx(peak.vertex_deg, abs=1e-6)
    assert found["beam_width_deg"] == pytest.approx(peak.beam_width_deg, rel=1e-6)
    assert found["peak_db"] == pytest.approx(peak.peak_db, abs=1e-6)
    # A parabola leaves nothing over.
    assert found["misfit_1_db"] == pytest.approx(0.0, abs=1e-6)
    assert found["misfit_2_db"] == pytest.approx(0.0, abs=1e-6)


# Far from the plate, so that the hinge changes nothing but by the cosine of the lean.
FAR_AWAY = {"distance_mm": exact(1e9), "hinge_below_mm": exact(0.0)}


def known(
    peak: EchoPeak, leans: tuple[float, float, float], off_db: tuple[float, ...], width_deg: float
) -> dict[str, float]:
    nearer = 20.0 * np.log10(np.cos(np.radians(leans)))
    inputs = {f"lean_{i}_deg": exact(lean) for i, lean in enumerate(leans, start=1)}
    for i, (lean, off, less) in enumerate(zip(leans, off_db, nearer, strict=True), start=1):
        inputs[f"echo_{i}_db"] = exact(level_db(peak, lean) + off - less)
    inputs |= FAR_AWAY | {"beam_width_deg": exact(width_deg)}
    return {k: v.value for k, v in evaluate("echo_peak_of_known_width", inputs).items()}


@given(peak=PEAKS, order=st.permutations([-5.0, 0.5, 4.0]))
def test_a_known_width_gives_the_peak_back_and_nothing_is_left_over(
    peak: EchoPeak, order: list[float]
) -> None:
    found = known(peak, (order[0], order[1], order[2]), (0.0, 0.0, 0.0), peak.beam_width_deg)
    assert found["vertex_deg"] == pytest.approx(peak.vertex_deg, abs=1e-8)
    assert found["peak_db"] == pytest.approx(peak.peak_db, abs=1e-7)
    assert found["left_over_db"] == pytest.approx(0.0, abs=1e-7)


@given(peak=PEAKS, off=st.tuples(*[st.floats(-2.0, 2.0)] * 3), wrong=st.floats(0.9, 1.1))
def test_what_is_wrong_with_levels_or_width_is_as_a_straight_line_fitted_by_numpy_says(
    peak: EchoPeak, off: tuple[float, ...], wrong: float
) -> None:
    leans, width_deg = (-5.0, 0.5, 4.0), peak.beam_width_deg * wrong
    found = known(peak, leans, off, width_deg)
    levels = [level_db(peak, lean) + o for lean, o in zip(leans, off, strict=True)]
    straight = np.array(levels) + 24.0 * (np.array(leans) / width_deg) ** 2
    slope, at_zero = np.polyfit(leans, straight, 1)
    rest = straight - (at_zero + slope * np.array(leans))
    assert found["vertex_deg"] == pytest.approx(slope * width_deg**2 / 48.0, abs=1e-7)
    # All that is left over lies in one direction: its length is what is left of all three.
    assert abs(found["left_over_db"]) == pytest.approx(float(np.linalg.norm(rest)), abs=1e-7)


@given(peak=PEAKS, wrong=st.floats(0.5, 2.0))
def test_with_leans_alike_on_both_sides_the_way_does_not_hang_on_the_width(
    peak: EchoPeak, wrong: float
) -> None:
    right = known(peak, (5.0, 0.0, -5.0), (0.0, 0.0, 0.0), peak.beam_width_deg)["vertex_deg"]
    other = known(peak, (5.0, 0.0, -5.0), (0.0, 0.0, 0.0), wrong * peak.beam_width_deg)
    assert other["vertex_deg"] / wrong**2 == pytest.approx(right, abs=1e-8)
