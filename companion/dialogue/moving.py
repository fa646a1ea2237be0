"""Where the stand stands: every move in the order that ends inside in the fewest, then again."""

from __future__ import annotations

from companion.dialogue import advice
from companion.dialogue.deciding import (
    cannot_pass,
    correction,
    decided,
    notice_wrong_way,
)
from companion.dialogue.looping import once_more
from companion.dialogue.state import LastMove, State, Task
from companion.dialogue.turn import Turn
from companion.dialogue.values import grounds, measured_value, number
from companion.facts import stand as facts
from companion.facts.instructions import StandQuantity
from companion.facts.workings import Corrected, Correction
from companion.measure.conformity import can_ever_pass, decide
from companion.measure.coupling import (
    Quantity,
    StandError,
    StandGeometry,
    StandMove,
    stale_after,
    stand_moves,
)
from companion.measure.doubt import Measured, exact
from companion.procedure.job import Again, Moves, Part


def decide_moves(turn: Turn, step: Moves) -> None:
    """All quantities inside: done. Else: the moves in their order, and what they make stale."""
    state = turn.state
    parts = {part.quantity: part for part in step.parts}
    values = {part.quantity: measured_value(state, part.result) for part in step.parts}
    halves = {part.quantity: number(state, part.within) for part in step.parts}
    for quantity, part in parts.items():
        value, half = values[quantity], halves[quantity]
        if not can_ever_pass(value.u, -half, half, step.confidence):
            cannot_pass(turn, step.id, part.title, part.result, value, half)
            return
    for quantity, part in parts.items():
        _record_decided(turn, step, part, values[quantity], halves[quantity])
        notice_wrong_way(turn, part.id, values[quantity].value, values[quantity].u, part.title)
    if all(_inside(values[q], halves[q], step.confidence) for q in parts):
        turn.change(done=turn.state.done | {step.id})
        return
    moves = stand_moves(
        _error(values),
        _error({q: exact(h) for q, h in halves.items()}),
        _geometry(state, step),
        step.confidence,
    )
    _ask_for(turn, step, parts, values, moves)


def _inside(value: Measured, half: float, confidence: float) -> bool:
    return decide(value.value, value.u, -half, half, confidence).answer == "inside"


def _record_decided(turn: Turn, step: Moves, part: Part, value: Measured, half: float) -> None:
    verdict = decide(value.value, value.u, -half, half, step.confidence)
    turn.record(
        decided(
            turn.state,
            (part.id, part.title, part.result),
            value,
            (-half, half),
            step.confidence,
            verdict,
            times=turn.state.rounds.get(step.id, 0) + 1,
        )
    )


def _error(values: dict[Quantity, Measured]) -> StandError:
    return StandError(
        turn_deg=values["turn"],
        sideways_mm=values["sideways"],
        distance_mm=values["distance"],
        height_mm=values["height"],
    )


def _geometry(state: State, step: Moves) -> StandGeometry:
    return StandGeometry(
        foot_ahead_mm=number(state, step.foot_ahead_mm),
        foot_left_mm=number(state, step.foot_left_mm),
        foot_u_mm=number(state, step.foot_doubt_mm),
    )


def _ask_for(
    turn: Turn,
    step: Moves,
    parts: dict[Quantity, Part],
    values: dict[Quantity, Measured],
    moves: tuple[StandMove, ...],
) -> None:
    """The moves one by one; everything that one of them disturbs is read again after the last."""
    stale = stale_after(moves)
    told = [correction(parts[m.quantity].move, StandQuantity(m.quantity), -m.amount) for m in moves]
    last_moves = dict(turn.state.last_moves)
    for move, (text, instruction) in zip(moves, told, strict=True):
        part, value = parts[move.quantity], values[move.quantity]
        put_right = Correction(value.value, value.u, move.amount)
        turn.record(Corrected(part.id, text, put_right, instruction))
        last_moves[part.id] = LastMove(-move.amount, move.u)
    moved = [move.quantity for move in moves]
    too = [quantity for quantity in stale if quantity not in moved]
    geometry = _geometry(turn.state, step)
    turn.record(
        facts.StandMoves(
            step_id=step.id,
            title=step.title,
            moves=tuple(
                facts.StandMove(m.quantity, m.amount, m.u, text, tuple(m.stale), instruction)
                for m, (text, instruction) in zip(moves, told, strict=True)
            ),
            stale=tuple(stale),
            foot=facts.Foot(geometry.foot_ahead_mm, geometry.foot_left_mm, geometry.foot_u_mm),
            grounds=grounds("stand_moves"),
        )
    )
    turn.change(last_moves=last_moves)
    say = advice.stand_moves(len(moves), too)
    if say:
        turn.announce(say, "explain")
    readings = tuple(reading for q in stale for reading in parts[q].readings)
    again = Again(
        say=say or advice.MEASURED_AGAIN,
        steps=readings,
        at_most=step.at_most,
        then_stop=step.then_stop,
    )
    once_more(turn, step.id, again, tuple(Task(step.id, *each) for each in told))
