"""What the technician is asked to do with his hands, as values: no sentence has to be read for it.

Voice, screen, report and simulated technician each render or read these. Left and right are the
car's; clockwise is as one faces the screw's head from in front. An amount is never negative: the
way is a direction.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import Any

from companion.errors import CompanionError


class InstructionError(CompanionError):
    """An instruction that nobody could follow."""


class Direction(StrEnum):
    """Every way that something can be moved or turned."""

    LEFT = "left"
    RIGHT = "right"
    UP = "up"
    DOWN = "down"
    IN = "in"
    OUT = "out"
    TOWARDS = "towards"
    AWAY = "away"
    CLOCKWISE = "clockwise"
    ANTICLOCKWISE = "anticlockwise"


class StandQuantity(StrEnum):
    """What of the stand is put right by a move."""

    TURN = "turn"
    SIDEWAYS = "sideways"
    DISTANCE = "distance"
    HEIGHT = "height"
    LEVEL = "level"
    PLUMB = "plumb"


_LEFT_RIGHT = frozenset({Direction.LEFT, Direction.RIGHT})
_TOWARDS_AWAY = frozenset({Direction.TOWARDS, Direction.AWAY})
_UP_DOWN = frozenset({Direction.UP, Direction.DOWN})
DIRECTIONS_OF: Mapping[StandQuantity, frozenset[Direction]] = MappingProxyType(
    {
        StandQuantity.TURN: _LEFT_RIGHT,
        StandQuantity.SIDEWAYS: _LEFT_RIGHT,
        StandQuantity.DISTANCE: _TOWARDS_AWAY,
        StandQuantity.HEIGHT: _UP_DOWN,
        StandQuantity.LEVEL: _UP_DOWN,
        StandQuantity.PLUMB: _TOWARDS_AWAY,
    }
)
"""The ways of each quantity: the stand's left end goes up or down, the plate's top away or towards
the car."""


@dataclass(frozen=True, slots=True)
class MoveStand:
    """Move the stand, or a part of it.

    `quantity` is None where the job moves something that is none of the stand's quantities; then
    only its sentence tells what. Raises InstructionError where amount or direction do not fit.
    """

    quantity: StandQuantity | None
    direction: Direction
    amount: Decimal
    unit: str

    def __post_init__(self) -> None:
        _need(
            self.amount.is_finite() and self.amount > 0,
            f"a move by {self.amount}",
            "more than zero, with its direction beside it",
        )
        if self.quantity is not None:
            ways = DIRECTIONS_OF[self.quantity]
            _need(
                self.direction in ways,
                f"a move of {self.quantity} {self.direction}",
                " or ".join(sorted(ways)),
            )


@dataclass(frozen=True, slots=True)
class TurnScrew:
    """Turn one screw of the mount by so many turns, clockwise or anticlockwise.

    Raises InstructionError for no turns or another way.
    """

    screw_id: str
    sense: Direction
    turns: Fraction

    def __post_init__(self) -> None:
        _need(self.turns > 0, f"{self.turns} turns", "more than none, with the way beside them")
        _need(
            self.sense in (Direction.CLOCKWISE, Direction.ANTICLOCKWISE),
            f"a screw turned {self.sense}",
            "clockwise or anticlockwise",
        )

    @property
    def clockwise_turns(self) -> Fraction:
        """Clockwise counts positive."""
        return self.turns if self.sense is Direction.CLOCKWISE else -self.turns


@dataclass(frozen=True, slots=True)
class PlaceShim:
    """Lay so much under the wheel at whose spot this reading of the floor is taken.

    Raises InstructionError for no thickness.
    """

    reading_id: str
    thickness_mm: Decimal

    def __post_init__(self) -> None:
        _need(
            self.thickness_mm.is_finite() and self.thickness_mm > 0,
            f"a shim of {self.thickness_mm} mm",
            "more than nothing",
        )


@dataclass(frozen=True, slots=True)
class PlaceBy:
    """Put something where these readings come to these figures.

    `reads`: a reading's id and what it reads then, without a sign. Raises InstructionError for none
    of them, one named twice, or a figure that is not above zero.
    """

    reads: tuple[tuple[str, Decimal], ...]

    def __post_init__(self) -> None:
        names = [name for name, _ in self.reads]
        _need(
            bool(names) and len(set(names)) == len(names),
            f"a place by {', '.join(names) or 'nothing'}",
            "readings, each named once",
        )
        for name, value in self.reads:
            _need(
                value.is_finite() and value > 0, f"a place by {name} at {value}", "more than zero"
            )


Instruction = MoveStand | TurnScrew | PlaceShim | PlaceBy


def instruction_to_plain(instruction: Instruction) -> dict[str, Any]:
    """The instruction as JSON values."""
    match instruction:
        case MoveStand(quantity, direction, amount, unit):
            return {
                "do": "move_stand",
                "quantity": None if quantity is None else quantity.value,
                "direction": direction.value,
                "amount": format(amount, "f"),
                "unit": unit,
            }
        case TurnScrew(screw_id, sense, turns):
            return {
                "do": "turn_screw",
                "screw_id": screw_id,
                "sense": sense.value,
                "turns": str(turns),
            }
        case PlaceShim(reading_id, thickness_mm):
            return {
                "do": "place_shim",
                "reading_id": reading_id,
                "thickness_mm": format(thickness_mm, "f"),
            }
        case PlaceBy(reads):
            return {
                "do": "place_by",
                "reads": [
                    {"reading_id": name, "value": format(value, "f")} for name, value in reads
                ],
            }


def instruction_from_plain(plain: object) -> Instruction:
    """What `instruction_to_plain` wrote.

    Raises InstructionError for anything else: a way that cannot be read is never guessed.
    """
    try:
        match plain:
            case {
                "do": "move_stand",
                "quantity": str() | None as quantity,
                "direction": str(direction),
                "amount": str(amount),
                "unit": str(unit),
            }:
                return MoveStand(
                    None if quantity is None else StandQuantity(quantity),
                    Direction(direction),
                    Decimal(amount),
                    unit,
                )
            case {
                "do": "turn_screw",
                "screw_id": str(screw),
                "sense": str(way),
                "turns": str(turns),
            }:
                return TurnScrew(screw, Direction(way), Fraction(turns))
            case {"do": "place_shim", "reading_id": str(reading), "thickness_mm": str(thickness)}:
                return PlaceShim(reading, Decimal(thickness))
            case {"do": "place_by", "reads": list(reads)}:
                return PlaceBy(tuple((str(r["reading_id"]), Decimal(r["value"])) for r in reads))
            case _:
                pass
    except (ValueError, KeyError, TypeError, ZeroDivisionError, InvalidOperation) as error:
        raise InstructionError(f"an instruction read as {plain!r}: {error}") from error
    raise InstructionError(f"an instruction read as {plain!r}: wanted one that was written here")


def _need(holds: bool, found: str, wanted: str) -> None:
    if not holds:
        raise InstructionError(f"an instruction has {found}: wanted {wanted}")
