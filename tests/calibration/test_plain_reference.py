"""What was written to be fast, held against the same arithmetic written plainly and slowly.

Thousands of random cases. The plain forms follow the definitions line by line, with dictionaries
and loops, and share nothing with the fast ones but the figures that both get.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.calibration.hypotheses import possible_stories
from companion.calibration.mount import Mount
from companion.calibration.plate import edge_ripple_db, peak_sensitivities
from companion.calibration.response import SETTING_U_TURNS, learn, prior_response
from companion.calibration.steps import steps_for, tip_travels
from companion.uncertainty.bounded import nearest_in_box
from companion.uncertainty.measured import Measured
from companion.uncertainty.redundancy import NOTICED, WRONG_BY, Lines
from tests.calibration.test_screws import MOUNT as TWO_SCREWS
from tests.calibration.test_three_screws import MOUNT as THREE_SCREWS

Array = NDArray[np.float64]
MOUNTS = (TWO_SCREWS, THREE_SCREWS)


def random_sets(
    random: np.random.Generator,
) -> tuple[list[tuple[Measured, Measured]], list[list[Measured]], list[str]]:
    """Sets, misfits with a take each, and the levels' names."""
    sets, takes = int(random.integers(1, 4)), int(random.integers(0, 4))
    levels = [f"level {n}" for n in range(5)]

    def result(take: int, share: float) -> Measured:
        names = [f"{level} #{take}" for level in levels]
        names += [f"figure {n}" for n in range(8)] + [f"level 0 digits {take}"]
        lines = [(n, float(random.normal())) for n in names if random.random() < share]
        return Measured(float(random.normal()), tuple(lines + lines[:1]))

    pairs = [(result(n, 0.9), result(n, 0.9)) for n in range(sets)]
    misfits = [[result(n, 0.7) for n in range(sets)] for _ in range(takes)]
    return pairs, misfits, levels


def plain_lines(results: Sequence[Measured]) -> dict[str, float]:
    """The mean's budget by name."""
    found: dict[str, float] = {}
    for result in results:
        for name, part in result.contributions:
            found[name] = found.get(name, 0.0) + part / len(results)
    return found


def plain_covariance(a: dict[str, float], b: dict[str, float]) -> float:
    return math.fsum(a[name] * b.get(name, 0.0) for name in a)


def group_of(line: str) -> str | None:
    """Two figures are one instrument; a scale's step is exact."""
    if " digits " in line:
        return None
    return "one instrument" if line in {"figure 0", "figure 1"} else line.partition(" #")[0]


def test_the_budget_of_sets_by_names() -> None:
    random = np.random.default_rng(17)
    for _ in range(1000):
        pairs, misfits, levels = random_sets(random)
        lines = Lines.of_sets(pairs, misfits)
        aim = [plain_lines([pair[axis] for pair in pairs]) for axis in (0, 1)]
        wrong = [plain_lines(takes) for takes in misfits]
        wrong = [misfit for misfit in wrong if misfit]
        variances = [plain_covariance(misfit, misfit) for misfit in wrong]
        whole = np.array([[plain_covariance(a, b) for b in aim] for a in aim])
        assert lines.covariance == pytest.approx(whole, abs=1e-9)
        for axis, values in enumerate(lines.mean):
            assert dict(values.contributions) == pytest.approx(
                {n: part for n, part in aim[axis].items() if part}, abs=1e-9
            )

        groups, spreads = lines.with_each_doubt_wrong(group_of)
        expected = {}
        names = list(dict.fromkeys([*aim[0], *aim[1]]))
        for group in dict.fromkeys(filter(None, map(group_of, names))):
            own = [
                name
                for name in names
                if group_of(name) == group
                and not (" #" in name and any(misfit.get(name) for misfit in wrong))
            ]
            if not own:
                continue
            seen = [
                sum(misfit.get(name, 0.0) ** 2 for name in own) / variance
                for misfit, variance in zip(wrong, variances, strict=True)
            ]
            if seen and 1.0 + (WRONG_BY**2 - 1.0) * sum(seen) / len(seen) >= NOTICED:
                continue
            parts = np.array([[axis.get(name, 0.0) for axis in aim] for name in own])
            expected[group] = whole + (WRONG_BY**2 - 1.0) * parts.T @ parts
        assert set(groups) == set(expected)
        for group, spread in zip(groups, spreads, strict=True):
            assert spread == pytest.approx(expected[group], abs=1e-9)

        values = np.array([np.mean([pair[axis].value for pair in pairs]) for axis in (0, 1)])
        left_out = lines.without_each(levels)
        plain = plain_without_each(levels, aim, values, whole, misfits)
        assert (left_out is None) == (plain is None)
        if left_out is not None and plain is not None:
            assert left_out[0] == pytest.approx(plain[0], rel=1e-9, abs=1e-9)
            assert left_out[1] == pytest.approx(plain[1], rel=1e-9, abs=1e-9)


def plain_without_each(
    levels: list[str],
    aim: list[dict[str, float]],
    values: Array,
    whole: Array,
    misfits: list[list[Measured]],
) -> tuple[Array, Array] | None:
    """Each level gets an error of its own, which the misfits tell by least squares."""
    means, covariances = [], []
    for level in levels:
        own = [
            name
            for name in dict.fromkeys([*aim[0], *aim[1]])
            if name.partition(" #")[0] == level and " #" in name
        ]
        move = np.array([sum(axis.get(name, 0.0) for name in own) for axis in aim])
        if not move.any():
            continue
        weight, pull = 0.0, 0.0
        for takes in misfits:
            budget = plain_lines(takes)
            variance = plain_covariance(budget, budget)
            if variance > 0.0:
                slope = sum(budget.get(name, 0.0) for name in own)
                weight += slope**2 / variance
                pull += slope * float(np.mean([take.value for take in takes])) / variance
        if weight < 1e-12:
            return None
        means.append(values - move * pull / weight)
        covariances.append(whole + np.outer(move, move) / weight)
    return (np.array(means), np.array(covariances)) if means else None


def random_turns(random: np.random.Generator, mount: Mount) -> list[Fraction]:
    turns = [Fraction(int(random.integers(-12, 13)), 4) for _ in mount.screws]
    return turns if any(turns) else [Fraction(1, 4), *turns[1:]]


def plain_stories(mount: Mount, turns: Sequence[Fraction]) -> set[tuple[tuple[Fraction, ...], ...]]:
    """Every way to do the steps with one slip, as each head's moves in order, without limits."""
    ids = [screw.id for screw in mount.screws]
    moves = [
        (ids.index(step.screw_id), step.turns if step.direction == "clockwise" else -step.turns)
        for step in steps_for(mount, turns)
    ]
    turned = sorted({index for index, _ in moves})
    done = [moves]
    for size in range(1, len(turned) + 1):
        for group in combinations(turned, size):
            done.append([(i, -turn if i in group else turn) for i, turn in moves])
            done.append([(i, turn) for i, turn in moves if i not in group])
    for index in turned:
        for other in range(len(ids)):
            done.append([(other if i == index else i, turn) for i, turn in moves])
            if other in turned:
                swap = {index: other, other: index}
                done.append([(swap.get(i, i), turn) for i, turn in moves])
    for at, (index, turn) in enumerate(moves):
        instead: list[list[tuple[int, Fraction]]] = [[], [(index, -turn)]]
        instead += [[(index, 2 * turn)], [(index, turn / 2)]]
        instead += [[(other, turn)] for other in range(len(ids))]
        done += [[*moves[:at], *one, *moves[at + 1 :]] for one in instead]
    return {
        tuple(tuple(turn for i, turn in one if i == index) for index in range(len(ids)))
        for one in done
    }


def test_every_slip_that_there_is_and_no_other() -> None:
    random = np.random.default_rng(23)
    for number in range(400):
        mount = MOUNTS[number % 2]
        turns = random_turns(random, mount)
        told = possible_stories(mount, turns)
        heads = {tuple(s.head_moves(i) for i in range(len(mount.screws))) for s in told}
        limited = {
            tuple(
                plain_within(moves, *screw.travel)
                for moves, screw in zip(one, mount.screws, strict=True)
            )
            for one in plain_stories(mount, turns)
        }
        assert heads == limited


def plain_within(
    moves: Sequence[Fraction], least: Fraction, most: Fraction
) -> tuple[Fraction, ...]:
    """The moves as far as the travel lets the head go."""
    made, stands = [], Fraction(0)
    for turn in moves:
        reached = min(max(stands + turn, min(least, Fraction(0))), max(most, Fraction(0)))
        made.append(reached - stands)
        stands = reached
    return tuple(made)


def test_the_tips_followed_move_by_move() -> None:
    random = np.random.default_rng(29)
    nodes = (0.5 - 0.15**0.5, 0.5, 0.5 + 0.15**0.5)
    for number in range(500):
        mount = MOUNTS[number % 2]
        count = len(mount.screws)
        heads = np.round(random.normal(size=(3, count, 4)) * 2.0) / 4.0
        settled = [bool(random.random() > 0.4) for _ in range(count)]
        mean, u = tip_travels(mount.screws, mount.approach, heads, settled)
        for story in range(3):
            for at, screw in enumerate(mount.screws):
                end = 1.0 if mount.approach == "clockwise" else -1.0
                found = []
                for side in (end, end) if settled[at] else (1.0, -1.0):
                    for node, weight in zip(nodes, (5.0, 8.0, 5.0), strict=True):
                        half = screw.backlash_turns * node / 2.0
                        tip, ahead = 0.0, half * side
                        for move in heads[story, at]:
                            ahead += move
                            follows = ahead - min(max(ahead, -half), half)
                            tip, ahead = tip + follows, ahead - follows
                        found.append((tip, weight / 36.0))
                middle = sum(tip * weight for tip, weight in found)
                spread = sum(weight * (tip - middle) ** 2 for tip, weight in found)
                assert mean[story, at] == pytest.approx(middle, abs=1e-9)
                assert u[story, at] == pytest.approx(math.sqrt(spread), abs=1e-7)


def test_what_a_move_teaches_by_matrices() -> None:
    random = np.random.default_rng(31)
    for number in range(500):
        mount = MOUNTS[number % 2]
        before = prior_response(mount)
        turns = [float(turn) for turn in random_turns(random, mount)]
        moved, root = random.normal(size=2), random.normal(size=(2, 2)) * 0.05
        noise = root @ root.T + 1e-6 * np.eye(2)
        design = np.kron(np.eye(2), np.array([turns]))
        covariance, mean = np.array(before.covariance), np.array(before.mean)
        setting = sum(
            SETTING_U_TURNS**2 * np.outer(mean[:, i], mean[:, i])
            for i, turn in enumerate(turns)
            if turn
        )
        innovation = design @ covariance @ design.T + setting + noise
        gain = covariance @ design.T @ np.linalg.inv(innovation)
        after = learn(before, turns, *moved, noise)
        expected = mean.ravel() + gain @ (moved - design @ mean.ravel())
        assert np.ravel(after.mean) == pytest.approx(expected, abs=1e-9)
        assert np.array(after.covariance) == pytest.approx(
            covariance - gain @ innovation @ gain.T, abs=1e-9
        )


def test_two_screws_by_a_linear_solver() -> None:
    random = np.random.default_rng(37)
    for _ in range(1000):
        matrix, wanted = random.normal(size=(2, 2)), random.normal(size=2)
        exact = np.linalg.solve(matrix, wanted)
        if np.abs(exact).max() < 50.0 and abs(np.linalg.det(matrix)) > 1e-3:
            found = nearest_in_box(matrix, wanted, [(-50.0, 50.0)] * 2, (1.0, 1.0))
            assert found == pytest.approx(exact, abs=1e-9)


def test_a_peak_moves_as_a_fitted_parabola_does() -> None:
    random = np.random.default_rng(41)
    for _ in range(500):
        leans = np.sort(random.uniform(-6.0, 6.0, size=5))
        if np.diff(leans).min() < 0.5:
            continue
        aim, width = random.uniform(-1.0, 1.0), random.uniform(8.0, 14.0)
        levels = -24.0 * ((leans - aim) / width) ** 2
        weights = peak_sensitivities(aim, leans.tolist(), width)
        for at, weight in enumerate(weights):
            tops = []
            for step in (1e-5, -1e-5):
                curve = np.polyfit(leans, levels + step * (np.arange(5) == at), 2)
                tops.append(-curve[1] / (2.0 * curve[0]))
            assert weight == pytest.approx((tops[0] - tops[1]) / 2e-5, abs=1e-6)


def test_edges_by_complex_waves() -> None:
    """Each edge's wave beside the mirror's own, by vectors and in field, not in decibels."""
    random = np.random.default_rng(43)
    for _ in range(1000):
        lean, aim = random.uniform(-5.0, 5.0), random.uniform(-1.0, 1.0)
        span, away = random.uniform(450.0, 900.0), random.uniform(1000.0, 1500.0)
        width, wave = random.uniform(8.0, 14.0), random.uniform(3.7, 4.0)
        told = edge_ripple_db(
            lean_deg=lean,
            aim_deg=aim,
            span_mm=span,
            distance_mm=away,
            beam_width_deg=width,
            wavelength_mm=wave,
        )
        face = np.array([-math.sin(math.radians(lean)), math.cos(math.radians(lean))])
        parts = []
        for side in (1.0, -1.0):
            place = np.array([away, 0.0]) + side * span / 2.0 * face
            foot = np.array([away, 0.0]) @ face
            from_foot = side * (span / 2.0 * side + foot)
            fresnel = 2.0 * from_foot / math.sqrt(wave * away)
            bearing = math.degrees(math.atan2(place[1], place[0]))
            # The beam passes once in power as it does twice in field: 12 (x / w)^2 dB.
            beam = [10.0 ** (-1.2 * ((angle - aim) / width) ** 2) for angle in (bearing, lean)]
            parts.append(beam[0] / beam[1] / (math.pi * math.sqrt(2.0) * fresnel))
        expected = 20.0 / math.log(10.0) * math.hypot(*parts)
        assert told == pytest.approx(expected, rel=1e-9)
