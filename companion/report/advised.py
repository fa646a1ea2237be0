"""What the companion advised or suspected, each in one short sentence for a supervisor."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

from companion.facts.aim import AimDecided, MoveJudged, ScrewPlan, Story
from companion.facts.figures import Quantity
from companion.facts.stand import Shims, StandMove, StandMoves
from companion.facts.workings import CannotPass, Decided, Suspected
from companion.record import StoredEvent
from companion.report.wording import Wording

_MOVED = {
    "turn": ("deg", 2, "left", "right"),
    "sideways": ("mm", 0, "left", "right"),
    "distance": ("mm", 0, "away", "towards"),
    "height": ("mm", 0, "up", "down"),
}
"""Of each quantity of the stand: unit, decimals, and its ways, positive and negative."""
_MOST_SUSPECTS = 3


@dataclass(frozen=True)
class MovesTold:
    """Moves of the stand that were asked for in one go, in their order, and when."""

    seq: int
    told: str


def story(told: Story, wording: Wording) -> str:
    """What may have happened at the screws."""
    said = wording.words.named("story-", told.kind)
    names, instead = _screws(told.screw_ids, wording), _screws(told.instead_ids, wording)
    if names:
        said = wording("story-of", story=said, screws=names)
    return wording("story-instead", story=said, instead=instead) if instead else said


def _screws(screw_ids: tuple[str, ...], wording: Wording) -> str:
    return wording.joined([wording.screw(screw_id) for screw_id in screw_ids])


def stories(judged: MoveJudged, wording: Wording) -> str:
    """The verdict on a move; where it could not be told, every story with its chance."""
    found = () if judged.judgement is None else judged.judgement.names
    if judged.kind != "ambiguous" or not found:
        return story(judged.story, wording)
    told = [
        wording(
            "story-chance", story=story(name, wording), chance=wording.percent(name.probability)
        )
        for name in found
    ]
    return wording("stories-either", stories=wording.joined(told, "or"))


def turns(plan: ScrewPlan, wording: Wording) -> str:
    """What each screw was to be turned."""
    return "; ".join(
        f"{wording.screw(screw_id)} {wording.turns(told)}" for screw_id, told in plan.turns.items()
    )


def suspects(suspected: Suspected, wording: Wording) -> str:
    """Which readings were most likely misread, and which were read again."""
    found = sorted(suspected.suspects, key=lambda suspect: -suspect.percent)
    likely = ", ".join(
        wording("suspect-share", cause=suspect.cause, share=wording.share(suspect.percent))
        for suspect in found[:_MOST_SUSPECTS]
    )
    return wording(
        "suspects-told",
        likely=likely or wording("suspects-nobody"),
        again=asked_again(suspected, wording),
    )


def asked_again(suspected: Suspected, wording: Wording) -> str:
    """Which readings were read again."""
    return ", ".join(suspected.asked_again) or wording("asked-again-all")


def laid_under(shims: Shims, wording: Wording) -> str:
    """What was laid under which wheel."""
    return ", ".join(
        wording("shim-under", thickness=_thickness(thickness, wording), spot=name)
        for name, thickness in shims.under.items()
    )


def _thickness(thickness_mm: float, wording: Wording) -> str:
    return wording.with_unit(wording.words.decimals(f"{thickness_mm:g}"), "mm")


def shims(told: Shims, wording: Wording) -> str:
    """What was laid under which wheel, and why."""
    return wording(
        "shims-told",
        under=laid_under(told, wording),
        twist=wording.amount(told.quantity, "floor_twist_mm"),
        limits=wording.limits(told.low, told.high, "mm"),
    )


def cannot_pass(told: CannotPass, wording: Wording) -> str:
    """What nothing could have passed, with its uncertainty and limits."""
    said = wording(
        "cannot-pass-told",
        title=told.title,
        uncertainty=wording.uncertainty(told.doubt),
        limits=wording.limits_about_zero(told.half_width, told.unit or ""),
    )
    return wording("cannot-pass-before", told=said) if told.before_the_work else said


def to_settle(decided: Decided | AimDecided, wording: Wording) -> str:
    """How much more would settle what was too close to call; nothing where it was settled."""
    count, what = _left_to_settle(decided)
    if not is_unsettled(decided):
        return ""
    return wording("settle-hardly") if count is None else wording(what, count=count)


def is_unsettled(decided: Decided | AimDecided) -> bool:
    """Whether it was too close to call, and the record tells how much more would settle it."""
    count, _ = _left_to_settle(decided)
    return decided.answer == "too_close" and decided.level is not None and count != 0


def _left_to_settle(decided: Decided | AimDecided) -> tuple[int | None, str]:
    if isinstance(decided, AimDecided):
        return decided.more_sets_to_settle, "settle-sets"
    return decided.readings_to_settle, "settle-readings"


def stand_moves(events: Iterable[StoredEvent], wording: Wording) -> tuple[MovesTold, ...]:
    """The moves of the stand, round after round."""
    return tuple(
        MovesTold(event.seq, _moves(event.fact, wording))
        for event in events
        if isinstance(event.fact, StandMoves)
    )


def _moves(told: StandMoves, wording: Wording) -> str:
    moved = [said for move in told.moves if (said := moved_by(move, wording))]
    if not moved:
        return wording("moves-none")
    return reduce(lambda told, said: wording("moves-then", before=told, move=said), moved)


def moved_by(move: StandMove, wording: Wording) -> str:
    """One move in words; nothing for a quantity that is not the stand's."""
    known = _MOVED.get(move.quantity)
    if move.by is None or known is None:
        return ""
    unit, decimals, positive, negative = known
    amount = wording.amount(Quantity(abs(move.by), None, unit), "", decimals)
    way = positive if move.by > 0 else negative
    return wording(f"moved-{move.quantity}-{way}", amount=amount)
