"""What was advised and why, out of the record: moves, shims, suspects, screws, the result."""

from __future__ import annotations

from collections.abc import Iterable
from typing import get_args

from companion.facts.aim import MoveJudged, ScrewPlan
from companion.facts.ending import Finished, Miss
from companion.facts.figures import Grounds, Quantity, Share
from companion.facts.stand import Shims, StandMoves
from companion.facts.workings import CannotPass, Suspected
from companion.report import advised, wording

# A doubt is told as twice the standard uncertainty, which is about 95 % of a normal spread.
COVERAGE_FACTOR = 2
Advice = Shims | StandMoves | Suspected | ScrewPlan | MoveJudged | CannotPass | Finished
ADVICE = get_args(Advice)


def with_doubt(told: Quantity, name: str = "") -> str:
    """The value with twice its standard uncertainty."""
    expanded = None if told.u is None else COVERAGE_FACTOR * told.u
    return (
        f"{wording.amount(told, name)} ± {wording.doubt(Quantity(None, expanded, told.unit))}"
        f"  (twice the standard uncertainty of {wording.doubt(told)})"
    )


def method(grounds: Grounds | None) -> list[str]:
    """The formula in words and its source; nothing where the record does not carry them."""
    if grounds is None or not grounds.text or not grounds.source:
        return []
    return [f"  formula: {grounds.text}", f"  source: {grounds.source}"]


def is_about(told: Advice, name: str) -> bool:
    """Whether the advice is about the result or step of this name."""
    result = told.result if isinstance(told, Shims | CannotPass | Finished) else ""
    return name in (told.step_id, result)


def advice(told: Advice) -> list[str]:
    """Lines about one piece of advice; the first is its heading."""
    return [*in_short(told), *_rests_on(told)]


def in_short(told: Advice) -> list[str]:
    """The same without what it rests on: doubt, formula and source."""
    match told:
        case Shims():
            return _shims(told)
        case StandMoves():
            return _stand_moves(told)
        case Suspected():
            return _suspected(told)
        case ScrewPlan():
            return _screw_plan(told)
        case MoveJudged():
            return _move_judged(told)
        case CannotPass():
            return _cannot_pass(told)
        case Finished():
            return _finished(told)


def _rests_on(told: Advice) -> list[str]:
    match told:
        case Shims():
            doubt = ["  what the doubt of the twist is made of:", *shares(told.budget)]
            return [*doubt, *method(told.grounds)]
        case CannotPass():
            doubt = ["  what the doubt is made of:", *shares(told.budget)]
            return [*doubt, *method(told.grounds)]
        case MoveJudged(judgement=judgement):
            return method(judgement.grounds if judgement else None)
        case _:
            return method(told.grounds)


def shares(budget: Iterable[Share]) -> list[str]:
    """Who adds how much to a doubt, by the names of the budget."""
    return [f"    {share.percent:5.1f} %  {share.name}" for share in budget]


def _shims(told: Shims) -> list[str]:
    lines = [
        f"Shims: {advised.laid_under(told) or 'none'}",
        f"  floor twist {with_doubt(told.quantity, 'floor_twist_mm')}; "
        f"without shims {wording.limits(told.low, told.high, 'mm')}",
    ]
    for name, angle in told.taken_into_account.items():
        lines.append(
            f"  taken into account: {wording.title_of(name)} {with_doubt(angle.quantity, name)}"
        )
    return lines


def _stand_moves(told: StandMoves) -> list[str]:
    lines = [f"Moves of the stand, in their order: {len(told.moves)}"]
    for move in told.moves:
        lines.append(
            f"  {move.quantity} by {wording.plain_number(move.by or 0.0, 2)} "
            f"(u {move.u or 0.0:.2g}): {move.text} It makes {', '.join(move.stale)} stale."
        )
    foot = told.foot
    where = f"{foot.ahead_mm:g} mm ahead and {foot.left_mm:g} mm left of the centre"
    return [*lines, f"  foot {where} (u {foot.u_mm:g} mm)"]


def _suspected(told: Suspected) -> list[str]:
    lines = [f"Suspects ({told.step_id.replace('_', ' ')})"]
    for suspect in told.suspects:
        lines.append(
            f"  {suspect.percent:5.1f} %  {suspect.cause}, "
            f"misread by {wording.plain_number(suspect.error, 2)} if it was that"
        )
    return [*lines, f"  read again: {advised.asked_again(told)}"]


def _screw_plan(told: ScrewPlan) -> list[str]:
    lines = [f"Screws, round {told.round}: {advised.turns(told)}"]
    for axis, quantity in told.predicted.axes.items():
        name = f"aim_{axis}_deg"
        lines.append(f"  foretold {wording.title_of(name)}: {with_doubt(quantity, name)}")
    chance = wording.percent(told.predicted.probability_inside)
    return [*lines, f"  foretold chance of both axes inside: {chance}"]


def _move_judged(told: MoveJudged) -> list[str]:
    lines = [f"Move judged: {advised.stories(told)}"]
    if told.probability is not None:
        lines.append(f"  probability of that story: {wording.percent(told.probability)}")
    if told.judgement is not None:
        lines += [
            f"  moved {wording.amount(quantity, f'aim_{axis}_deg')}"
            for axis, quantity in told.judgement.moved.axes.items()
        ]
    return lines


def _cannot_pass(told: CannotPass) -> list[str]:
    limits = wording.limits_about_zero(told.half_width, told.unit or "")
    return [
        f"No reading could pass: {told.title} ({told.result})",
        f"  standard uncertainty {wording.doubt(told.doubt)}; limits: {limits}",
    ]


def _finished(told: Finished) -> list[str]:
    lines = [f"Result: {told.result.replace('_', ' ')}"]
    for name, axis in told.axes.items():
        aim = f"aim_{name}_deg"
        lines.append(f"  {wording.title_of(aim)}: {with_doubt(axis.quantity, aim)}")
        lines += shares(axis.budget)
    for miss in told.misses_m:
        lines.append(f"  at {miss.range_m or 0.0:g} m: {_beside(miss)}")
    return lines


def _beside(miss: Miss) -> str:
    sideways = with_doubt(miss.sideways, "aim_yaw_deg")
    return f"{sideways}, {with_doubt(miss.height, 'aim_elevation_deg')}"
