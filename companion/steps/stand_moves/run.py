"""Where the stand stands: every move in the order that ends inside in the fewest, then again."""

from __future__ import annotations

from companion.calibration.coupling import (
    Inside,
    Quantity,
    StandError,
    StandGeometry,
    StandMove,
    inside_at,
    stale_after,
    stand_moves,
)
from companion.dialogue.retry import Retry, retry
from companion.dialogue.state import LastMove, State, Task
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import grounds, measured_value, number
from companion.facts import stand as facts
from companion.facts.instructions import StandQuantity
from companion.facts.workings import Corrected, Correction
from companion.steps.shared.advice import MEASURED_AGAIN
from companion.steps.shared.conformity import cannot_pass, correction, decided, notice_wrong_way
from companion.steps.shared.rests_on import rests_on
from companion.steps.stand_moves import prompts
from companion.steps.stand_moves.model import Moves, Part
from companion.steps.verdict.model import Verdict
from companion.steps.verdict.state import to_put_right
from companion.uncertainty.conformity import can_ever_pass, decide
from companion.uncertainty.measured import Measured, exact
from companion.uncertainty.several import Unchecked, judge_several, sets_to_settle

ANY_PLACE_WILL_DO = 1e9
"""The tolerance, mm or degrees, of a quantity that a job does not put right."""


def decide_moves(tx: Transaction, step: Moves) -> None:
    """All quantities inside: done. Else: the moves in their order, and what they make stale."""
    state = tx.state
    parts = {part.quantity: part for part in step.parts}
    means = to_put_right(state, step.mean_of)
    values = {
        part.quantity: means.get(part.result) or measured_value(state, part.result)
        for part in step.parts
    }
    halves = {part.quantity: number(state, part.within) for part in step.parts}
    for quantity, part in parts.items():
        value, half = values[quantity], halves[quantity]
        if not can_ever_pass(value.u, -half, half, step.confidence):
            cannot_pass(tx, step.id, part.title, part.result, value, half)
            return
    for quantity, part in parts.items():
        _record_decided(tx, step, part, values[quantity], halves[quantity])
        notice_wrong_way(tx, part.id, values[quantity].value, values[quantity].u, part.title)
    sent_back = {q for q, part in parts.items() if part.result in means}
    inside = _inside(state, step, sent_back, at_once=False)
    if all(inside(q, values[q], halves[q]) for q in parts):
        tx.change(done=tx.state.done | {step.id})
        return
    # Once something is moved its readings are taken anew: what is near a limit moves with it.
    moves = stand_moves(
        _error(values),
        _error({q: exact(h) for q, h in halves.items()}, otherwise=ANY_PLACE_WILL_DO),
        _geometry(state, step),
        step.confidence,
        _inside(state, step, sent_back, at_once=True),
    )
    _ask_for(tx, step, parts, values, moves)


def _inside(state: State, step: Moves, to_be_moved: set[Quantity], *, at_once: bool) -> Inside:
    """What is left where it is: nothing that the verdict behind has sent back, and only what that
    would call inside: `at_once`, at its first look; else at its second, were its second set to come
    out as the first. Where its doubt asks for more sets even of what was moved as well as can be,
    to half a step of the move, another move brings nothing: the verdict's sets do, or nothing."""
    plainly = inside_at(step.confidence)
    verdict = state.plan.step(step.mean_of) if step.mean_of is not None else None
    nearest = {part.quantity: part.move.resolution / 2 for part in step.parts}
    soonest = 0 if at_once else 1

    def inside(quantity: Quantity, value: Measured, half: float) -> bool:
        if quantity in to_be_moved or not plainly(quantity, value, half):
            return False
        if not isinstance(verdict, Verdict):
            return True
        more = _more_sets(state, verdict, value, half, soonest)
        if more <= soonest or abs(value.value) <= nearest.get(quantity, 0.0):
            return True
        moved = Measured(nearest.get(quantity, 0.0), value.contributions)
        return more <= _more_sets(state, verdict, moved, half, soonest)

    return inside


def _more_sets(state: State, verdict: Verdict, value: Measured, half: float, soonest: int) -> int:
    """So many sets more, `soonest` at least, until the verdict calls a first set with this inside.

    As many as it has looks where it never would.
    """
    sets, limits = [(value,)], [(-half, half)]
    told = (verdict.confidence, 1, verdict.most_sets)
    unchecked = Unchecked(rests_on(state), verdict.confidence_if_wrong)
    if soonest == 0 and judge_several(sets, limits, *told, unchecked).answer == "inside":
        return 0
    more = sets_to_settle(sets, limits, *told, unchecked)
    return verdict.most_sets if more is None else more


def _record_decided(tx: Transaction, step: Moves, part: Part, value: Measured, half: float) -> None:
    verdict = decide(value.value, value.u, -half, half, step.confidence)
    tx.record(
        decided(
            tx.state,
            (part.id, part.title, part.result),
            value,
            (-half, half),
            step.confidence,
            verdict,
            times=tx.state.rounds.get(step.id, 0) + 1,
        )
    )


def _error(values: dict[Quantity, Measured], otherwise: float = 0.0) -> StandError:
    """The values of all quantities; one that is left alone is `otherwise`."""
    left_alone = exact(otherwise)
    return StandError(
        turn_deg=values.get("turn", left_alone),
        sideways_mm=values.get("sideways", left_alone),
        distance_mm=values.get("distance", left_alone),
        height_mm=values.get("height", left_alone),
    )


def _geometry(state: State, step: Moves) -> StandGeometry:
    return StandGeometry(
        foot_ahead_mm=number(state, step.foot_ahead_mm),
        foot_left_mm=number(state, step.foot_left_mm),
        foot_u_mm=number(state, step.foot_doubt_mm),
    )


def _ask_for(
    tx: Transaction,
    step: Moves,
    parts: dict[Quantity, Part],
    values: dict[Quantity, Measured],
    moves: tuple[StandMove, ...],
) -> None:
    """The moves one by one; everything that one of them disturbs is read again after the last."""
    stale = [quantity for quantity in stale_after(moves) if quantity in parts]
    told = [
        correction(
            parts[m.quantity].move,
            StandQuantity(m.quantity),
            -m.amount,
            tx.state,
            values[m.quantity].value,
        )
        for m in moves
    ]
    last_moves = dict(tx.state.last_moves)
    targets: dict[str, float] = {}
    for move, (said, instruction, target) in zip(moves, told, strict=True):
        if target is not None:
            targets[target.reading_id] = target.value
        part, value = parts[move.quantity], values[move.quantity]
        put_right = Correction(value.value, value.u, move.amount)
        tx.record(Corrected(part.id, tx.words(said), put_right, instruction, target))
        last_moves[part.id] = LastMove(-move.amount, move.u)
    moved = [move.quantity for move in moves]
    too = [quantity for quantity in stale if quantity not in moved]
    geometry = _geometry(tx.state, step)
    tx.record(
        facts.StandMoves(
            step_id=step.id,
            title=step.title,
            moves=tuple(
                facts.StandMove(
                    m.quantity, m.amount, m.u, tx.words(said), tuple(m.stale), instruction
                )
                for m, (said, instruction, _) in zip(moves, told, strict=True)
            ),
            stale=tuple(stale),
            foot=facts.Foot(geometry.foot_ahead_mm, geometry.foot_left_mm, geometry.foot_u_mm),
            grounds=grounds("stand_moves"),
        )
    )
    tx.change(last_moves=last_moves, targets=targets)
    say = prompts.stand_moves(len(moves), too)
    readings = tuple(reading for q in stale for reading in parts[q].readings)
    again = Retry(
        say=say or MEASURED_AGAIN,
        steps=readings,
        at_most=step.at_most,
        then_stop=step.then_stop,
    )
    retry(
        tx, step.id, again, tuple(Task(step.id, said, instruction) for said, instruction, _ in told)
    )
