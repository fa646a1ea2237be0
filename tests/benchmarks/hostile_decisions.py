"""A decision on emulated readings with the package's own arithmetic, doubts as files state them.

One at a time; `hostile_at_once` is the copy that decides a whole row, and is held to this.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from companion.calibration.formulas import evaluate
from companion.errors import MeasureError
from companion.uncertainty.agreement import NO_SCATTER
from companion.uncertainty.conformity import contradicts
from companion.uncertainty.measured import Measured, exact, measured, resolution_u
from companion.uncertainty.repeats import scatter_of_levels
from companion.uncertainty.sets import Judged, Pair, Redundancy, judge_sets
from companion.uncertainty.taking import taken
from tests.benchmarks.hostile_bay import (
    DISTANCE_MM,
    LEANS_DEG,
    PATH_MM,
    TOOL_NOISE_DEG,
    WAVELENGTH_MM,
    WHEELBASE_MM,
    Array,
    Drawn,
    Sizes,
)

LIMIT_DEG = 0.40
CONFIDENCE = 0.95
MOST_LOOKS = 4
WIDTHS_DEG = {"lean": 12.0, "swing": 10.0}
WIDTH_AGREEMENT = 0.08
BEAM_AGREEMENT_DEG = 0.06
LEVELS = (
    *(f"echo lean {n}" for n in range(5)),
    *(f"echo swing {n}" for n in (0, 1, 3, 4)),
)
MIDDLE, FAR = 2, (0, 2, 4)
SIDES = ("left", "right")
TOOL = ("tool yaw", "tool elevation")
Route = Literal["echo", "tool"]
GROUPS = (
    "head square",
    "toe after lifting",
    "wheel back",
    "run-out",
    "spot",
    "plate flatness",
    "plate edges",
    "hinge",
    "ride heights",
    "tool",
)


@dataclass(frozen=True)
class Outcome:
    """What came of one decision. `covered`: of the two 95 % statements of the first set.

    `noticed`: refused by a check, the sets or the arithmetic. `would_be_inside`: without them.
    """

    inside: bool
    noticed: bool
    would_be_inside: bool
    covered: int


@dataclass(frozen=True)
class Looked:
    """One look at one bay. `fits`: the beam's width is the one that the file states."""

    judged: Judged
    fits: bool


def looks_at(drawn: Drawn, index: int, sizes: Sizes, route: Route = "echo") -> Iterator[Looked]:
    """Look after look at one bay's sets; the caller stops where the decision has fallen.

    Raises MeasureError where the levels form no peak.
    """
    sets: list[Pair] = []
    misfits: list[list[Measured]] = []
    turn = exact(0.0)
    if route == "echo":
        turn, _ = stand_turn_of(drawn, index, sizes)
        misfits.append(_aim(drawn.before_db[index, 0], drawn, index, 0, sizes, turn)[2])
    for look in range(1, MOST_LOOKS + 1):
        fits, scatter = True, NO_SCATTER
        if route == "echo":
            levels = drawn.levels_db[index, look - 1]
            aim, fits, left_over = _aim(levels, drawn, index, look, sizes, turn)
            misfits.append(left_over)
            rounds = [drawn.before_db[index].tolist(), drawn.levels_db[index, :look].tolist()]
            scatter = scatter_of_levels(rounds, u_of_level(sizes), [])
        else:
            aim = _tool_aim(drawn, index, look, sizes)
        sets.append(aim)
        judged = judge_sets(
            sets,
            (LIMIT_DEG, LIMIT_DEG),
            CONFIDENCE,
            look,
            MOST_LOOKS,
            scatter=scatter,
            redundancy=Redundancy(
                list(zip(*misfits, strict=True)), LEVELS if misfits else (), rests_on
            ),
        )
        yield Looked(judged, fits)


def decide_one(
    drawn: Drawn, index: int, sizes: Sizes, *, foreseen: bool, route: Route = "echo"
) -> Outcome:
    """All looks at one position of the screws. `foreseen`: one set may do, for it was predicted."""
    noticed = said = would = False
    covered = 0
    if route == "echo":
        noticed = beams_disagree(stand_turn_of(drawn, index, sizes)[1])
    try:
        for look, looked in enumerate(looks_at(drawn, index, sizes, route), 1):
            judged = looked.judged
            noticed |= not looked.fits
            if look == 1:
                covered = _covered(judged.aim, drawn, index)
            noticed |= judged.answer == "refused"
            inside = min(judged.probability_inside, judged.probability_if_wrong) >= judged.level
            if inside and (look > 1 or foreseen or judged.stands_alone):
                would, said = True, not noticed
                break
            if judged.answer == "outside" or noticed:
                break
    except MeasureError:
        noticed = True
    return Outcome(said, noticed, would, covered)


def beams_disagree(disagreement: Measured) -> bool:
    """Whether the two beams contradict the toe that was entered."""
    return contradicts(disagreement.value, disagreement.u, -BEAM_AGREEMENT_DEG, BEAM_AGREEMENT_DEG)


def u_of_level(sizes: Sizes) -> float:
    """What two takes of one level may differ by, dB."""
    return math.hypot(sizes.echo_noise_db, resolution_u(sizes.echo_step_db))


def tool_doubts(sizes: Sizes) -> dict[str, float]:
    """How a scan tool's angle is entered."""
    return {"resolution": 0.01, "scatters": TOOL_NOISE_DEG, "stays": sizes.tool_off_deg}


def _tool_aim(drawn: Drawn, index: int, look: int, sizes: Sizes) -> Pair:
    yaw, elevation = (
        taken(name, float(drawn.tool_deg[index, look - 1, axis]), look, **tool_doubts(sizes))
        for axis, name in enumerate(TOOL)
    )
    return yaw, elevation


def _covered(aim: Pair, drawn: Drawn, index: int) -> int:
    truths = (drawn.aim_yaw_deg[index], drawn.aim_elevation_deg[index])
    return sum(
        abs(axis.value - truth) <= 1.96 * axis.u for axis, truth in zip(aim, truths, strict=True)
    )


def _with(value: Measured, name: str, u: float) -> Measured:
    return Measured(value.value, (*value.contributions, *measured(name, 0.0, u).contributions))


def stand_turn_of(drawn: Drawn, index: int, sizes: Sizes) -> tuple[Measured, Measured]:
    """The stand's turn, and how far the two beams disagree."""
    path = measured("path", PATH_MM, 10.0)
    inputs = {"path_mm": path, "total_toe_deg": measured("toe sheet", 0.0, 0.014)}
    for number, side in enumerate(SIDES):
        readings = drawn.run_outs_mm[index, number]
        heading = evaluate(
            "run_out_put_back",
            {
                f"spot_{90 * n}_mm": taken(
                    f"{side} run-out {n}",
                    float(mm),
                    1,
                    resolution=1.0,
                    scatters=sizes.run_out_noise_mm,
                )
                for n, mm in enumerate(readings)
            }
            | {
                "path_mm": path,
                "grows_to_left": exact(1.0 if side == "left" else -1.0),
                "wheel_back_deg": measured(f"{side} wheel back", 0.0, sizes.wheel_back_deg),
            },
        )["run_out_heading_deg"]
        heading = _with(heading, f"{side} head square", sizes.head_out_deg)
        heading = _with(heading, f"{side} toe after lifting", sizes.settled_toe_deg)
        inputs[f"run_out_{side}_deg"] = heading
        inputs[f"spot_{side}_mm"] = taken(
            f"spot {side}",
            float(drawn.spots_mm[index, number]),
            1,
            resolution=1.0,
            scatters=sizes.spot_noise_mm,
        )
    found = evaluate("stand_turn", inputs)
    turn = _with(found["stand_turn_deg"], "plate to bar", sizes.plate_to_bar_deg)
    return turn, found["beam_disagreement_deg"]


def rests_on(line: str) -> str | None:
    """What a budget line rests on: the disturbance of that name, both sides and axes together."""
    if " digits " in line:
        return None
    return next((group for group in GROUPS if group in line), line)


def _aim(
    levels: Array, drawn: Drawn, index: int, look: int, sizes: Sizes, turn: Measured
) -> tuple[Pair, bool, list[Measured]]:
    """One set's aim, whether both widths agree with the beam's, and what no parabola explains."""
    found = whole_set(levels, drawn, index, look, sizes, turn)
    return found.aim, widths_fit(found.widths), found.left_over


def widths_fit(widths: dict[str, Measured]) -> bool:
    """Whether both agree with the beam's."""
    return not any(
        contradicts(
            widths[axis].value,
            widths[axis].u,
            (1.0 - WIDTH_AGREEMENT) * wanted,
            (1.0 + WIDTH_AGREEMENT) * wanted,
        )
        for axis, wanted in WIDTHS_DEG.items()
    )


@dataclass(frozen=True)
class Set:
    """What one set of levels comes to; a short one has no widths of its own."""

    aim: Pair
    left_over: list[Measured]
    widths: dict[str, Measured]


def whole_set(
    levels: Array, drawn: Drawn, index: int, look: int, sizes: Sizes, turn: Measured
) -> Set:
    """Nine levels: a parabola through five leans an axis."""
    echoes = _echoes(levels, look, sizes)
    vertices, widths = {}, {}
    left_over: list[Measured] = []
    for axis in ("lean", "swing"):
        inputs = _hinged(axis, sizes)
        for n in range(len(LEANS_DEG)):
            inputs |= _at_a_lean(echoes, axis, n, n + 1, sizes)
        peak = evaluate("echo_peak_of_five", inputs)
        left_over += [peak["misfit_1_db"], peak["misfit_2_db"]]
        widths[axis] = peak["beam_width_deg"]
        vertices[axis] = _with_plate(peak["vertex_deg"], axis, sizes)
    return Set(_against_car(vertices, drawn, index, sizes, turn), left_over, widths)


def short_set(
    levels: Array,
    drawn: Drawn,
    index: int,
    look: int,
    sizes: Sizes,
    turn: Measured,
    widths: dict[str, Measured],
) -> Set:
    """The five of the nine levels at the far notches, with the widths of a whole set."""
    echoes = _echoes(levels, look, sizes)
    vertices = {}
    left_over: list[Measured] = []
    for axis in ("lean", "swing"):
        inputs = _hinged(axis, sizes) | {"beam_width_deg": widths[axis]}
        for number, n in enumerate(FAR, 1):
            inputs |= _at_a_lean(echoes, axis, n, number, sizes)
        peak = evaluate("echo_peak_of_known_width", inputs)
        left_over.append(peak["left_over_db"])
        vertices[axis] = _with_plate(peak["vertex_deg"], axis, sizes, FAR)
    return Set(_against_car(vertices, drawn, index, sizes, turn), left_over, widths)


def _echoes(levels: Array, look: int, sizes: Sizes) -> dict[str, Measured]:
    return {
        name: taken(
            name,
            float(level),
            look,
            resolution=sizes.echo_step_db,
            scatters=sizes.echo_noise_db,
        )
        for name, level in zip(LEVELS, levels, strict=True)
    }


def _hinged(axis: str, sizes: Sizes) -> dict[str, Measured]:
    return {
        "distance_mm": measured("plate distance", DISTANCE_MM, 2.0),
        "hinge_below_mm": measured(f"{axis} hinge", 0.0, sizes.hinge_mm),
    }


def _at_a_lean(
    echoes: dict[str, Measured], axis: str, n: int, number: int, sizes: Sizes
) -> dict[str, Measured]:
    """Lean and level of place `n`, as the formula's `number`."""
    place = "upright" if n == MIDDLE else f"{axis} {n}"
    echo = echoes[f"echo lean {MIDDLE}" if n == MIDDLE else f"echo {axis} {n}"]
    echo = _with(echo, f"ripple {place}", sizes.ripple_db / math.sqrt(2.0))
    lean = measured(f"detent {axis} {n}", LEANS_DEG[n], sizes.detent_deg)
    return {f"echo_{number}_db": echo, f"lean_{number}_deg": lean}


def _against_car(
    vertices: dict[str, Measured], drawn: Drawn, index: int, sizes: Sizes, turn: Measured
) -> Pair:
    """The aim by both peaks."""
    body = measured("ride heights", float(drawn.nose_up_deg[index]), ride_u(sizes))
    aim = evaluate(
        "aim_error_of_body",
        {
            "vertex_swing_deg": vertices["swing"],
            "vertex_lean_deg": vertices["lean"],
            "stand_turn_deg": turn,
            "plate_plumb_deg": evaluate(
                "plate_plumb",
                {
                    "plumb_mm_per_m": taken(
                        "plumb",
                        float(drawn.plumb_mm_per_m[index]),
                        1,
                        resolution=0.1,
                        scatters=0.05,
                        stays=sizes.plumb_scale_mm_per_m,
                    )
                },
            )["plate_plumb_deg"],
            "floor_slope_up_deg": measured(
                "line laser", float(drawn.floor_slope_deg[index]), sizes.line_laser_deg
            ),
            "body_nose_up_deg": _with(body, "pitch after lifting", sizes.settled_pitch_deg),
            "body_counts": exact(1.0),
        },
    )
    return aim["aim_yaw_deg"], aim["aim_elevation_deg"]


def _with_plate(
    vertex: Measured, axis: str, sizes: Sizes, places: tuple[int, ...] = tuple(range(5))
) -> Measured:
    """The peak with the doubt of the plate's edges and flatness on top."""
    plate = {"span_mm": exact(sizes.plate_span_mm)}
    edges = evaluate(
        "plate_edges_of_five" if len(places) == len(LEANS_DEG) else "plate_edges",
        plate
        | {
            "vertex_deg": exact(vertex.value),
            "distance_mm": exact(DISTANCE_MM),
            "beam_width_deg": exact(WIDTHS_DEG[axis]),
            "wavelength_mm": exact(WAVELENGTH_MM),
        }
        | {f"lean_{n}_deg": exact(LEANS_DEG[place]) for n, place in enumerate(places, 1)},
    )["edge_doubt_deg"]
    flat = evaluate("plate_flatness", plate | {"flatness_mm": exact(sizes.flatness_mm)})
    vertex = _with(vertex, f"plate edges {axis}", edges.value)
    return _with(vertex, f"plate flatness {axis}", flat["flatness_doubt_deg"].value)


def ride_u(sizes: Sizes) -> float:
    """Of the body's pitch from four ride heights, degrees."""
    one = math.hypot(sizes.ride_height_mm, resolution_u(1.0))
    return math.degrees(one / WHEELBASE_MM)


def at_the_limit(generator: np.random.Generator, count: int) -> tuple[Array, Array]:
    """Aims with one axis a hair outside its limit, the other anywhere well inside."""
    at_limit = (LIMIT_DEG + 1e-4) * generator.choice((-1.0, 1.0), count)
    inside = generator.uniform(-0.15, 0.15, count)
    which = generator.random(count) < 0.5
    return np.where(which, at_limit, inside), np.where(which, inside, at_limit)
