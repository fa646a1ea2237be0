"""`hostile_decisions` for a whole row at once: the same decision in numpy, formula by formula.

Not the package's code, and no judge of it: `test_hostile.py` holds each step of it to the scalar
arithmetic, so that what is counted here is what the package would have decided.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincc

from companion.uncertainty.agreement import REFUSED_BELOW
from companion.uncertainty.bivariate import below, box_probability
from companion.uncertainty.measured import rectangular_u
from companion.uncertainty.redundancy import NOTICED, WRONG_BY
from companion.uncertainty.sequential import levels_at
from companion.uncertainty.sets import LEAST_U_DEG
from companion.uncertainty.taking import own_to_a_take
from tests.benchmarks.hostile_bay import (
    DISTANCE_MM,
    LEANS_DEG,
    PATH_MM,
    WAVELENGTH_MM,
    Array,
    Drawn,
    Sizes,
)
from tests.benchmarks.hostile_decisions import (
    BEAM_AGREEMENT_DEG,
    CONFIDENCE,
    LEVELS,
    LIMIT_DEG,
    MOST_LOOKS,
    SIDES,
    TOOL,
    WIDTH_AGREEMENT,
    WIDTHS_DEG,
    rests_on,
    ride_u,
    tool_doubts,
    u_of_level,
)
from tests.benchmarks.many_measured import (
    Many,
    covariance_of,
    lines_together,
    many,
    mean_of_many,
    outer,
    propagate_many,
    scaled,
    takes,
)

Bools = NDArray[np.bool_]
ManyPair = tuple[Many, Many]
SURE_OF_A_CHECK = 0.99


@dataclass(frozen=True)
class ManyOutcomes:
    """As `hostile_decisions.Outcome`, n each."""

    inside: Bools
    noticed: Bools
    would_be_inside: Bools
    covered: NDArray[np.int64]


@dataclass(frozen=True)
class ManyJudged:
    """As `uncertainty.sets.Judged`, n each."""

    aim: ManyPair
    probability_inside: Array
    level: Array
    probability_if_wrong: Array
    factor: Array
    refused: Bools
    outside: Bools
    stands_alone: Bools


@dataclass(frozen=True)
class Measurement:
    """All sets of n bays: the first one is that of the screws' earlier position, if there is one.

    `no_peak`: levels without a peak at all; `widths_fit`, with the beam that the file states.
    """

    sets: list[ManyPair]
    misfits: list[list[Many]]
    widths_fit: list[Bools]
    no_peak: list[Bools]
    beams_disagree: Bools


def decide_many(found: Measurement, drawn: Drawn, sizes: Sizes, foreseen: Bools) -> ManyOutcomes:
    """All looks at one position of the screws of n bays. `foreseen`: one set may do."""
    count = len(drawn.aim_yaw_deg)
    noticed = found.beams_disagree | found.no_peak[0]
    said, would = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
    covered = np.zeros(count, dtype=np.int64)
    rows = np.flatnonzero(~found.no_peak[0])
    for look in range(1, MOST_LOOKS + 1):
        noticed[rows] |= ~found.widths_fit[look][rows] | found.no_peak[look][rows]
        rows = rows[~found.no_peak[look][rows]]
        if not len(rows):
            break
        judged = judge_many(found, drawn, sizes, look, rows)
        if look == 1:
            truths = (drawn.aim_yaw_deg[rows], drawn.aim_elevation_deg[rows])
            for axis, truth in zip(judged.aim, truths, strict=True):
                covered[rows] += np.abs(axis.values - truth) <= 1.96 * axis.u
        noticed[rows] |= judged.refused
        surely = np.minimum(judged.probability_inside, judged.probability_if_wrong)
        inside = surely >= judged.level
        inside &= (look > 1) | foreseen[rows] | judged.stands_alone
        would[rows[inside]] = True
        said[rows[inside]] = ~noticed[rows[inside]]
        outside = judged.outside & ~judged.refused
        rows = rows[~inside & ~outside & ~noticed[rows]]
    return ManyOutcomes(said, noticed, would, covered)


def measured_by_echo(drawn: Drawn, sizes: Sizes) -> Measurement:
    """Every set's aim with its doubt, by the echo."""
    turn, disagreement = _stand_turn(drawn, sizes)
    levels = np.concatenate((drawn.before_db, drawn.levels_db), axis=1)
    by_level = [
        takes(
            name, levels[:, :, place], resolution=sizes.echo_step_db, scatters=sizes.echo_noise_db
        )
        for place, name in enumerate(LEVELS)
    ]
    lies = {
        "turn": turn,
        "plumb": _plumb(drawn, sizes),
        "floor": many("line laser", drawn.floor_slope_deg, sizes.line_laser_deg),
        "body": many("ride heights", drawn.nose_up_deg, ride_u(sizes)).plus(
            "pitch after lifting", sizes.settled_pitch_deg
        ),
    }
    sets, misfits, fits, flat = [], [], [], []
    for take in range(levels.shape[1]):
        echoes = {name: by_level[place][take] for place, name in enumerate(LEVELS)}
        vertices, left_over, fit, no_peak = _peaks(echoes, sizes)
        aim = propagate_many(_aim_error, {**vertices, **lies})
        sets.append((aim["yaw"], aim["elevation"]))
        misfits.append(left_over)
        fits.append(fit)
        flat.append(no_peak)
    disagrees = _contradicts(disagreement, -BEAM_AGREEMENT_DEG, BEAM_AGREEMENT_DEG)
    return Measurement(sets, misfits, fits, flat, disagrees)


def measured_by_tool(drawn: Drawn, sizes: Sizes) -> Measurement:
    """Every set's aim as a scan tool states it."""
    by_axis = [
        takes(name, drawn.tool_deg[:, :, axis], **tool_doubts(sizes))
        for axis, name in enumerate(TOOL)
    ]
    sets = list(zip(*by_axis, strict=True))
    never = np.zeros(len(drawn.tool_deg), dtype=bool)
    times = len(sets) + 1
    return Measurement([sets[0], *sets], [], [~never] * times, [never] * times, never)


def _aim_error(v: dict[str, Array]) -> dict[str, Array]:
    return {
        "yaw": v["swing"] + v["turn"],
        "elevation": v["lean"] - v["plumb"] - v["floor"] - v["body"],
    }


def _contradicts(value: Many, low: float | Array, high: float | Array) -> Bools:
    """As `conformity.contradicts`: surely beyond its limits."""
    inside = below((high - value.values) / value.u) - below((low - value.values) / value.u)
    surely: Bools = inside <= 1.0 - SURE_OF_A_CHECK
    return surely


def _plumb(drawn: Drawn, sizes: Sizes) -> Many:
    (reading,) = takes(
        "plumb",
        drawn.plumb_mm_per_m[:, None],
        resolution=0.1,
        scatters=0.05,
        stays=sizes.plumb_scale_mm_per_m,
    )
    return propagate_many(
        lambda v: {"plumb": np.degrees(np.arctan(v["mm_per_m"] / 1000.0))}, {"mm_per_m": reading}
    )["plumb"]


def _stand_turn(drawn: Drawn, sizes: Sizes) -> tuple[Many, Many]:
    count = len(drawn.aim_yaw_deg)
    path = many("path", np.full(count, PATH_MM), 10.0)
    inputs = {"path": path, "toe": many("toe sheet", np.zeros(count), 0.014)}
    for number, side in enumerate(SIDES):
        grows = 1.0 if side == "left" else -1.0
        readings = drawn.run_outs_mm[:, number]
        quarters = {
            str(90 * n): takes(
                f"{side} run-out {n}",
                readings[:, n : n + 1],
                resolution=1.0,
                scatters=sizes.run_out_noise_mm,
            )[0]
            for n in range(4)
        }

        def heading(v: dict[str, Array], grows: float = grows) -> dict[str, Array]:
            back = np.radians(v["back"])
            now = (v["0"] - v["180"]) / 2.0 * np.cos(back)
            now = now + (v["90"] - v["270"]) / 2.0 * np.sin(back)
            return {"heading": np.degrees(np.arctan(grows * now / v["path"]))}

        back = many(f"{side} wheel back", np.zeros(count), sizes.wheel_back_deg)
        found = propagate_many(heading, {**quarters, "path": path, "back": back})["heading"]
        inputs[f"run-out {side}"] = found.plus(f"{side} head square", sizes.head_out_deg).plus(
            f"{side} toe after lifting", sizes.settled_toe_deg
        )
        (inputs[f"spot {side}"],) = takes(
            f"spot {side}",
            drawn.spots_mm[:, number : number + 1],
            resolution=1.0,
            scatters=sizes.spot_noise_mm,
        )

    def turned(v: dict[str, Array]) -> dict[str, Array]:
        left, right = (np.degrees(np.arctan(v[f"spot {side}"] / v["path"])) / 2.0 for side in SIDES)
        of_left, of_right = v["run-out left"], v["run-out right"]
        return {
            "turn": (of_left - left + of_right - right) / 2.0,
            "disagreement": left - right - (of_left - of_right - v["toe"]),
        }

    both = propagate_many(turned, inputs)
    return both["turn"].plus("plate to bar", sizes.plate_to_bar_deg), both["disagreement"]


def _peaks(
    echoes: dict[str, Many], sizes: Sizes
) -> tuple[dict[str, Many], list[Many], Bools, Bools]:
    """Both axes' peaks, what no parabola explains, whether widths fit, where there is no peak."""
    count = len(echoes[LEVELS[0]].values)
    fit, flat = np.ones(count, dtype=bool), np.zeros(count, dtype=bool)
    vertices: dict[str, Many] = {}
    misfits: list[Many] = []
    for axis in ("lean", "swing"):
        inputs = {
            "distance": many("plate distance", np.full(count, DISTANCE_MM), 2.0),
            "hinge": many(f"{axis} hinge", np.zeros(count), sizes.hinge_mm),
        }
        for n, lean in enumerate(LEANS_DEG):
            place = "upright" if n == 2 else f"{axis} {n}"
            echo = echoes["echo lean 2" if n == 2 else f"echo {axis} {n}"]
            inputs[f"echo {n}"] = echo.plus(f"ripple {place}", sizes.ripple_db / math.sqrt(2.0))
            inputs[f"lean {n}"] = many(f"detent {axis} {n}", np.full(count, lean), sizes.detent_deg)
        peak = propagate_many(lambda v, flat=flat: _peak_of_five(v, flat), inputs)
        misfits += [peak["misfit 1"], peak["misfit 2"]]
        wanted = WIDTHS_DEG[axis]
        slack = WIDTH_AGREEMENT * wanted
        fit &= ~_contradicts(peak["width"], wanted - slack, wanted + slack)
        vertices[axis] = _with_plate(peak["vertex"], axis, sizes)
    return vertices, misfits, fit, flat


def _peak_of_five(v: dict[str, Array], flat: Bools) -> dict[str, Array]:
    """`echo.echo_peak_of_five`; where the levels form no peak, `flat` is set."""
    leans = np.stack([v[f"lean {n}"] for n in range(5)])
    angle = np.radians(leans)
    face = v["distance"] * np.cos(angle) - v["hinge"] * np.sin(angle)
    levels = np.stack([v[f"echo {n}"] for n in range(5)]) + 20.0 * np.log10(face / v["distance"])
    about = leans.mean(axis=0)
    x = leans - about
    mean_square = (x * x).mean(axis=0)
    of_curvature, of_slope = _parabola_weights(x, mean_square)
    curvature = (of_curvature * levels).sum(axis=0)
    slope = (of_slope * levels).sum(axis=0)
    no_peak = ~(curvature < -1e-3)
    flat |= no_peak
    curvature = np.where(no_peak, -1.0, curvature)
    third, fourth = _misfit_weights(leans)
    return {
        "vertex": about - slope / (2.0 * curvature),
        "width": np.sqrt(24.0 / -curvature),
        "misfit 1": (third * levels).sum(axis=0),
        "misfit 2": (fourth * levels).sum(axis=0),
    }


def _parabola_weights(x: Array, mean_square: Array) -> tuple[Array, Array]:
    y = x * x - mean_square
    xx, yy, xy = mean_square * len(x), (y * y).sum(axis=0), (x * y).sum(axis=0)
    spread = xx * yy - xy * xy
    return (xx * y - xy * x) / spread, (yy * x - xy * y) / spread


def _misfit_weights(leans: Array) -> tuple[Array, Array]:
    products = [
        np.prod([leans[i] - leans[j] for j in range(5) if j != i], axis=0) for i in range(5)
    ]
    fourth = 1.0 / np.array(products)
    fourth = fourth / np.sqrt((fourth * fourth).sum(axis=0))
    third = fourth * (leans - (fourth * fourth * leans).sum(axis=0))
    return third / np.sqrt((third * third).sum(axis=0)), fourth


def _with_plate(vertex: Many, axis: str, sizes: Sizes) -> Many:
    """The doubt of the plate's edges and flatness on top, as `plate` has them."""
    span, leans = sizes.plate_span_mm, np.array(LEANS_DEG)
    width = WIDTHS_DEG[axis]
    x = leans - leans.mean()
    of_curvature, of_slope = _parabola_weights(x, np.float64((x * x).mean()))
    total = np.zeros_like(vertex.values)
    for n, lean_deg in enumerate(LEANS_DEG):
        lean = math.radians(lean_deg)
        ripple = np.zeros_like(vertex.values)
        for side in (1.0, -1.0):
            half = side * span / 2.0
            nearest = span / 2.0 - side * DISTANCE_MM * math.sin(lean)
            v = 2.0 * nearest / math.sqrt(WAVELENGTH_MM * DISTANCE_MM)
            at_edge = math.degrees(
                math.atan2(half * math.cos(lean), DISTANCE_MM - half * math.sin(lean))
            )
            off = (at_edge - vertex.values) ** 2 - (lean_deg - vertex.values) ** 2
            part = 10.0 ** (-12.0 * off / width**2 / 10.0) / (math.pi * math.sqrt(2.0) * v)
            ripple = ripple + part * part
        doubt = 20.0 / math.log(10.0) * np.sqrt(ripple) / math.sqrt(2.0)
        moves = (of_slope[n] + 2.0 * (vertex.values - leans.mean()) * of_curvature[n]) / (
            48.0 / width**2
        )
        total = total + (moves * doubt) ** 2
    flatness = rectangular_u(math.degrees(math.atan(4.0 * sizes.flatness_mm / span)))
    edges = vertex.plus(f"plate edges {axis}", np.sqrt(total))
    return edges.plus(f"plate flatness {axis}", flatness)


def judge_many(
    found: Measurement, drawn: Drawn, sizes: Sizes, look: int, rows: NDArray[np.intp]
) -> ManyJudged:
    """`sets.judge_sets` of the first `look` sets of these rows."""
    count = len(rows)
    sets = [(yaw.of(rows), elevation.of(rows)) for yaw, elevation in found.sets[1 : look + 1]]
    misfits = [
        mean_of_many([item.of(rows) for item in of_sets])
        for of_sets in zip(*found.misfits[: look + 1], strict=True)
    ]
    if misfits:
        noise = _of_levels(drawn.levels_db[rows, :look], u_of_level(sizes))
        ripple = _held_against(
            np.sum([(item.values / item.u) ** 2 for item in misfits], axis=0), len(misfits)
        )
    else:
        noise = _between(sets)
        ripple = np.ones(count), np.zeros(count, dtype=bool)
    seen = frozenset(name for item in misfits for name, part in item.parts.items() if np.any(part))
    sets = [
        (scaled(yaw, noise[0], ripple[0], seen), scaled(elevation, noise[0], ripple[0], seen))
        for yaw, elevation in sets
    ]
    so_far = [_mean_of_sets(sets[: n + 1]) for n in range(look)]
    aim = so_far[-1]
    lines = lines_together(aim)
    base = covariance_of(lines.values(), count)
    values = np.stack([aim[0].values, aim[1].values], axis=-1)
    level = np.maximum(*(_level_at(look, so_far, axis) for axis in (0, 1)))
    probability = _inside(values, base)
    groups: dict[str, Array] = {}
    in_misfits: dict[str, Array] = {}
    zero = np.zeros(count)
    for name, parts in lines.items():
        group = None if " #" in name and name in seen else rests_on(name)
        if group is not None:
            groups[group] = groups.get(group, np.zeros((count, 2, 2))) + outer(parts)
            shares = [item.parts.get(name, zero) ** 2 / item.u**2 for item in misfits]
            in_misfits[group] = in_misfits.get(group, zero) + np.sum(shares or [zero], axis=0)
    if_wrong = np.ones(count)
    for group, more in groups.items():
        wider = _inside(values, base + (WRONG_BY**2 - 1.0) * more)
        times = 1.0 + (WRONG_BY**2 - 1.0) * in_misfits[group] / max(len(misfits), 1)
        if_wrong = np.where(times >= NOTICED, if_wrong, np.minimum(if_wrong, wider))
    refused = noise[1] | ripple[1]
    stands = (np.minimum(probability, if_wrong) >= level) & ~refused
    for name in LEVELS if misfits else ():
        stands &= _without(name, values, base, lines, misfits) >= level
    return ManyJudged(
        aim=aim,
        probability_inside=probability,
        level=level,
        probability_if_wrong=if_wrong,
        factor=np.maximum(noise[0], ripple[0]),
        refused=refused,
        outside=probability <= 1.0 - CONFIDENCE,
        stands_alone=stands & bool(misfits),
    )


def _without(
    name: str, values: Array, base: Array, lines: dict[str, Array], misfits: Sequence[Many]
) -> Array:
    """Probability of being inside with one level left out, `redundancy.without_each_line`."""
    names = [line for line in lines if line.partition(" #")[0] == name and " #" in line]
    moves = np.sum([lines[line] for line in names], axis=0)
    zero = np.zeros(len(values))
    seen, weighed = zero, zero
    for misfit in misfits:
        slope = np.sum([misfit.parts.get(line, zero) for line in names], axis=0)
        seen = seen + slope * slope / misfit.u**2
        weighed = weighed + slope * misfit.values / misfit.u**2
    means = values - moves * (weighed / seen)[:, None]
    return _inside(means, base + outer(moves) / seen[:, None, None])


def _inside(values: Array, covariances: Array) -> Array:
    spread = covariances + LEAST_U_DEG**2 * np.eye(2)
    return box_probability(values, spread, np.array((LIMIT_DEG, LIMIT_DEG)))


def _mean_of_sets(sets: Sequence[ManyPair]) -> ManyPair:
    return mean_of_many([pair[0] for pair in sets]), mean_of_many([pair[1] for pair in sets])


def _of_levels(tables: Array, u_level: float) -> tuple[Array, Bools]:
    """`repeats.scatter_of_levels` of one position of the screws, n x sets x places."""
    count, sets, places = tables.shape
    if sets == 1:
        return np.ones(count), np.zeros(count, dtype=bool)
    left = tables - tables.mean(axis=1, keepdims=True)
    left = left - left.mean(axis=2, keepdims=True)
    return _held_against((left**2).sum(axis=(1, 2)) / u_level**2, (sets - 1) * (places - 1))


def _between(sets: Sequence[ManyPair]) -> tuple[Array, Bools]:
    """`sets.between`: chi-square of the sets about their mean."""
    count = len(sets[0][0].values)
    if len(sets) < 2:
        return np.ones(count), np.zeros(count, dtype=bool)
    total = np.zeros(count)
    for axis in (0, 1):
        values = np.stack([pair[axis].values for pair in sets])
        own = np.zeros(count)
        for pair in sets:
            for name, part in pair[axis].parts.items():
                if own_to_a_take(name):
                    own = own + part * part / len(sets)
        left = values - values.mean(axis=0)
        total = total + (left * left).sum(axis=0) / np.maximum(own, LEAST_U_DEG**2)
    return _held_against(total, 2 * (len(sets) - 1))


def _held_against(chi_square: Array, dof: int) -> tuple[Array, Bools]:
    """`agreement.held_against`: what to widen by, and whether refused."""
    refused: Bools = gammaincc(dof / 2.0, chi_square / 2.0) < REFUSED_BELOW
    return np.maximum(1.0, np.sqrt(chi_square / dof)), refused


def _level_at(look: int, so_far: Sequence[ManyPair], axis: int) -> Array:
    doubts = np.stack([pair[axis].u for pair in so_far], axis=-1)
    return levels_at(CONFIDENCE, look, MOST_LOOKS, doubts)
