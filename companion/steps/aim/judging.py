"""What the screws really did, compared with what was asked for: as planned, a slip, or unclear."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from companion.calibration.hypothesis_test import MoveVerdict, explain_move, learn_from_move
from companion.calibration.mount import Mount
from companion.dialogue.state import State
from companion.dialogue.transaction import Transaction
from companion.dialogue.values import grounds
from companion.facts.aim import AimThen, Judgement, Moved, MoveJudged, ResponseThen, Story
from companion.steps.aim import prompts
from companion.steps.aim.figures import limits_of, mount_model, setting_u
from companion.steps.aim.model import AimDecision
from companion.steps.aim.sets import (
    Covariance,
    covariance,
    difference,
    mean,
    measure_again,
)
from companion.steps.aim.state import DOUBTED_AFTER, AimRound, aim_of, keep, response_by_file
from companion.uncertainty.sets import Pair

# A prediction counts as a second opinion when its own doubt is below this part of the tolerance.
SHARP_PART_OF_TOLERANCE = 0.25
ODD_MOVES_AT_MOST = 1


@dataclass(frozen=True)
class _Move:
    """A move of the screws: what was asked for, what it did to the aim, and how that is explained.

    Turns are clockwise, in the mount's order; `moved_deg` is (yaw, elevation), left and up
    positive, and `spread` its covariance; `before_deg` the aim before. `settled` says of each screw
    whether it had been turned before: it then lies against its thread in the approach direction.
    """

    planned_turns: tuple[Fraction, ...]
    turned_before: tuple[Fraction, ...]
    settled: tuple[bool, ...]
    before_deg: tuple[float, float]
    moved_deg: tuple[float, float]
    spread: Covariance
    verdict: MoveVerdict


def judge_move(tx: Transaction, step: AimDecision, mount: Mount) -> bool:
    """Compare what the screws did with what was predicted; False when another look is needed."""
    aim = aim_of(tx.state)
    if aim.planned_turns is None or aim.before is None:
        return True
    setting = setting_u(mount_model(tx.state.plan))
    move = _explained(aim, aim.planned_turns, aim.before, mount, setting)
    by_file = _by_file(tx.state, aim, move, mount, setting)
    if by_file is not None:
        aim, move = by_file
        tx.record(_judged(step.id, aim, move, setting))
        tx.announce(prompts.LEARNED_ANEW, "explain")
        # The file alone is no sharp prediction: what it explains is no second opinion.
        keep(tx, replace(_after(tx.state, aim, move), foreseen=False))
        return True
    tx.record(_judged(step.id, aim, move, setting))
    if move.verdict.kind == "unexplained" and aim.odd_moves < ODD_MOVES_AT_MOST:
        # Most often a misread level: look again before anything is turned on the strength of it.
        keep(tx, replace(aim, odd_moves=aim.odd_moves + 1))
        measure_again(tx, step, prompts.UNEXPLAINED_MOVE)
        return False
    _say_slip(tx, mount, move.verdict)
    after = keep(tx, _after(tx.state, aim, move))
    if after.wrong_ways == DOUBTED_AFTER > aim.wrong_ways:
        tx.announce(prompts.MOUNT_DOUBTED, "explain")
    return True


def _by_file(
    state: State, aim: AimRound, move: _Move, mount: Mount, setting_u_turns: float
) -> tuple[AimRound, _Move] | None:
    """The move by what the mount file says, where what was learned makes slips of two running.

    A slip that passed for the plan teaches the response a falsehood, and every move after it then
    looks like a slip: without end, for a slip teaches no other response. None where the move is as
    planned by what was learned, is the first that is not, or is no more as planned by the file.
    """
    if aim.planned_turns is None or aim.before is None or move.verdict.kind == "as_planned":
        return None
    if aim.slips_running == 0:
        return None
    if move.verdict.kind == "unexplained" and aim.odd_moves < ODD_MOVES_AT_MOST:
        return None
    anew = replace(
        aim,
        response=response_by_file(mount_model(state.plan)),
        turned=tuple(t - a for t, a in zip(aim.turned, aim.amiss, strict=True)),
    )
    by_file = _explained(anew, aim.planned_turns, aim.before, mount, setting_u_turns)
    return (anew, by_file) if by_file.verdict.kind == "as_planned" else None


def as_planned(
    state: State, step_id: str, aim: AimRound, mount: Mount
) -> tuple[MoveJudged, AimRound] | None:
    """What the record keeps of a move that came out as planned, and what is known after it.

    None where anything else may have happened at the screws.
    """
    if aim.planned_turns is None or aim.before is None:
        return None
    setting = setting_u(mount_model(state.plan))
    move = _explained(aim, aim.planned_turns, aim.before, mount, setting)
    if move.verdict.kind != "as_planned":
        return None
    return _judged(step_id, aim, move, setting), _after(state, aim, move)


def _explained(
    aim: AimRound,
    planned_turns: tuple[Fraction, ...],
    before: Pair,
    mount: Mount,
    setting_u_turns: float,
) -> _Move:
    now = mean(aim.sets)
    moved = tuple(difference(n, b) for n, b in zip(now, before, strict=True))
    spread = covariance((moved[0], moved[1]))
    values = (moved[0].value, moved[1].value)
    before_deg = (before[0].value, before[1].value)
    turned_before = tuple(t - p for t, p in zip(aim.turned, planned_turns, strict=True))
    settled = tuple(turns != 0 for turns in turned_before)
    verdict = explain_move(
        mount,
        aim.response,
        planned_turns,
        values,
        spread,
        setting_u_turns,
        settled=settled,
        turned_before=turned_before,
        before_deg=before_deg,
    )
    return _Move(planned_turns, turned_before, settled, before_deg, values, spread, verdict)


def _judged(step_id: str, aim: AimRound, move: _Move, setting_u_turns: float) -> MoveJudged:
    verdict = move.verdict
    return MoveJudged(
        step_id=step_id,
        kind=verdict.kind,
        screw_ids=verdict.screw_ids,
        probability=verdict.probability,
        judgement=Judgement(
            instead_ids=verdict.instead_ids,
            names=tuple(
                Story(name.kind, name.screw_ids, name.instead_ids, name.probability)
                for name in verdict.names[:2]
            ),
            moved=Moved(*move.moved_deg),
            turns=move.planned_turns,
            really_turned=verdict.turned,
            move_covariance=tuple(map(tuple, move.spread.tolist())),
            settled=move.settled,
            turned_before=move.turned_before,
            response=ResponseThen(aim.response.mean, aim.response.covariance),
            grounds=grounds("move_stories"),
            setting_u_turns=setting_u_turns,
            before=AimThen(*move.before_deg),
        ),
    )


def _after(state: State, aim: AimRound, move: _Move) -> AimRound:
    """What is known once the move was explained: the mount's response, where the screws stand."""
    verdict = move.verdict
    as_planned = verdict.kind == "as_planned"
    response = aim.response
    if verdict.kind != "unexplained":
        response = learn_from_move(response, verdict, move.moved_deg, move.spread)
    return replace(
        aim,
        response=response,
        turned=tuple(
            before + really
            for before, really in zip(move.turned_before, verdict.turned, strict=True)
        ),
        wrong_ways=aim.wrong_ways + (verdict.kind == "wrong_way"),
        slips_running=0 if as_planned else aim.slips_running + 1,
        amiss=() if as_planned else _amiss(aim, move),
        explained=as_planned,
        # By what was known before: a move that has taught the response always fits it.
        foreseen=as_planned
        and verdict.probability >= limits_of(state.plan).confidence
        and _sharp(state, aim),
        planned_turns=move.planned_turns if as_planned else None,
    )


def _amiss(aim: AimRound, move: _Move) -> tuple[Fraction, ...]:
    """Further than was asked for, by this move and those running before it."""
    so_far = aim.amiss or (Fraction(0),) * len(move.planned_turns)
    return tuple(
        before + really - planned
        for before, really, planned in zip(
            so_far, move.verdict.turned, move.planned_turns, strict=True
        )
    )


def _sharp(state: State, aim: AimRound) -> bool:
    """Whether the last prediction was sharp enough to count as a second opinion."""
    if aim.planned_turns is None or aim.before is None:
        return False
    tolerances = limits_of(state.plan).both
    spread = aim.response.change_covariance(
        aim.planned_turns, [setting_u(mount_model(state.plan))] * len(aim.planned_turns)
    )
    spread = spread + covariance(aim.before)
    return all(
        spread[i, i] ** 0.5 <= SHARP_PART_OF_TOLERANCE * tolerance
        for i, tolerance in enumerate(tolerances)
    )


def _say_slip(tx: Transaction, mount: Mount, verdict: MoveVerdict) -> None:
    if verdict.kind == "as_planned":
        return
    spoken = {screw.id: screw.name for screw in mount.screws}
    likeliest = [
        prompts.slip(
            name.kind,
            [spoken[screw_id] for screw_id in name.screw_ids],
            [spoken[screw_id] for screw_id in name.instead_ids],
        )
        for name in verdict.names[:2]
    ]
    match verdict.kind:
        case "unexplained":
            told = prompts.UNEXPLAINED_MOVE
        case "ambiguous":
            told = prompts.looks_like_either(*likeliest)
        case _:
            told = prompts.looks_as_if(likeliest[0])
    tx.announce(told, "explain")
