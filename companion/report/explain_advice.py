"""What was advised and why, out of the record: moves, shims, suspects, screws, the result."""

from __future__ import annotations

from collections.abc import Iterable
from typing import get_args

from companion.facts.aim import MoveJudged, ScrewPlan
from companion.facts.ending import Finished
from companion.facts.figures import Grounds, Quantity, Share
from companion.facts.stand import Shims, StandMove, StandMoves
from companion.facts.workings import CannotPass, Suspected
from companion.report import advised
from companion.report.wording import Wording

Advice = Shims | StandMoves | Suspected | ScrewPlan | MoveJudged | CannotPass | Finished
ADVICE = get_args(Advice)


def with_uncertainty(told: Quantity, wording: Wording, name: str = "") -> str:
    """The value with twice its standard uncertainty."""
    return wording(
        "advice-amount",
        amount=wording.amount(told, name),
        expanded=wording.expanded(told),
        uncertainty=wording.uncertainty(told),
    )


def method(grounds: Grounds | None, wording: Wording) -> list[str]:
    """The formula in words and its source; nothing where the record does not carry them."""
    if grounds is None or not grounds.text or not grounds.source:
        return []
    return [
        f"  {wording('explain-formula-text', text=grounds.text)}",
        f"  {wording('explain-source', source=grounds.source)}",
    ]


def is_about(told: Advice, name: str) -> bool:
    """Whether the advice is about the result or step of this name."""
    result = told.result if isinstance(told, Shims | CannotPass | Finished) else ""
    return name in (told.step_id, result)


def advice(told: Advice, wording: Wording) -> list[str]:
    """Lines about one piece of advice; the first is its heading."""
    return [*in_short(told, wording), *_rests_on(told, wording)]


def in_short(told: Advice, wording: Wording) -> list[str]:
    """The same without what it rests on: uncertainty, formula and source."""
    match told:
        case Shims():
            return _shims(told, wording)
        case StandMoves():
            return _stand_moves(told, wording)
        case Suspected():
            return _suspected(told, wording)
        case ScrewPlan():
            return _screw_plan(told, wording)
        case MoveJudged():
            return _move_judged(told, wording)
        case CannotPass():
            return _cannot_pass(told, wording)
        case Finished():
            return _finished(told, wording)


def _rests_on(told: Advice, wording: Wording) -> list[str]:
    match told:
        case Shims() | CannotPass():
            made_of = wording("explain-made-of")
            return [
                f"  {made_of}",
                *shares(told.budget, wording),
                *method(told.grounds, wording),
            ]
        case MoveJudged(judgement=judgement):
            return method(judgement.grounds if judgement else None, wording)
        case _:
            return method(told.grounds, wording)


def shares(budget: Iterable[Share], wording: Wording) -> list[str]:
    """Who adds how much to an uncertainty, by the names of the budget."""
    return [f"    {wording.share(share.percent, 1):>7}  {share.name}" for share in budget]


def _shims(told: Shims, wording: Wording) -> list[str]:
    under = advised.laid_under(told, wording) or wording("shims-none")
    twist = with_uncertainty(told.quantity, wording, "floor_twist_mm")
    limits = wording.limits(told.low, told.high, "mm")
    lines = [
        wording("advice-shims", under=under),
        f"  {wording('advice-shims-twist', twist=twist, limits=limits)}",
    ]
    for name, angle in told.taken_into_account.items():
        title, amount = wording.title_of(name), with_uncertainty(angle.quantity, wording, name)
        lines.append(f"  {wording('advice-taken-into-account', title=title, amount=amount)}")
    return lines


def _stand_moves(told: StandMoves, wording: Wording) -> list[str]:
    foot = told.foot
    ahead, left, u = (
        wording.with_unit(wording.words.decimals(f"{length:g}"), "mm")
        for length in (foot.ahead_mm, foot.left_mm, foot.u_mm)
    )
    return [
        wording("advice-moves", count=len(told.moves)),
        *(f"  {_stand_move(move, wording)}" for move in told.moves),
        f"  {wording('advice-foot', ahead=ahead, left=left, uncertainty=u)}",
    ]


def _stand_move(move: StandMove, wording: Wording) -> str:
    titles = wording.joined([wording.words.named("place-", name) for name in move.stale])
    said = advised.moved_by(move, wording)
    return wording("advice-makes-stale", move=said, titles=titles) if titles else said


def _suspected(told: Suspected, wording: Wording) -> list[str]:
    lines = [wording("advice-suspects", title=wording.step(told.step_id))]
    for suspect in told.suspects:
        said = wording(
            "advice-suspect",
            share=wording.share(suspect.percent, 1),
            cause=suspect.cause,
            error=wording.number(suspect.error, 2),
        )
        lines.append(f"  {said}")
    again = advised.asked_again(told, wording)
    return [*lines, f"  {wording('advice-read-again', again=again)}"]


def _screw_plan(told: ScrewPlan, wording: Wording) -> list[str]:
    turns = advised.turns(told, wording)
    lines = [wording("advice-screws", round=told.round, turns=turns)]
    for axis, quantity in told.predicted.axes.items():
        name = f"aim_{axis}_deg"
        title, amount = wording.title_of(name), with_uncertainty(quantity, wording, name)
        lines.append(f"  {wording('advice-predicted', title=title, amount=amount)}")
    chance = wording.percent(told.predicted.probability_inside)
    return [*lines, f"  {wording('advice-predicted-chance', chance=chance)}"]


def _move_judged(told: MoveJudged, wording: Wording) -> list[str]:
    lines = [wording("advice-move-judged", what=advised.stories(told, wording))]
    if told.probability is not None:
        chance = wording.percent(told.probability)
        lines.append(f"  {wording('advice-story-chance', chance=chance)}")
    if told.judgement is not None:
        lines += [
            f"  {wording('advice-moved', amount=wording.amount(quantity, f'aim_{axis}_deg'))}"
            for axis, quantity in told.judgement.moved.axes.items()
        ]
    return lines


def _cannot_pass(told: CannotPass, wording: Wording) -> list[str]:
    uncertainty = wording.uncertainty(told.doubt)
    limits = wording.limits_about_zero(told.half_width, told.unit or "")
    both = wording("advice-uncertainty-and-limits", uncertainty=uncertainty, limits=limits)
    return [wording("advice-cannot-pass", title=told.title, result=told.result), f"  {both}"]


def _finished(told: Finished, wording: Wording) -> list[str]:
    lines = [wording("advice-result", result=wording.ending(told.result))]
    for axis_name, axis in told.axes.items():
        name = f"aim_{axis_name}_deg"
        amount = with_uncertainty(axis.quantity, wording, name)
        title = wording.title_of(name)
        lines.append(f"  {wording('line-title-and-value', title=title, value=amount)}")
        lines += shares(axis.budget, wording)
    for miss in told.misses_m:
        at_range = wording(
            "advice-at-range",
            range=wording.with_unit(wording.words.decimals(f"{miss.range_m or 0.0:g}"), "m"),
            sideways=with_uncertainty(miss.sideways, wording, "aim_yaw_deg"),
            height=with_uncertainty(miss.height, wording, "aim_elevation_deg"),
        )
        lines.append(f"  {at_range}")
    return lines
