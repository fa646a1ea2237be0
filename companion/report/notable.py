"""What a supervisor should look at first: unlikely readings, moves gone wrong, what is new."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from companion.facts.afterwards import Amended
from companion.facts.aim import AimDecided, MoveJudged
from companion.facts.answers import Implausible, NotAllowed, TakenBack
from companion.facts.beforehand import NoiseChecked, VoiceChecked
from companion.facts.ending import Stopped
from companion.facts.kinds import Entry, Fact
from companion.facts.opening import Resumed
from companion.facts.shown import NO_SHOWS, Shows, words_for
from companion.facts.stand import Shims
from companion.facts.talking import Late, Noted
from companion.facts.workings import CannotPass, Decided, Misfit, Suspected
from companion.record import StoredEvent
from companion.report import advised
from companion.report.timeline import line_of
from companion.report.wording import Wording

MOST_SHOWN = 5
LONGEST_TOLD = 160


@dataclass(frozen=True)
class Notable:
    """One thing that stood out, and the event (of the timeline) that tells it whole."""

    seq: int
    label: str
    told: str
    times: int = 1


def notable(
    events: Iterable[StoredEvent], wording: Wording, shows: Shows = NO_SHOWS
) -> tuple[Notable, ...]:
    """Each thing once, the most harmful first, with how often it came.

    Of equal harm what came first stands first.
    """
    harm: dict[tuple[str, str], int] = {}
    first: dict[tuple[str, str], Notable] = {}
    times: Counter[tuple[str, str]] = Counter()
    for event in events:
        if not stands_out(event.fact) or _is_known(event.fact, shows, wording):
            continue
        label, told = _told(event, wording)
        key = (label, told)
        times[key] += 1
        harm.setdefault(key, _harm(event.fact))
        first.setdefault(key, Notable(event.seq, label, _short(told)))
    return tuple(
        Notable(found.seq, found.label, found.told, times[key])
        for key, found in sorted(first.items(), key=lambda item: -harm[item[0]])
    )


def _harm(fact: Fact) -> int:
    """How far it can spoil a result that looks right; the larger, the sooner it is to be read."""
    match fact:
        case MoveJudged() | CannotPass() | Amended():
            return 3
        case Suspected() | Misfit() | NotAllowed() | Decided() | AimDecided() | Stopped():
            return 2
        case Resumed() | Shims() | NoiseChecked() | VoiceChecked() | Noted():
            return 1
        case _:
            return 0


def _told(event: StoredEvent, wording: Wording) -> tuple[str, str]:
    """The label and the sentence; advice is told shorter than in the timeline."""
    line = line_of(event, wording)
    match event.fact:
        case Suspected() as suspected:
            return wording("label-likely_misread"), advised.suspects(suspected, wording)
        case Shims() as shims:
            return wording("label-shims"), advised.shims(shims, wording)
        case CannotPass() as hopeless:
            return wording("label-cannot_pass"), advised.cannot_pass(hopeless, wording)
        case Decided() | AimDecided() as decided:
            return line.label, f"{line.told}; {advised.to_settle(decided, wording)}"
        case _:
            return line.label, line.told


def _is_known(fact: Fact, shows: Shows, wording: Wording) -> bool:
    """Whether it is the ordinary work of a kind of step, which tells of it in its own words."""
    return isinstance(fact, Entry) and words_for(shows, fact, wording) is not None


def stands_out(fact: Fact) -> bool:
    """Whether a supervisor should look at it."""
    match fact:
        case Implausible() | Misfit() | NotAllowed() | Noted() | Late() | Stopped() | Resumed():
            return True
        case Amended() | Suspected() | CannotPass() | Entry():
            return True
        case NoiseChecked(noise):
            return noise.voice == "unreliable"
        case VoiceChecked(outcome=outcome):
            return outcome == "poor"
        case MoveJudged(kind=kind):
            return kind not in ("as_planned", "")
        case TakenBack() as back:
            return back.withdrawn
        case Shims(needed=needed):
            return needed
        case Decided() | AimDecided() as decided:
            return advised.is_unsettled(decided)
        case _:
            return False


def _short(told: str) -> str:
    return told if len(told) <= LONGEST_TOLD else told[: LONGEST_TOLD - 1] + "…"
