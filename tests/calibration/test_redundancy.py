"""Left-over sums of five leans: misread levels, ripple, and the doubts that nothing checks."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm  # type: ignore[import-untyped]

from companion.calibration.formulas import evaluate
from companion.calibration.plate import peak_sensitivities
from companion.uncertainty.measured import Measured, exact, measured
from companion.uncertainty.redundancy import Lines, scatter_of_misfits
from companion.uncertainty.sets import Redundancy, judge_sets

LEANS_DEG = (5.0, 2.5, 0.0, -2.5, -5.0)
U_DB = 0.05


def peak_of(levels: np.ndarray) -> dict[str, Measured]:
    """Far from the plate, so that the hinge changes nothing."""
    inputs = {"distance_mm": exact(1e9), "hinge_below_mm": exact(0.0)}
    for n, (lean, level) in enumerate(zip(LEANS_DEG, levels, strict=True), 1):
        inputs[f"lean_{n}_deg"] = exact(lean)
        inputs[f"echo_{n}_db"] = measured(f"echo {n} #1", float(level), U_DB)
    return evaluate("echo_peak_of_five", inputs)


def levels_of(vertex_deg: float, width_deg: float = 12.0) -> np.ndarray:
    # The hinge's own correction is 20 log10 cos(lean) of the plate's distance.
    nearer = 20.0 * np.log10(np.cos(np.radians(LEANS_DEG)))
    return 60.0 - 24.0 * ((np.array(LEANS_DEG) - vertex_deg) / width_deg) ** 2 - nearer


def test_without_one_level_is_the_fit_through_the_other_four() -> None:
    """The judge is numpy's own polynomial fit, through four leans at a time."""
    generator = np.random.default_rng(4)
    for _ in range(20):
        raw = levels_of(0.2) + generator.normal(0.0, U_DB, 5)
        peak = peak_of(raw)
        aim = peak["vertex_deg"], measured("elevation", 0.0, 0.01)
        lines = Lines.of(aim, [peak["misfit_1_db"], peak["misfit_2_db"]])
        found = lines.without_each([f"echo {n}" for n in range(1, 6)])
        assert found is not None
        flat = raw + 20.0 * np.log10(np.cos(np.radians(LEANS_DEG)))
        for left_out, mean in enumerate(found[0]):
            c, s, _ = np.polyfit(np.delete(LEANS_DEG, left_out), np.delete(flat, left_out), 2)
            # A peak is no linear sum of its levels: to first order, a third of its doubt.
            assert mean[0] == pytest.approx(-s / (2.0 * c), abs=0.01)


def test_the_misfits_are_chi_square_of_two_and_see_ripple() -> None:
    generator = np.random.default_rng(5)

    def chi_squares(ripple_db: float) -> np.ndarray:
        found = []
        for _ in range(800):
            waves = ripple_db * np.cos(generator.uniform(0.0, 2.0 * np.pi, 5))
            peak = peak_of(levels_of(0.3) + generator.normal(0.0, U_DB, 5) + waves)
            found.append(scatter_of_misfits([peak["misfit_1_db"], peak["misfit_2_db"]]).chi_square)
        return np.array(found)

    honest = chi_squares(0.0)
    assert honest.mean() == pytest.approx(2.0, abs=0.25)
    # exp(-x / 2) lies beyond x for two degrees of freedom.
    assert np.mean(honest > 5.99) == pytest.approx(0.05, abs=0.025)
    assert chi_squares(0.15).mean() == pytest.approx(2.0 + 0.15**2 / U_DB**2, rel=0.15)


def test_what_the_misfits_do_not_see_gives_no_answer() -> None:
    aim = measured("left spot #1", 0.1, 0.02), exact(0.0)
    lines = Lines.of(aim, [measured("echo #1", 0.0, 0.05)])
    assert lines.without_each(["left spot"]) is None


def test_one_figure_of_the_files_is_wrong_in_all_its_lines_together() -> None:
    aim = (
        Measured(
            0.1, (("a: heads", 0.01), ("b: heads", 0.01), ("c: bar", 0.01), ("echo #1", 0.02))
        ),
        Measured(0.0, (("a: heads", 0.005),)),
    )
    misfit = measured("echo #1", 0.0, 0.05)
    groups, spreads = Lines.of(aim, [misfit]).with_each_doubt_wrong(
        lambda line: line.partition(": ")[2]
    )
    assert groups == ("heads", "bar")
    assert spreads[0][0, 0] == pytest.approx(9 * 2e-4 + 1e-4 + 4e-4)
    assert spreads[0][0, 1] == pytest.approx(9 * 0.01 * 0.005)
    assert spreads[1][0, 0] == pytest.approx(2e-4 + 9e-4 + 4e-4)


def test_the_peaks_sensitivities_are_those_of_a_moved_level() -> None:
    found = peak_sensitivities(0.2, LEANS_DEG, 12.0)
    base = levels_of(0.2) + 20.0 * np.log10(np.cos(np.radians(LEANS_DEG)))
    for index, slope in enumerate(found):
        moved = base.copy()
        moved[index] += 1e-4
        c, s, _ = np.polyfit(LEANS_DEG, moved, 2)
        assert (-s / (2.0 * c) - 0.2) / 1e-4 == pytest.approx(slope, rel=1e-3)


def wrong_ones(misfit_of_hinge: float, misfit_of_ripple: float) -> tuple[str, ...]:
    aim = (
        Measured(0.1, (("a: hinge", 0.02), ("b: ripple", 0.02), ("echo #1", 0.01))),
        Measured(0.0, (("c: bar", 0.01),)),
    )
    parts = (("a: hinge", misfit_of_hinge), ("b: ripple", misfit_of_ripple), ("echo #1", 0.05))
    groups, spreads = Lines.of(aim, [Measured(0.0, parts)]).with_each_doubt_wrong(
        lambda line: line.partition(": ")[2] or line
    )
    assert len(groups) == len(spreads)
    return groups


def test_a_figure_counts_as_checked_where_the_misfits_would_show_it_wrong() -> None:
    """Three times as large, ripple of half a level's own noise raises the mean square to 2.6."""
    assert wrong_ones(0.0, 0.025) == ("hinge", "bar")
    # A trace of it in the misfits shows nobody anything, however large it stands in the aim.
    assert wrong_ones(1e-6, 0.025) == ("hinge", "bar")
    assert wrong_ones(1e-6, 0.005) == ("hinge", "ripple", "bar")


def test_of_doubts_that_make_no_difference_the_largest_is_named() -> None:
    sets = [
        (
            Measured(0.0, (("a: small", 0.001), ("b: large", 0.004))),
            Measured(0.0, (("a: small", 0.001), ("b: large", 0.004))),
        )
    ]
    judged = judge_sets(
        sets,
        (0.4, 0.4),
        0.95,
        1,
        4,
        redundancy=Redundancy(group_of=lambda line: line.partition(": ")[2]),
    )
    assert judged.wrong == "large"


def test_the_table_tells_the_misfits_scatter_as_the_misfits_themselves_do() -> None:
    misfits = [measured("echo 1 #1", 0.1, 0.05), measured("echo 2 #1", -0.02, 0.04)]
    found = Lines.of((exact(0.0), exact(0.0)), misfits).scatter_of_misfits()
    alone = scatter_of_misfits(misfits)
    assert found.degrees_of_freedom == alone.degrees_of_freedom == 2
    assert found.chi_square == pytest.approx(alone.chi_square) == pytest.approx(4.0 + 0.25)


def test_inside_bears_a_figure_that_nothing_checks_three_times_as_wrong() -> None:
    """The judge is scipy's normal distribution; elevation is far from its limits."""
    figures = Redundancy(group_of=lambda line: None if "#" in line else line)
    answers = []
    for yaw_deg in (0.05, 0.25, 0.39):
        yaw = Measured(yaw_deg, (("figure", 0.05), ("yaw #1", 0.03)))
        elevation = Measured(0.0, (("elevation #1", 0.03),))
        as_entered = judge_sets([(yaw, elevation)], (0.4, 0.4), 0.95, 1, 1)
        judged = judge_sets([(yaw, elevation)], (0.4, 0.4), 0.95, 1, 1, redundancy=figures)
        wrong_by_three = norm(yaw_deg, np.hypot(3.0 * 0.05, 0.03))
        assert judged.wrong == "figure"
        assert judged.probability_if_wrong == pytest.approx(
            wrong_by_three.cdf(0.4) - wrong_by_three.cdf(-0.4), abs=1e-4
        )
        answers.append((as_entered.answer, judged.answer))
    assert answers == [("inside", "inside"), ("inside", "too_close"), ("too_close", "too_close")]


@pytest.mark.parametrize(
    ("misfits_in_u", "answer", "widened_by"),
    [((0.5, -0.5), "inside", 1.0), ((2.0, -2.0), "too_close", 2.0), ((5.0, 5.0), "refused", None)],
)
def test_misfits_larger_than_their_doubt_widen_what_stands_in_them_or_refuse(
    misfits_in_u: tuple[float, float], answer: str, widened_by: float | None
) -> None:
    """Two misfits, each so many times its own doubt; the judge is scipy's normal distribution."""
    yaw = Measured(0.3, (("echo 1 #1", 0.04), ("echo 2 #1", 0.03), ("bar", 0.02)))
    elevation = Measured(0.0, (("bar", 0.01),))
    misfits = [
        [Measured(0.05 * misfits_in_u[0], (("echo 1 #1", 0.05),))],
        [Measured(0.05 * misfits_in_u[1], (("echo 2 #1", 0.05),))],
    ]
    judged = judge_sets(
        [(yaw, elevation)], (0.4, 0.4), 0.95, 1, 1, redundancy=Redundancy(misfits=misfits)
    )
    assert judged.answer == answer
    if widened_by is not None:
        as_shown = norm(0.3, np.hypot(widened_by * 0.05, 0.02))
        inside = as_shown.cdf(0.4) - as_shown.cdf(-0.4)
        assert judged.probability_inside == pytest.approx(inside, abs=1e-4)


def test_a_misfit_without_any_doubt_shows_no_figure_wrong_and_hides_none() -> None:
    """It is as if it were not there: the others' mean is not thinned by it."""
    aim = (Measured(0.1, (("a: ripple", 0.02), ("echo #1", 0.01))), measured("echo #2", 0.0, 0.01))
    seen = Measured(0.0, (("a: ripple", 0.025), ("echo #1", 0.05)))
    for misfits in ([seen], [seen, exact(0.0)], [exact(0.0), seen, exact(0.0)]):
        groups, _ = Lines.of(aim, misfits).with_each_doubt_wrong(
            lambda line: line.partition(": ")[2] or None
        )
        assert groups == ()
    groups, _ = Lines.of(aim, [exact(0.0)]).with_each_doubt_wrong(
        lambda line: line.partition(": ")[2] or None
    )
    assert groups == ("ripple",)
