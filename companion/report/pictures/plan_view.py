"""The bay from above: car, thrust line, stand, and the stand's errors drawn large."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from markupsafe import Markup

from companion.facts.figures import Quantity
from companion.facts.opening import Opened
from companion.report.pictures import svg
from companion.report.view import SessionView
from companion.report.wording import Wording

WIDTH, HEIGHT = 830.0, 340.0
REAR_AXLE_X, CENTRE_Y = 88.0, 152.0
PX_PER_MM = 0.08
ARM_MM, SPOT_MM, PLATE_AHEAD_OF_STAND_PX = 950.0, 775.0, 16.0
LARGEST_SHIFT_PX, LARGEST_TURN_DEG = 44.0, 12.0
# Only for the sketch of a car whose file does not say; nothing is computed from these.
SKETCH_WHEELBASE_MM, SKETCH_TRACK_MM, SKETCH_OVERHANG_MM = 2700.0, 1550.0, 850.0
SKETCH_DISTANCE_MM = 1200.0
STAND_PLACES = ("stand_offset_left_mm", "distance_error_mm")
ERRORS = ("stand_offset_left_mm", "stand_turn_deg", "distance_error_mm", "thrust_direction_deg")


def plan_view(view: SessionView, wording: Wording) -> Markup | None:
    """The picture, or None when nothing of the stand was measured or the job has none.

    Forward runs to the right, the car's left is up. The stand as first found is dashed, as
    last measured it is solid; places and angles each have their own factor, stated below.
    """
    states = {name: view.outputs_named(name) for name in ERRORS}
    if not any(states.values()) or not _has_radar_stand(view.opened):
        return None
    first = {name: _value(found, 0) for name, found in states.items()}
    last = {name: _value(found, -1) for name, found in states.items()}
    shift_factor = _shift_factor((first, last))
    turn_factor = _turn_factor((first, last))
    sketch = _sketch(view.opened)
    moved = any(first[name] != last[name] for name in ERRORS[:3])
    factors = wording("plan-factors", shift=shift_factor, turn=turn_factor)
    told = [
        f"{wording.title_of(name)}: {wording.amount(found[-1], name)}"
        for name, found in states.items()
        if found
    ]
    children = [
        _car(sketch, wording),
        _thrust_line(sketch, last["thrust_direction_deg"] * turn_factor),
        _stand(sketch, first, shift_factor, turn_factor, "first") if moved else "",
        _stand(sketch, last, shift_factor, turn_factor, "last"),
        _words(states, moved, wording),
        svg.label((16, HEIGHT - 12), factors, "small"),
    ]
    description = "; ".join(told) + ". " + factors
    return svg.picture("plan", WIDTH, HEIGHT, wording("plan-title"), description, *children)


def _has_radar_stand(opened: Opened) -> bool:
    """Whether the job measures where a stand before the radar is; so too where no file is kept."""
    outputs = {
        name
        for stage in opened.job.get("stages") or ()
        for step in stage.get("steps") or ()
        for name in (step.get("outputs") or {}).values()
    }
    return not outputs or not outputs.isdisjoint(STAND_PLACES)


def _value(found: tuple[Quantity, ...], place: int) -> float:
    return (found[place].value or 0.0) if found else 0.0


def _shift_factor(states: tuple[Mapping[str, float], ...]) -> int:
    largest_mm = max(
        abs(state[name])
        for state in states
        for name in ("stand_offset_left_mm", "distance_error_mm")
    )
    return svg.round_factor(LARGEST_SHIFT_PX / (max(largest_mm, 1e-6) * PX_PER_MM), 100)


def _turn_factor(states: tuple[Mapping[str, float], ...]) -> int:
    largest_deg = max(
        abs(state[name]) for state in states for name in ("stand_turn_deg", "thrust_direction_deg")
    )
    return svg.round_factor(LARGEST_TURN_DEG / max(largest_deg, 1e-6), 50)


@dataclass(frozen=True)
class _Sketch:
    """Lengths of the car and to the stand, in pixels."""

    wheelbase: float
    track: float
    front_x: float
    stand_x: float


def _sketch(opened: Opened) -> _Sketch:
    """The car as its file says, or a usual one where it says nothing that could be drawn."""
    car, stand = opened.vehicle_told, opened.bay_told.stand
    wheelbase = _drawn(car.wheelbase_mm, SKETCH_WHEELBASE_MM)
    overhang = _drawn(car.sensor_ahead_of_front_axle_mm, SKETCH_OVERHANG_MM)
    front_x = REAR_AXLE_X + wheelbase + overhang
    distance = _drawn(stand.plate_distance_mm, SKETCH_DISTANCE_MM)
    return _Sketch(
        wheelbase,
        _drawn(car.rear_track_mm, SKETCH_TRACK_MM),
        front_x,
        front_x + distance + PLATE_AHEAD_OF_STAND_PX,
    )


def _drawn(length_mm: float | None, fallback_mm: float) -> float:
    if length_mm is None or not 200 < length_mm < 6000:
        length_mm = fallback_mm
    return length_mm * PX_PER_MM


def _car(sketch: _Sketch, wording: Wording) -> Markup:
    wheelbase, track, front_x = sketch.wheelbase, sketch.track, sketch.front_x
    half_body = track / 2 + 14
    body = svg.rectangle(
        (REAR_AXLE_X - 56, CENTRE_Y - half_body),
        front_x - REAR_AXLE_X + 56,
        2 * half_body,
        "car",
        26,
    )
    wheels = [
        svg.rectangle((x - 22, CENTRE_Y + side * track / 2 - 7), 44, 14, "wheel", 4)
        for x in (REAR_AXLE_X, REAR_AXLE_X + wheelbase)
        for side in (-1, 1)
    ]
    sensor = svg.rectangle((front_x - 5, CENTRE_Y - 7), 10, 14, "sensor", 2)
    names = [
        svg.label((REAR_AXLE_X - 40, CENTRE_Y - half_body - 8), wording("plan-cars-left"), "small"),
        svg.label(
            (REAR_AXLE_X - 40, CENTRE_Y + half_body + 17), wording("plan-cars-right"), "small"
        ),
        svg.label((front_x - 12, CENTRE_Y - 12), wording("plan-sensor"), "small", "end"),
    ]
    return svg.element("g", body, *wheels, sensor, *names)


def _thrust_line(sketch: _Sketch, drawn_left_deg: float) -> Markup:
    axle = (REAR_AXLE_X, CENTRE_Y)
    length = sketch.stand_x + 60 - REAR_AXLE_X
    straight = svg.line(axle, (REAR_AXLE_X + length, CENTRE_Y), "centre-line")
    end = svg.turned((REAR_AXLE_X + length, CENTRE_Y), axle, -drawn_left_deg)
    return svg.element("g", straight, svg.line(axle, end, "thrust"))


def _stand(
    sketch: _Sketch,
    state: Mapping[str, float],
    shift_factor: int,
    turn_factor: int,
    class_: str,
) -> Markup:
    """The stand shifted and turned about its own centre; left is up on the page."""
    centre = (
        sketch.stand_x + state["distance_error_mm"] * PX_PER_MM * shift_factor,
        CENTRE_Y - state["stand_offset_left_mm"] * PX_PER_MM * shift_factor,
    )
    # The errors are errors against the thrust line, so the stand is drawn along it.
    axle = (REAR_AXLE_X, CENTRE_Y)
    thrust_deg = -state["thrust_direction_deg"] * turn_factor
    centre = svg.turned(centre, axle, thrust_deg)
    turn_deg = thrust_deg - state["stand_turn_deg"] * turn_factor
    arm, spot = ARM_MM * PX_PER_MM, SPOT_MM * PX_PER_MM

    def placed(along: float, to_left: float) -> svg.Point:
        return svg.turned((centre[0] + along, centre[1] - to_left), centre, turn_deg)

    ticks = [
        svg.line(placed(-4, side * place), placed(4, side * place), f"stand-{class_}")
        for side in (-1, 1)
        for place in (spot * 0.5, spot)
    ]
    plate_ahead = -PLATE_AHEAD_OF_STAND_PX
    return svg.element(
        "g",
        svg.line(placed(0, -arm), placed(0, arm), f"stand-{class_}"),
        *ticks,
        svg.line(placed(plate_ahead, -34), placed(plate_ahead, 34), f"plate-{class_}"),
        svg.line(placed(0, 0), placed(plate_ahead, 0), f"stand-{class_}"),
        svg.dot(centre, 4, f"stand-dot-{class_}"),
    )


def _words(states: Mapping[str, tuple[Quantity, ...]], moved: bool, wording: Wording) -> Markup:
    x, y = WIDTH - 250, 30.0
    lines: list[Markup] = []
    for name, found in states.items():
        if not found:
            continue
        lines.append(svg.label((x, y), wording.title_of(name), "strong"))
        last = wording("plan-last", amount=wording.amount(found[-1], name))
        lines.append(svg.label((x, y + 17), last))
        if len(found) > 1 and not math.isclose(found[0].value or 0, found[-1].value or 0):
            first = wording("plan-first", amount=wording.amount(found[0], name))
            lines.append(svg.label((x, y + 33), first, "small"))
            y += 16
        y += 42
    keys = [
        svg.line((x, y + 4), (x + 26, y + 4), "plate-last"),
        svg.label((x + 34, y + 8), wording("plan-stand-last"), "small"),
        svg.line((x, y + 44), (x + 26, y + 44), "thrust"),
        svg.label((x + 34, y + 48), wording("plan-thrust"), "small"),
    ]
    if moved:
        keys.append(svg.line((x, y + 24), (x + 26, y + 24), "plate-first"))
        keys.append(svg.label((x + 34, y + 28), wording("plan-stand-first"), "small"))
    return svg.element("g", *lines, *keys)
