"""One session in one line: what a list shows of it, folded from its events."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from companion.errors import GrammarError
from companion.facts.afterwards import Amended, SignedOff
from companion.facts.aim import AimDecided, MoveJudged
from companion.facts.answers import Accepted, Answered, Implausible, NotAllowed, TakenBack
from companion.facts.ending import WORKED_ON, Finished, Stopped
from companion.facts.kinds import Fact
from companion.facts.opening import Opened, Resumed, Stage
from companion.facts.talking import Heard, Noted, Refused, Said
from companion.facts.workings import CannotPass, Corrected, Decided, Misfit, Suspected
from companion.language.loader import load_language
from companion.record import StoredEvent
from companion.report.notable import stands_out

BROKEN_OFF = "broken_off"
"""The result of a session that was neither finished nor stopped, or was continued after that."""
LONGEST_WHY = 160

# A record of ten thousand jobs is listed by these alone: the rest need not be read.
DIGESTED = frozenset(
    model.KIND
    for model in (
        *(Opened, Stage, Finished, Stopped, Accepted, Refused, Noted, Amended, SignedOff),
        *(Implausible, NotAllowed, TakenBack, Misfit, Suspected, CannotPass, MoveJudged, Resumed),
    )
)
_SEARCHED = frozenset(
    model.KIND
    for model in (
        *(Said, Heard, Refused, Noted, Opened, Accepted, Answered, Decided, AimDecided, Corrected),
        *(Stopped, Implausible, NotAllowed, Misfit, Amended, SignedOff),
    )
)


@dataclass(frozen=True)
class Digest:
    """What a list shows of one session.

    `result` is how it ended ("inside", "outside", "stopped", ...) or `BROKEN_OFF`; `notes` and
    `refusals` count what was noted and what was not understood, `corrections` and `signatures`
    what was added when it was over, `unreadable` the events that are damaged.
    `stage` is the stage that was on last, `stopped_why` what was said when it was stopped.
    `doubts` counts numbers that were unlikely or did not fit, `taken_back` what the technician
    took back, `odd_moves` moves that went otherwise than planned, `resumed` the breaks.
    `visit`: the car's visit that it belongs to, "" where none was recorded.
    """

    session_id: str
    opened_utc: str
    last_utc: str = ""
    event_count: int = 0
    head_hash: str = ""
    technician: str = ""
    vehicle: str = ""
    bay: str = ""
    shop: str = ""
    job: str = ""
    result: str = BROKEN_OFF
    is_example: bool = False
    is_rehearsal: bool = False
    clock_trusted: bool = True
    readings: int = 0
    refusals: int = 0
    notes: int = 0
    corrections: int = 0
    signatures: int = 0
    unreadable: int = 0
    stage: str = ""
    stopped_why: str = ""
    doubts: int = 0
    taken_back: int = 0
    odd_moves: int = 0
    resumed: int = 0
    visit: str = ""

    @property
    def is_over(self) -> bool:
        """Whether it came to an end: finished or stopped."""
        return self.result != BROKEN_OFF


def digested_unread(digest: Digest, seq: int, head_hash: str) -> Digest:
    """The digest with one more event that cannot be read."""
    return replace(
        digest, event_count=seq, head_hash=str(head_hash), unreadable=digest.unreadable + 1
    )


def digested(digest: Digest, event: StoredEvent) -> Digest:
    """The digest with one more event; kinds and bodies of any shape are borne."""
    moved_on = {
        "last_utc": event.at_utc,
        "event_count": event.seq,
        "head_hash": event.hash,
        "clock_trusted": digest.clock_trusted and event.clock_trusted,
    }
    # Done for every event of the record, and half as dear as dataclasses.replace.
    following = Digest(**(vars(digest) | moved_on))
    if event.kind in WORKED_ON and digest.result == "stopped":
        following = replace(following, result=BROKEN_OFF, stopped_why="")
    if event.kind not in DIGESTED:
        return following
    match event.fact:
        case Opened() as opened:
            return replace(
                following,
                technician=opened.technician,
                vehicle=opened.vehicle_told.name,
                bay=opened.bay_told.name,
                shop=opened.bay_told.shop,
                job=opened.job_name,
                is_example=opened.example,
                is_rehearsal=opened.rehearsal,
                visit=opened.visit,
            )
        case Finished(result):
            return replace(following, result=result)
        case Stopped(why) if digest.result == BROKEN_OFF:
            return replace(following, result="stopped", stopped_why=why[:LONGEST_WHY])
        case Stage() as stage:
            return replace(following, stage=f"{stage.title} ({stage.number}/{stage.of})")
        case Accepted():
            return replace(following, readings=digest.readings + 1)
        case Refused() as refused if not refused.is_note:
            return replace(following, refusals=digest.refusals + 1)
        case Noted():
            return replace(following, notes=digest.notes + 1)
        case Amended():
            return replace(following, corrections=digest.corrections + 1)
        case SignedOff():
            return replace(following, signatures=digest.signatures + 1)
        case Resumed():
            return replace(following, resumed=digest.resumed + 1)
        case fact if stands_out(fact):
            return _with_what_stood_out(following, fact)
        case _:
            return following


def _with_what_stood_out(digest: Digest, fact: Fact) -> Digest:
    match fact:
        case TakenBack():
            return replace(digest, taken_back=digest.taken_back + 1)
        case MoveJudged():
            return replace(digest, odd_moves=digest.odd_moves + 1)
        case Implausible() | NotAllowed() | Misfit() | Suspected() | CannotPass():
            return replace(digest, doubts=digest.doubts + 1)
        case _:
            return digest


@dataclass(frozen=True)
class Told:
    """The words of one event that a search finds, by who they came from.

    `said` is the companion's, `heard` the technician's (also what was refused), `noted` what was
    kept: notes, readings, answers, decisions, corrections, names.
    """

    said: str = ""
    heard: str = ""
    noted: str = ""


def language_by(event: StoredEvent, before: str = "") -> str:
    """The code of the language that its session is held in; `before`: what was known so far."""
    return event.fact.language if isinstance(event.fact, Opened) else before


def told_by(event: StoredEvent, language: str = "") -> Told | None:
    """The words of the event, or None where it has none worth finding.

    `language`: the session's; a choice is found by its words there, and by its id.
    """
    if event.kind not in _SEARCHED:
        return None
    match event.fact:
        case Said() as said:
            return Told(said=said.text) if said.text else None
        case Heard(how=how) | Refused(how=how):
            return Told(heard=how.words) if how.words else None
        case Noted() as noted:
            return Told(noted=noted.words)
        case Opened() as opened:
            bay = opened.bay_told
            return _noted(opened.technician, opened.vehicle_told.name, bay.name, bay.shop)
        case Accepted() as accepted:
            return _noted(accepted.title, accepted.spoken)
        case Answered() as answered:
            return _noted(answered.title, *_choice_words(answered.choice, language))
        case Decided(title=title, answer=answer) | AimDecided(title=title, answer=answer):
            return _noted(title, answer.replace("_", " "))
        case Corrected() as corrected:
            return Told(noted=corrected.text)
        case Stopped(why) | Implausible(why=why) | NotAllowed(why=why) | Misfit(why=why):
            return Told(noted=why)
        case Amended() as amended:
            return _noted(amended.by, amended.now, amended.why)
        case SignedOff() as signed:
            return _noted(signed.by, signed.remark)
        case _:
            return None


@cache
def _choice_words(choice: str, language: str) -> tuple[str, ...]:
    """The id, spaced, and what it is called where that is known."""
    spaced = choice.replace("_", " ")
    try:
        named = load_language(language).choice_name(choice)
    except GrammarError:
        return (spaced,)
    return tuple(dict.fromkeys([spaced, named]))


def _noted(*told: str) -> Told:
    return Told(noted=" · ".join(filter(None, told)))
