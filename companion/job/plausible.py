"""Figures that cannot be right for a car or a bay: told before any work, unless the file insists.

The ranges are wide and ours: no maker's figures, only what a road car and a workshop can be. A
figure outside of one is most often a slip of the unit (centimetres, a decimal point), so it is
refused; to insist, name the field under `unusual` in the same file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from companion.facts.message import Message
from companion.job.setup_files import Header, Range


@dataclass(frozen=True)
class _Between:
    """From `low` to `high` in `unit`; what it is, as a person would ask."""

    low: float
    high: float
    unit: str
    what: str


_MM = "mm"
_UNIT_IDS = {"mm": "mm", "degrees": "deg", "turns": "turns", "gigahertz": "ghz"}
_RANGES: dict[str, dict[str, _Between]] = {
    "vehicle": {
        "wheelbase_mm": _Between(1600, 5000, _MM, "a car's wheelbase"),
        "front_track_mm": _Between(1100, 2200, _MM, "a car's track"),
        "rear_track_mm": _Between(1100, 2200, _MM, "a car's track"),
        "sensor_ahead_of_front_axle_mm": _Between(-6000, 1800, _MM, "a sensor from the axle"),
        "sensor_left_of_centre_mm": _Between(-1100, 1100, _MM, "a sensor on the car's width"),
        "sensor_height_mm": _Between(150, 2200, _MM, "a sensor's height"),
        "ride_height_front_mm": _Between(80, 1200, _MM, "a ride height"),
        "ride_height_rear_mm": _Between(80, 1200, _MM, "a ride height"),
        "largest_body_lean_deg": _Between(0.05, 3, "degrees", "a body's lean"),
        "largest_body_twist_mm": _Between(0.5, 40, _MM, "a body's twist"),
        "aim.yaw_tolerance_deg": _Between(0.02, 3, "degrees", "an aim's tolerance"),
        "aim.elevation_tolerance_deg": _Between(0.02, 3, "degrees", "an aim's tolerance"),
        "aim.beam_width_yaw_deg": _Between(1, 60, "degrees", "a radar's beam"),
        "aim.beam_width_elevation_deg": _Between(1, 60, "degrees", "a radar's beam"),
        "aim.frequency_ghz": _Between(24, 81, "gigahertz", "a car's radar"),
        "camera.height_mm": _Between(400, 3000, _MM, "a forward camera's height"),
        "camera.board_ahead_of_front_axle_mm": _Between(800, 8000, _MM, "a board's distance"),
        "camera.board_height_mm": _Between(300, 3000, _MM, "a board's height"),
        "camera.sideways_tolerance_mm": _Between(0.5, 100, _MM, "a place's tolerance"),
        "camera.yaw_limit_deg": _Between(0.05, 5, "degrees", "a camera's limit"),
        "camera.elevation_limit_deg": _Between(0.05, 5, "degrees", "a camera's limit"),
        "corner.behind_rear_axle_mm": _Between(-1500, 2000, _MM, "a corner radar from the axle"),
        "corner.out_of_centre_mm": _Between(300, 1200, _MM, "a corner radar on the car's width"),
        "corner.reflector_radius_mm": _Between(900, 8000, _MM, "a reflector's distance"),
        "corner.reflector_height_mm": _Between(150, 1500, _MM, "a reflector's height"),
        "corner.angle_limit_deg": _Between(0.1, 5, "degrees", "a corner radar's limit"),
        "mats.front_mm": _Between(300, 6000, _MM, "a mat's distance"),
        "mats.rear_mm": _Between(300, 6000, _MM, "a mat's distance"),
        "mats.distance_tolerance_mm": _Between(1, 100, _MM, "a distance's tolerance"),
        "mats.turn_tolerance_deg": _Between(0.05, 3, "degrees", "a turn's tolerance"),
    },
    "bay": {
        "stand.reflector_bar_mm": _Between(200, 3000, _MM, "a reflector bar's length"),
        "stand.mat_mm": _Between(500, 6000, _MM, "a mat's width"),
        "floor.slope_up_deg": _Between(-3, 3, "degrees", "a floor's slope"),
        "floor.side_slope_deg": _Between(-3, 3, "degrees", "a floor's slope"),
        "floor.twist_mm": _Between(-40, 40, _MM, "a floor's twist"),
        "floor.stand_spot_above_mm": _Between(-80, 80, _MM, "the stand's spot over the wheels'"),
        "floor.line_laser_doubt_deg": _Between(0, 0.2, "degrees", "a line laser's doubt"),
        "stand.plate_distance_mm": _Between(300, 8000, _MM, "a target's distance"),
        "stand.distance_tolerance_mm": _Between(0.5, 100, _MM, "a distance's tolerance"),
        "stand.sideways_tolerance_mm": _Between(0.5, 50, _MM, "a place's tolerance"),
        "stand.height_tolerance_mm": _Between(0.5, 50, _MM, "a height's tolerance"),
        "stand.turn_tolerance_deg": _Between(0.01, 1.5, "degrees", "a turn's tolerance"),
        "stand.laser_path_mm": _Between(1500, 15000, _MM, "a laser's path along a car"),
        "stand.plate_width_mm": _Between(50, 3000, _MM, "a target's width"),
        "stand.plate_height_mm": _Between(50, 3000, _MM, "a target's height"),
        "stand.largest_run_out_deg": _Between(0.02, 3, "degrees", "a clamp's run-out"),
        "stand.head_doubt_deg": _Between(0, 0.5, "degrees", "a laser head's doubt"),
    },
    "mount": {
        "screws.*.y_mm": _Between(-400, 400, _MM, "a screw from its pivot"),
        "screws.*.z_mm": _Between(-400, 400, _MM, "a screw from its pivot"),
        "screws.*.travel_clockwise_turns": _Between(0.5, 30, "turns", "a screw's travel"),
        "screws.*.travel_anticlockwise_turns": _Between(0.5, 30, "turns", "a screw's travel"),
    },
}
_RANGES["stand"] = {
    field.removeprefix("stand."): between
    for field, between in _RANGES["bay"].items()
    if field.startswith("stand.")
}
TRACKS_DIFFER_MM = 200
"""Front and rear track of a road car differ by no more."""


@dataclass(frozen=True)
class Implausible:
    """One figure: its field as the file writes it, and a sentence of what is wrong.

    `message` says the same to the person who was asked for the figure, in their language.
    """

    field: str
    told: str
    message: Message


def implausible(file: Header, kind: str) -> tuple[Implausible, ...]:
    """What cannot be right in a vehicle, bay, stand or mount file, and is not `unusual` there."""
    found = [
        item
        for path, between in _RANGES.get(kind, {}).items()
        for item in _outside(file, path, between)
    ]
    if kind == "vehicle":
        found += _between_figures(file)
    return tuple(item for item in found if item.field not in file.unusual)


def _outside(file: Header, path: str, between: _Between) -> Iterator[Implausible]:
    for field, value in _figures(file, path.split("."), ""):
        if not between.low <= value <= between.high:
            told = (
                f"found {value:g}; wanted: {between.low:g} to {between.high:g} {between.unit}, "
                f"as {between.what} is{_said(_guess(value, between))}"
            )
            low, high = f"{between.low:g}", f"{between.high:g}"
            unit = Message(f"file-unit-{_UNIT_IDS[between.unit]}")
            slip = Message(
                "slip-range", {"found": f"{value:g}", "low": low, "high": high, "unit": unit}
            )
            yield Implausible(field, told, _guessed(slip, value, between))


def _figures(value: Any, path: list[str], before: str) -> Iterator[tuple[str, float]]:
    """Every figure that the path leads to, each with its field as the file writes it."""
    match value:
        case None:
            return
        case Range(low=low, high=high):
            yield f"{before}.low", low
            yield f"{before}.high", high
        case bool():
            return
        case int() | float():
            yield before, float(value)
        case tuple():
            for place, item in enumerate(value, start=1):
                yield from _figures(item, path[1:], f"{before}[{place}]")
        case _ if path:
            name = f"{before}.{path[0]}" if before else path[0]
            yield from _figures(getattr(value, path[0], None), path[1:], name)
        case _:
            return


def _guess(value: float, between: _Between) -> str | float | None:
    """The slip that it most likely is: another unit, by its name, or another figure."""
    if between.unit == _MM:
        for factor, unit in ((10, "centimetres"), (1000, "metres"), (25.4, "inches")):
            if value > 0 and between.low <= value * factor <= between.high:
                return unit
    if value > 0 and between.low <= value / 10 <= between.high:
        return value / 10
    return None


def _said(guess: str | float | None) -> str:
    match guess:
        case None:
            return ""
        case str():
            return f"; is it in {guess}?"
        case _:
            return f"; is it {guess:g}?"


def _guessed(slip: Message, value: float, between: _Between) -> Message:
    match _guess(value, between):
        case None:
            return slip
        case str() as unit:
            return Message("slip-range-in", {"slip": slip, "unit": Message(f"slip-unit-{unit}")})
        case guess:
            return Message("slip-range-tenth", {"slip": slip, "figure": f"{guess:g}"})


def _between_figures(file: Any) -> Iterator[Implausible]:
    front, rear = file.front_track_mm, file.rear_track_mm
    if abs(front - rear) > TRACKS_DIFFER_MM:
        told = (
            f"found {rear:g} beside a front track of {front:g}; wanted: two that are nearly alike"
        )
        figures = {"found": f"{rear:g}", "front": f"{front:g}"}
        yield Implausible("rear_track_mm", told, Message("slip-tracks", figures))
    if abs(file.sensor_left_of_centre_mm) > max(front, rear) / 2 + 200:
        told = (
            f"found {file.sensor_left_of_centre_mm:g}, which is beside the car; wanted: less than "
            f"half its track of {front:g}"
        )
        figures = {"found": f"{file.sensor_left_of_centre_mm:g}", "front": f"{front:g}"}
        yield Implausible("sensor_left_of_centre_mm", told, Message("slip-beside", figures))
    if file.sensor_ahead_of_front_axle_mm < -(file.wheelbase_mm + 2000):
        told = (
            f"found {file.sensor_ahead_of_front_axle_mm:g}, which is behind the car; wanted: from "
            "the front axle to the sensor, ahead positive"
        )
        figures = {"found": f"{file.sensor_ahead_of_front_axle_mm:g}"}
        yield Implausible("sensor_ahead_of_front_axle_mm", told, Message("slip-behind", figures))
