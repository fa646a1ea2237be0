"""The bay from above with the targets of a job that has no stand before the radar.

Forward runs to the right, the car's left is up. Car, marks and places have one scale; what a
target stood off by is drawn larger, by the factors that the picture gives.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from markupsafe import Markup

from companion.report.pictures import svg
from companion.report.pictures.targets import Place, Target, targets_of
from companion.report.view import SessionView
from companion.report.wording import Wording

WIDTH, HEIGHT = 830.0, 380.0
DRAWN_WIDTH, DRAWN_HEIGHT, LEFT, TOP = 545.0, 290.0, 18.0, 34.0
LARGEST_SHIFT_PX, LARGEST_TURN_DEG = 22.0, 12.0
# Only for the sketch of a car whose file does not say; nothing is computed from these.
SKETCH_WHEELBASE_MM, SKETCH_TRACK_MM, OVERHANG_MM, BESIDE_TRACK_MM = 2700.0, 1550.0, 800.0, 170.0


@dataclass(frozen=True)
class _Sheet:
    """From the car's axes to the page."""

    px_per_mm: float
    behind_mm: float
    left_mm: float

    def at(self, place: Place) -> svg.Point:
        x, y = place
        return (
            LEFT + (x + self.behind_mm) * self.px_per_mm,
            TOP + (self.left_mm - y) * self.px_per_mm,
        )


def target_plan(view: SessionView, wording: Wording) -> Markup | None:
    """The picture, or None where no target was measured."""
    targets = targets_of(view, wording)
    if not targets:
        return None
    car = view.opened.vehicle_told
    wheelbase = car.wheelbase_mm or SKETCH_WHEELBASE_MM
    track = car.rear_track_mm or SKETCH_TRACK_MM
    sheet = _sheet(targets, wheelbase, track)
    shift = svg.round_factor(
        LARGEST_SHIFT_PX / (max(_largest(t.off for t in targets), 1e-6) * sheet.px_per_mm), 100
    )
    turn = svg.round_factor(LARGEST_TURN_DEG / max(*(abs(t.turned_deg) for t in targets), 1e-6), 50)
    factors = wording("plan-target-factors", shift=shift, turn=turn)
    told = [
        f"{wording.title_of(name)}: {wording.amount(error, name)}"
        for target in targets
        for name, error in target.errors
    ]
    return svg.picture(
        "plan",
        WIDTH,
        HEIGHT,
        wording("plan-title"),
        "; ".join([*(target.told for target in targets), *told]) + ". " + factors,
        _car(sheet, wheelbase, track, wording),
        *(_target(sheet, target, shift, turn) for target in targets),
        _words(targets, wording),
        svg.label((16, HEIGHT - 12), factors, "small"),
    )


def _sheet(targets: tuple[Target, ...], wheelbase: float, track: float) -> _Sheet:
    side = track / 2 + BESIDE_TRACK_MM
    xs, ys = [-OVERHANG_MM, wheelbase + OVERHANG_MM], [-side, side]
    for target in targets:
        for part in (-1, 0, 1):
            x, y = _part(target.at, target, part, target.along_deg)
            xs.append(x)
            ys.append(y)
    room = 2 * LARGEST_SHIFT_PX
    scale = min(
        (DRAWN_WIDTH - room) / (max(xs) - min(xs)), (DRAWN_HEIGHT - room) / (max(ys) - min(ys))
    )
    edge = LARGEST_SHIFT_PX / scale
    return _Sheet(scale, edge - min(xs), max(ys) + edge)


def _part(middle: Place, target: Target, part: int, along_deg: float) -> Place:
    """A bar's end or middle, in the car's axes: its left end lies to the car's left unturned."""
    half = part * target.length_mm / 2
    # `svg.turned` is clockwise where y runs down, so anticlockwise where y runs up.
    return svg.turned((middle[0], middle[1] + half), middle, along_deg)


def _largest(places: Iterable[Place]) -> float:
    return max(abs(axis) for place in places for axis in place)


def _car(sheet: _Sheet, wheelbase: float, track: float, wording: Wording) -> Markup:
    half_body = track / 2 + BESIDE_TRACK_MM
    corner = sheet.at((-OVERHANG_MM, half_body))
    opposite = sheet.at((wheelbase + OVERHANG_MM, -half_body))
    body = svg.rectangle(corner, opposite[0] - corner[0], opposite[1] - corner[1], "car", 22)
    wheels = []
    for x in (0.0, wheelbase):
        for side in (-1, 1):
            centre = sheet.at((x, side * track / 2))
            wheels.append(svg.rectangle((centre[0] - 18, centre[1] - 6), 36, 12, "wheel", 4))
    axle = [sheet.at((0.0, side * track / 2)) for side in (1, -1)]
    nose, tail = sheet.at((wheelbase + OVERHANG_MM, 0.0)), sheet.at((-OVERHANG_MM, 0.0))
    middle = sheet.at((wheelbase / 2, 0.0))[0]
    return svg.element(
        "g",
        body,
        svg.line(tail, nose, "centre-line"),
        svg.line(axle[0], axle[1], "stand-last"),
        *wheels,
        svg.label((middle, corner[1] + 18), wording("plan-cars-left"), "small", "middle"),
        svg.label((middle, opposite[1] - 9), wording("plan-cars-right"), "small", "middle"),
        svg.label((nose[0] - 12, nose[1] - 5), wording("plan-front"), "small", "end"),
        svg.label((axle[0][0] + 7, tail[1] - 5), wording("plan-rear-axle"), "small"),
    )


def _target(sheet: _Sheet, target: Target, shift: int, turn: int) -> Markup:
    measured = (target.at[0] + shift * target.off[0], target.at[1] + shift * target.off[1])
    measured_deg = target.along_deg + turn * target.turned_deg

    def bar(middle: Place, along_deg: float, class_: str) -> Markup:
        ends = [sheet.at(_part(middle, target, part, along_deg)) for part in (-1, 1)]
        return svg.line(ends[0], ends[1], class_)

    tapes = [
        svg.line(sheet.at(mark), sheet.at(_part(target.at, target, part, target.along_deg)), "tape")
        for mark, part in target.tapes
    ]
    return svg.element(
        "g",
        *tapes,
        bar(target.at, target.along_deg, "plate-first"),
        bar(measured, measured_deg, "plate-last"),
        svg.dot(sheet.at(target.at), 3, "stand-dot-first"),
        svg.dot(sheet.at(measured), 4, "stand-dot-last"),
        *(svg.dot(sheet.at(mark), 3.5, "mark") for mark in target.marks),
    )


def _words(targets: tuple[Target, ...], wording: Wording) -> Markup:
    x, y = WIDTH - 255, 22.0
    lines: list[Markup] = []
    for target in targets:
        for name, error in target.errors:
            lines.append(svg.label((x, y), wording.title_of(name), "strong"))
            told = wording("plan-last", amount=wording.amount(error, name))
            lines.append(svg.label((x, y + 15), told))
            y += 35
    keys = [
        svg.line((x, y), (x + 26, y), "plate-first"),
        svg.label((x + 34, y + 4), wording("plan-target-wanted"), "small"),
        svg.line((x, y + 18), (x + 26, y + 18), "plate-last"),
        svg.label((x + 34, y + 22), wording("plan-target-last"), "small"),
        svg.line((x, y + 36), (x + 26, y + 36), "tape"),
        svg.dot((x, y + 36), 3.5, "mark"),
        svg.label((x + 34, y + 40), wording("plan-tapes"), "small"),
    ]
    places = [
        svg.label((16, HEIGHT - 30 - 16 * (len(targets) - 1 - place)), target.told, "small")
        for place, target in enumerate(targets)
    ]
    return svg.element("g", *lines, *keys, *places)
