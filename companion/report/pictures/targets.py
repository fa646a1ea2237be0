"""Where a job's targets belong and where they were last measured, from what was worked out.

A board ahead of the car, a reflector behind its corner, mats before and behind it. Places are in
the car's axes: x ahead of the rear axle, y to its left, in mm; angles anticlockwise from above.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from companion.facts.figures import Quantity
from companion.facts.workings import Computed
from companion.report.view import SessionView
from companion.report.wording import Wording

Place = tuple[float, float]
BOARD_MM = 1200.0
"""Half of it to either side, only to draw a board: no file says how wide one is."""


@dataclass(frozen=True)
class Target:
    """A bar, board or mat: where its middle belongs, and what it stood off by.

    `along_deg`: from the car's left to the way from its middle to its left end.
    `tapes`: from a place to a part of it: -1 its right end, 0 its middle, 1 its left end.
    """

    at: Place
    along_deg: float
    length_mm: float
    off: Place
    turned_deg: float
    tapes: tuple[tuple[Place, int], ...]
    told: str
    errors: tuple[tuple[str, Quantity], ...]

    @property
    def marks(self) -> tuple[Place, ...]:
        """Where its tapes begin, each once."""
        return tuple(dict.fromkeys(mark for mark, _ in self.tapes))


def targets_of(view: SessionView, wording: Wording) -> tuple[Target, ...]:
    """Every target that was measured, as it was last; none in a job that has none."""
    last: dict[str, Computed] = {}
    for kept in view.computations:
        if not kept.taken_back:
            last[kept.fact.step_id] = kept.fact
    return tuple(_targets(list(last.values()), view.opened.vehicle_told.wheelbase_mm, wording))


def _targets(
    worked_out: list[Computed], wheelbase_mm: float | None, wording: Wording
) -> Iterator[Target]:
    for fact in worked_out:
        inputs = {name: one.value for name, one in fact.inputs.items() if one.value is not None}
        try:
            match fact.formula:
                case "corner_place":
                    yield _reflector(fact, inputs, worked_out, wording)
                case "board_place":
                    yield _board(fact, inputs, worked_out, wording)
                case "mat_place" if wheelbase_mm is not None:
                    yield _mat(fact, inputs, wheelbase_mm, wording)
        except KeyError:
            # A record that does not say all of it: no picture is better than a wrong one.
            continue


def _reflector(
    fact: Computed, inputs: Mapping[str, float], others: list[Computed], wording: Wording
) -> Target:
    facing = next((one for one in others if one.formula == "bar_facing"), None)
    if facing is None:
        raise KeyError("bar_facing")
    side, angle_deg, radius = (
        inputs[name] for name in ("side", "wanted_angle_deg", "wanted_radius_mm")
    )
    half_track = inputs["track_mm"] / 2.0
    turned = _named(facing, "facing_deg")
    out = math.radians(angle_deg)
    wheels = (0.0, half_track), (0.0, -half_track)
    return Target(
        at=(-radius * math.cos(out), side * radius * math.sin(out)),
        # Square to the line from the axle's middle, its left end towards the car's left.
        along_deg=side * -angle_deg,
        length_mm=facing.inputs["bar_mm"].value or 0.0,
        off=(-_value(fact, "away_error_mm"), _value(fact, "sideways_error_mm")),
        turned_deg=turned[1].value or 0.0,
        tapes=((wheels[0], 0), (wheels[1], 0), ((0.0, 0.0), 1), ((0.0, 0.0), -1)),
        told=wording(
            "plan-corner-left" if side > 0 else "plan-corner-right",
            radius=_millimetres(radius, wording),
            angle=wording.amount(Quantity(angle_deg, None, "deg"), "", 1),
        ),
        errors=(_named(fact, "sideways_error_mm"), _named(fact, "away_error_mm"), turned),
    )


def _board(
    fact: Computed, inputs: Mapping[str, float], others: list[Computed], wording: Wording
) -> Target:
    ahead, wheelbase, half_track = (
        inputs["wanted_ahead_mm"],
        inputs["wheelbase_mm"],
        inputs["track_mm"] / 2.0,
    )
    turns = [_named(one, "stand_turn_deg") for one in others if _has(one, "stand_turn_deg")]
    aside = fact.inputs["offset_left_mm"]
    distance, height = _named(fact, "distance_error_mm"), _named(fact, "height_error_mm")
    return Target(
        at=(wheelbase + ahead, 0.0),
        along_deg=0.0,
        length_mm=BOARD_MM,
        off=(distance[1].value or 0.0, inputs["offset_left_mm"]),
        turned_deg=(turns[-1][1].value or 0.0) if turns else 0.0,
        tapes=(((wheelbase, half_track), 0), ((wheelbase, -half_track), 0)),
        told=wording("plan-board", distance=_millimetres(ahead, wording)),
        errors=(
            (aside.name, Quantity(aside.value, aside.u, "mm")),
            distance,
            height,
            *turns[-1:],
        ),
    )


def _mat(
    fact: Computed, inputs: Mapping[str, float], wheelbase_mm: float, wording: Wording
) -> Target:
    end, wanted, half_track = inputs["end"], inputs["wanted_mm"], inputs["track_mm"] / 2.0
    axle = wheelbase_mm if end > 0 else 0.0
    distance = _named(fact, "distance_error_mm")
    left, right = (axle, half_track), (axle, -half_track)
    return Target(
        at=(axle + end * wanted, 0.0),
        along_deg=0.0,
        length_mm=inputs["mat_mm"],
        off=(end * (distance[1].value or 0.0), _value(fact, "sideways_error_mm")),
        turned_deg=_value(fact, "turned_deg"),
        tapes=((left, 1), (left, -1), (right, -1), (right, 1)),
        told=wording(
            "plan-mat-front" if end > 0 else "plan-mat-rear",
            distance=_millimetres(wanted, wording),
        ),
        errors=(distance, _named(fact, "sideways_error_mm"), _named(fact, "turned_deg")),
    )


def _millimetres(length_mm: float, wording: Wording) -> str:
    return wording.amount(Quantity(length_mm, None, "mm"), "", 0)


def _has(fact: Computed, ending: str) -> bool:
    return any(name.endswith(ending) for name in fact.outputs)


def _named(fact: Computed, ending: str) -> tuple[str, Quantity]:
    """The output that the formula calls so; a job may put words before its name."""
    for name, output in fact.outputs.items():
        if name.endswith(ending):
            return name, output.quantity
    raise KeyError(ending)


def _value(fact: Computed, ending: str) -> float:
    return _named(fact, ending)[1].value or 0.0
