"""What the companion advised or suspected, each in one short sentence for a supervisor."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from companion.facts.aim import AimDecided, MoveJudged, ScrewPlan, Story
from companion.facts.figures import Quantity
from companion.facts.stand import Shims, StandMove, StandMoves
from companion.facts.workings import CannotPass, Decided, Suspected
from companion.record import StoredEvent
from companion.report import wording

_MOVED = {
    "turn": ("turned", "deg", 2, "to the left", "to the right"),
    "sideways": ("moved", "mm", 0, "to the left", "to the right"),
    "distance": ("moved", "mm", 0, "away from the car", "towards the car"),
    "height": ("plate", "mm", 0, "up", "down"),
}
_MOST_SUSPECTS = 3


@dataclass(frozen=True)
class MovesTold:
    """Moves of the stand that were asked for in one go, in their order, and when."""

    seq: int
    told: str


def story(told: Story) -> str:
    """What may have happened at the screws."""
    kind = told.kind.replace("_", " ")
    names, instead = _screws(told.screw_ids), _screws(told.instead_ids)
    said = f"{kind}, {names}" if names else kind
    return f"{said} (the {instead} in its place)" if instead else said


def _screws(screw_ids: tuple[str, ...]) -> str:
    return " and ".join(screw_id.replace("_", " ") for screw_id in screw_ids)


def stories(judged: MoveJudged) -> str:
    """The verdict on a move; where it could not be told, every story with its chance."""
    found = () if judged.judgement is None else judged.judgement.names
    if judged.kind != "ambiguous" or not found:
        return story(judged.story)
    told = (f"{story(name)} ({wording.percent(name.probability)})" for name in found)
    return "either " + ", or ".join(told)


def turns(plan: ScrewPlan) -> str:
    """What each screw was to be turned."""
    return "; ".join(
        f"{screw_id.replace('_', ' ')} {wording.turns_words(told)}"
        for screw_id, told in plan.turns.items()
    )


def suspects(suspected: Suspected) -> str:
    """Which readings were most likely misread, and which were read again."""
    found = sorted(suspected.suspects, key=lambda suspect: -suspect.percent)
    likely = ", ".join(
        f"{suspect.cause} ({suspect.percent:.0f}\u00a0%)" for suspect in found[:_MOST_SUSPECTS]
    )
    return f"{likely or 'nothing in particular'}; read again: {asked_again(suspected)}"


def asked_again(suspected: Suspected) -> str:
    """Which readings were read again."""
    return ", ".join(suspected.asked_again) or "all of them"


def laid_under(shims: Shims) -> str:
    """What was laid under which wheel."""
    return ", ".join(f"{thickness:g} mm under {name}" for name, thickness in shims.under.items())


def shims(told: Shims) -> str:
    """What was laid under which wheel, and why."""
    twist = wording.amount(told.quantity, "floor_twist_mm")
    allowed = wording.limits(told.low, told.high, "mm")
    return f"{laid_under(told)} for a floor twist of {twist} (without shims {allowed})"


def cannot_pass(told: CannotPass) -> str:
    """What nothing could have passed, with its doubt and limits."""
    limits = wording.limits_about_zero(told.half_width, told.unit or "")
    when = ", seen before any work" if told.before_the_work else ""
    doubt = wording.doubt(told.doubt)
    return f"{told.title}: standard uncertainty {doubt}, limits {limits}{when}"


def to_settle(decided: Decided | AimDecided) -> str:
    """How much more would settle what was too close to call; nothing where it was settled."""
    if isinstance(decided, AimDecided):
        count, one = decided.more_sets_to_settle, "more set of readings"
    else:
        count, one = decided.readings_to_settle, "reading, averaged,"
    if decided.answer != "too_close" or decided.level is None or count == 0:
        return ""
    if count is None:
        return "more readings would hardly settle it"
    noun = one if count == 1 else one.replace("set", "sets", 1).replace("reading,", "readings,")
    return f"{count} {noun} should settle it"


def stand_moves(events: Iterable[StoredEvent]) -> tuple[MovesTold, ...]:
    """The moves of the stand, round after round."""
    return tuple(
        MovesTold(event.seq, ", then ".join(filter(None, map(_moved, event.fact.moves))) or "none")
        for event in events
        if isinstance(event.fact, StandMoves)
    )


def _moved(move: StandMove) -> str:
    known = _MOVED.get(move.quantity)
    if move.by is None or known is None:
        return ""
    verb, unit, decimals, positive, negative = known
    told = wording.amount(Quantity(abs(move.by), None, unit), "", decimals)
    return f"{verb} {told} {positive if move.by > 0 else negative}"
