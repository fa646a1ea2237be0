"""Three leans or more give the radar's aim, its beam width, and a refusal when they cannot."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.calibration.echo import EchoPeak, echo_level_db, fit_echo, fit_echo_measured
from companion.calibration.formulas import evaluate
from companion.errors import MeasureError
from companion.uncertainty.measured import exact, measured

PEAKS = st.builds(
    EchoPeak,
    vertex_deg=st.floats(-3.0, 3.0),
    beam_width_deg=st.floats(4.0, 30.0),
    peak_db=st.floats(10.0, 60.0),
)


def three(peak: EchoPeak, leans: tuple[float, float, float]) -> dict[str, float]:
    inputs = {f"lean_{i + 1}_deg": exact(lean) for i, lean in enumerate(leans)}
    inputs |= {f"echo_{i + 1}_db": exact(echo_level_db(peak, x)) for i, x in enumerate(leans)}
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


@given(peak=PEAKS, leans=st.lists(st.integers(-6, 6), min_size=3, max_size=9, unique=True))
def test_more_leans_fit_the_same_peak_with_nothing_left_over(
    peak: EchoPeak, leans: list[int]
) -> None:
    fit = fit_echo([float(x) for x in leans], [echo_level_db(peak, float(x)) for x in leans])
    assert fit.peak.vertex_deg == pytest.approx(peak.vertex_deg, abs=1e-6)
    assert fit.peak.beam_width_deg == pytest.approx(peak.beam_width_deg, rel=1e-6)
    assert max(abs(item) for item in fit.residuals_db) < 1e-8
    assert (fit.residual_sd_db is None) == (len(leans) == 3)


def test_one_misread_level_stands_out_among_five() -> None:
    peak = EchoPeak(0.4, 10.0, 31.0)
    leans = [-4.0, -2.0, 0.0, 2.0, 4.0]
    levels = [echo_level_db(peak, lean) for lean in leans]
    levels[1] += 2.0
    fit = fit_echo(leans, levels)
    assert max(range(5), key=lambda index: abs(fit.residuals_db[index])) == 1
    assert fit.residual_sd_db is not None
    assert fit.residual_sd_db > 0.5


def test_more_leans_leave_less_doubt_than_three() -> None:
    peak = EchoPeak(0.4, 10.0, 31.0)

    def doubt(leans: list[float]) -> float:
        return fit_echo_measured(
            [exact(lean) for lean in leans],
            [measured(f"e{lean}", echo_level_db(peak, lean), 0.05) for lean in leans],
        )["vertex_deg"].u

    assert doubt([-4.0, -2.0, 0.0, 2.0, 4.0]) < doubt([-4.0, 0.0, 4.0])


def test_three_leans_by_either_route_carry_the_same_doubt() -> None:
    leans = [measured(f"l{x}", x, 0.02) for x in (-3.0, 0.0, 3.0)]
    echoes = [measured(f"e{y}", y, 0.05) for y in (28.0, 31.5, 30.0)]
    names = {f"lean_{i + 1}_deg": item for i, item in enumerate(leans)}
    names |= {f"echo_{i + 1}_db": item for i, item in enumerate(echoes)}
    direct, fitted = evaluate("echo_vertex", names), fit_echo_measured(leans, echoes)
    for output in ("vertex_deg", "beam_width_deg", "peak_db"):
        assert fitted[output].value == pytest.approx(direct[output].value)
        assert fitted[output].u == pytest.approx(direct[output].u, rel=1e-5)


@pytest.mark.parametrize("levels", [(31.0, 29.0, 31.0), (30.0, 30.0, 30.0), (29.0, 30.0, 31.0)])
def test_levels_without_a_peak_are_refused(levels: tuple[float, float, float]) -> None:
    inputs = {f"lean_{i}_deg": exact(float(i)) for i in (1, 2, 3)}
    inputs |= {f"echo_{i}_db": exact(level) for i, level in enumerate(levels, start=1)}
    with pytest.raises(MeasureError, match="do not form a peak"):
        evaluate("echo_vertex", inputs)
    with pytest.raises(MeasureError, match="do not form a peak"):
        fit_echo([1.0, 2.0, 3.0], levels)


def test_the_same_lean_twice_is_refused() -> None:
    inputs = {f"lean_{i}_deg": exact(lean) for i, lean in enumerate((0.0, 1.0, 1.0), start=1)}
    inputs |= {f"echo_{i}_db": exact(30.0) for i in (1, 2, 3)}
    with pytest.raises(MeasureError, match="same"):
        evaluate("echo_vertex", inputs)
    with pytest.raises(MeasureError, match="three different leans"):
        fit_echo([0.0, 1.0, 1.0, 0.0], [30.0, 31.0, 31.1, 30.1])
    with pytest.raises(MeasureError, match="three or more"):
        fit_echo([0.0, 1.0], [30.0, 31.0])
