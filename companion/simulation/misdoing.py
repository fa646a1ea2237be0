"""Doing what was asked, rightly or with one of the slips that hands make."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from companion.simulation.acts import (
    Act,
    LevelStand,
    LiftPlate,
    MoveStand,
    PlaceBy,
    TiltPlate,
    TurnScrew,
    TurnStand,
)
from companion.simulation.slips import ACTING_SLIPS, ActingSlip, Slips


def misdone(act: Act, screw_ids: Sequence[str], slips: Slips, prompt: str) -> tuple[Act, ...]:
    """What hands really do about an instruction. At most one slip; it is noted as harmful."""
    for kind in ACTING_SLIPS:
        wrong = _slipped(kind, act, screw_ids, slips)
        if wrong is None or not slips.strikes(kind):
            continue
        slips.note(kind, prompt, str(act), str(wrong), harmful=True)
        return (wrong,)
    return (act,)


def _slipped(kind: ActingSlip, act: Act, screw_ids: Sequence[str], slips: Slips) -> Act | None:
    """The wrong act that this slip makes of the right one; None where it cannot be made."""
    match kind:
        case "moves_wrong_way":
            return _scaled(act, -1.0)
        case "wrong_amount":
            return _scaled(act, slips.random.choice((0.5, 2.0)), screws_too=True)
        case "screw_wrong_way":
            if not isinstance(act, TurnScrew):
                return None
            return replace(act, way="anticlockwise" if act.way == "clockwise" else "clockwise")
        case "other_screw":
            if not isinstance(act, TurnScrew):
                return None
            others = [screw for screw in screw_ids if screw != act.screw_id]
            other = others[0] if len(others) == 1 else slips.random.choice(others)
            return replace(act, screw_id=other)


def _scaled(act: Act, factor: float, *, screws_too: bool = False) -> Act | None:
    match act:
        case MoveStand(ahead_mm, left_mm):
            return MoveStand(ahead_mm * factor, left_mm * factor)
        case TurnStand(left_deg):
            return TurnStand(left_deg * factor)
        case LevelStand(left_up):
            return LevelStand(left_up * factor)
        case TiltPlate(top_away):
            return TiltPlate(top_away * factor)
        case LiftPlate(up_mm):
            return LiftPlate(up_mm * factor)
        case PlaceBy(reads):
            return PlaceBy(_misplaced(reads, factor))
        case TurnScrew(screw_id, way, turns) if screws_too:
            return TurnScrew(screw_id, way, turns * factor)
        case _:
            return None


def _misplaced(
    reads: tuple[tuple[str, str, float], ...], factor: float
) -> tuple[tuple[str, str, float], ...]:
    """The wrong way: the first figure put to the second place, and the other way round.

    The wrong amount: the first figure a hundred out.
    """
    (name, where, value), *others = reads
    if factor > 0 or not others:
        return ((name, where, value + (100.0 if factor > 1 else -100.0)), *others)
    (other, there, far), *rest = others
    return ((name, where, far), (other, there, value), *rest)
