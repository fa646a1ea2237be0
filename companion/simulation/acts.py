"""What a technician can do with his hands in the bay, as values; the world carries them out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import assert_never

from companion.facts import instructions
from companion.facts.instructions import Direction, StandQuantity
from companion.simulation.mount import Way
from companion.simulation.optics import Side
from companion.simulation.world import World


@dataclass(frozen=True, slots=True)
class MoveStand:
    """Towards the car is `ahead_mm` below zero, to the car's left `left_mm` above zero."""

    ahead_mm: float = 0.0
    left_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class TurnStand:
    left_deg: float


@dataclass(frozen=True, slots=True)
class LevelStand:
    left_up_mm_per_m: float


@dataclass(frozen=True, slots=True)
class TiltPlate:
    top_away_mm_per_m: float


@dataclass(frozen=True, slots=True)
class SetStand:
    """Before anything is measured: level and plumb, the tape right, both arm scales alike."""


@dataclass(frozen=True, slots=True)
class SetLevel:
    """The stand levelled by its own level, before that is read."""


@dataclass(frozen=True, slots=True)
class PlaceBy:
    """Put what stands there where these scales, each at its place, read so."""

    reads: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True, slots=True)
class LiftPlate:
    up_mm: float


@dataclass(frozen=True, slots=True)
class TurnScrew:
    screw_id: str
    way: Way
    turns: float


@dataclass(frozen=True, slots=True)
class TurnWheel:
    side: Side
    quarters: int


@dataclass(frozen=True, slots=True)
class SeatClamp:
    side: Side


@dataclass(frozen=True, slots=True)
class ZeroPlate:
    """Upright and in the middle."""


@dataclass(frozen=True, slots=True)
class PlaceShim:
    """Under the wheel's spot, "rear left" say."""

    spot: str
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class SetLineLaser:
    pass


@dataclass(frozen=True, slots=True)
class Settle:
    """Bounce the car, so that its springs and wheels come to rest."""


@dataclass(frozen=True, slots=True)
class LockScrews:
    pass


@dataclass(frozen=True, slots=True)
class SeatSensor:
    """Take the sensor and its bracket off and seat them anew."""


@dataclass(frozen=True, slots=True)
class PlumbMarks:
    """Marks on the floor under the wheels' middles, made anew."""


@dataclass(frozen=True, slots=True)
class ChangeHeads:
    """The laser heads, left for right; or each back to its own wheel."""

    own_wheels: bool = False


@dataclass(frozen=True, slots=True)
class ShimBar:
    """The shim of the monthly check behind the mirror bar's left end; out again without it."""

    is_in: bool


@dataclass(frozen=True, slots=True)
class SetLean:
    towards: float


@dataclass(frozen=True, slots=True)
class SetSwing:
    left_towards: float


Act = (
    MoveStand
    | TurnStand
    | LevelStand
    | TiltPlate
    | SetStand
    | SetLevel
    | PlaceBy
    | LiftPlate
    | TurnScrew
    | TurnWheel
    | SeatClamp
    | PlaceShim
    | ZeroPlate
    | SetLineLaser
    | Settle
    | LockScrews
    | PlumbMarks
    | ChangeHeads
    | ShimBar
    | SeatSensor
    | SetLean
    | SetSwing
)


def perform(act: Act, world: World) -> None:
    """Do it, with the slack of real hands."""
    match act:
        case MoveStand(ahead_mm, left_mm):
            world.move_stand(ahead_mm, left_mm)
        case TurnStand(left_deg):
            world.turn_stand(left_deg)
        case LevelStand(left_up):
            world.level_stand(left_up)
        case TiltPlate(top_away):
            world.tilt_plate(top_away)
        case SetStand():
            world.set_stand()
        case SetLevel():
            world.set_level()
        case PlaceBy(reads):
            world.place_by(reads)
        case LiftPlate(up_mm):
            world.lift_plate(up_mm)
        case TurnScrew(screw_id, way, turns):
            world.turn_screw(screw_id, way, turns)
        case TurnWheel(side, quarters):
            world.turn_wheel(side, quarters)
        case SeatClamp(side):
            world.seat_clamp(side)
        case ZeroPlate():
            world.set_lean(0)
            world.set_swing(0)
        case PlaceShim(spot, thickness_mm):
            world.place_shim(spot, thickness_mm)
        case SetLineLaser():
            world.set_line_laser()
        case Settle():
            world.settle()
        case LockScrews():
            world.lock_screws()
        case SeatSensor():
            world.seat_sensor()
        case PlumbMarks():
            world.plumb_marks()
        case ChangeHeads(own_wheels):
            world.change_heads(own_wheels=own_wheels)
        case ShimBar(is_in):
            world.shim_bar(is_in=is_in)
        case SetLean(towards):
            world.set_lean(towards)
        case SetSwing(left_towards):
            world.set_swing(left_towards)
        case _:
            assert_never(act)


def act_of(
    instruction: instructions.Instruction, scales: Mapping[str, tuple[str, str]]
) -> Act | None:
    """What hands do about an instruction; `scales`: of each reading its scale and where it is read.

    None for what is no part of the simulated bay.
    """
    match instruction:
        case instructions.MoveStand(quantity, direction, amount, _):
            by = float(amount) if direction in _POSITIVE else -float(amount)
            return None if quantity is None else _move(quantity, by)
        case instructions.TurnScrew(screw_id, sense, turns):
            way: Way = "clockwise" if sense is Direction.CLOCKWISE else "anticlockwise"
            return TurnScrew(screw_id, way, float(turns))
        case instructions.PlaceShim(reading_id, thickness_mm):
            _, spot = scales.get(reading_id, ("", ""))
            return None if not spot else PlaceShim(spot, float(thickness_mm))
        case instructions.PlaceBy(reads):
            seen = ((*scales.get(name, ("", "")), float(value)) for name, value in reads)
            known = tuple(each for each in seen if each[0])
            return PlaceBy(known) if known else None


_POSITIVE = (Direction.LEFT, Direction.UP, Direction.AWAY)


def _move(quantity: StandQuantity, by: float) -> Act:
    match quantity:
        case StandQuantity.TURN:
            return TurnStand(left_deg=by)
        case StandQuantity.SIDEWAYS:
            return MoveStand(left_mm=by)
        case StandQuantity.DISTANCE:
            return MoveStand(ahead_mm=by)
        case StandQuantity.HEIGHT:
            return LiftPlate(up_mm=by)
        case StandQuantity.LEVEL:
            return LevelStand(left_up_mm_per_m=by)
        case StandQuantity.PLUMB:
            return TiltPlate(top_away_mm_per_m=by)
