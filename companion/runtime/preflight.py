"""Before the first word of a job: how loud the room is, and whether this voice was checked today.

What a voice check found is looked up in the record, for the same day, person, microphone and ears;
nothing about a voice is kept anywhere else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Literal

from companion.errors import EarsError, FileProblem
from companion.facts.beforehand import (
    EchoHeard,
    HearingBefore,
    IntoPrompts,
    RoomNoise,
    VoiceChecked,
)
from companion.facts.kinds import Fact
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, How, Refused, Said, Silent
from companion.job.setup_files import Bay
from companion.recognition.conditions import check_noise
from companion.recognition.port import Ears, RoomListener
from companion.record.database import Database
from companion.record.last_echo import LastEcho
from companion.record.rfc3339 import parse_rfc3339

NOISE_S = 0.7
"""So long the room is listened to before the first word, which is said within 3 s of the start."""
# Nobody was there to answer: the next job of the day may ask again.
_NOT_ASKED = frozenset({"unanswered"})

WhenChecked = Literal["first_job", "always", "never"]


@dataclass(frozen=True)
class Hearer:
    """Whose voice is heard through what, as the `opened` event keeps it."""

    technician: str
    microphone: str
    ears: str


def hearing_before(
    ears: Ears, hearer: Hearer, when: WhenChecked, database: Database, today: date
) -> HearingBefore:
    """What the job begins with; `today` is the day by the bay's own clock."""
    checked = None if when == "never" else last_check(database, hearer, today)
    found = None if checked is None else checked.found
    return HearingBefore(
        noise=room_noise(ears),
        offer_check=when == "always" or (when == "first_job" and checked is None),
        digit_by_digit=found is not None and found.digit_by_digit,
        least_confidence=0.0 if found is None else found.least_confidence,
    )


def room_noise(ears: Ears) -> RoomNoise | None:
    """The noise while nobody speaks; None for ears without a microphone, or where no sound comes.

    It never keeps a job from beginning: what is wrong with a microphone, its own prompts tell.
    """
    if not isinstance(ears, RoomListener):
        return None
    try:
        return check_noise(ears.room_sound(NOISE_S))
    except EarsError:
        return None


def last_check(database: Database, hearer: Hearer, today: date) -> VoiceChecked | None:
    """What the last voice check of this day came to; None where there was none.

    A completed one is valid for the day, even if another was declined or abandoned since.
    """
    not_made: VoiceChecked | None = None
    for session in database.newest_first():
        if not session.event_count:
            continue
        if _day(session.opened_utc) < today:
            break
        checked = _check_of(database, session.session_id, hearer)
        if checked is not None and checked.found is not None:
            return checked
        not_made = not_made or checked
    return not_made


def heard_cautions(
    database: Database, technician: str, job_id: str, language: str, today: date
) -> bool:
    """Whether this person heard this job's cautions in full this day; nobody named: never.

    They were heard where something was answered behind them.
    """
    if not technician:
        return False
    for session in database.newest_first():
        if not session.event_count:
            continue
        if _day(session.opened_utc) < today:
            return False
        if _were_heard_in(database, session.session_id, technician, job_id, language):
            return True
    return False


def into_prompts(
    echo: LastEcho | None, database: Database, technician: str, today: date
) -> IntoPrompts | None:
    """That answers may be given into prompts, and which this person knows; None: they may not."""
    if echo is None:
        return None
    heard = EchoHeard(round(echo.above_background_db, 1), echo.echo_dbfs, echo.delay_s)
    return IntoPrompts(heard, heard_in_full(database, technician, today))


def heard_in_full(database: Database, technician: str, today: date) -> tuple[str, ...]:
    """Prompts that this person heard in full, to their end, this day; nobody named: none."""
    known: dict[str, None] = {}
    for session in database.newest_first() if technician else ():
        if not session.event_count:
            continue
        if _day(session.opened_utc) < today:
            break
        known.update(dict.fromkeys(_heard_in_full_in(database, session.session_id, technician)))
    return tuple(known)


def _heard_in_full_in(database: Database, session_id: str, technician: str) -> Iterator[str]:
    facts = [event.fact for event in database.events(session_id)]
    opened = next((fact for fact in facts if isinstance(fact, Opened)), Opened())
    if opened.technician == technician and not opened.rehearsal:
        yield from asked_in_full(facts)


def asked_in_full(facts: Iterable[Fact]) -> Iterator[str]:
    """Prompts of a job that were heard in full, to their end: what was answered came after it."""
    asked: Said | None = None
    for fact in facts:
        match fact:
            case Said(prompt_id=str(), purpose="ask", mode="asking") as said:
                in_full = " ".join(filter(None, (said.ask, said.reply)))
                asked = said if said.text == in_full else None
            case Heard(prompt_id=under, how=how) | Refused(prompt_id=under, how=how):
                heard_out = how.into is None and not how.cut_short
                if asked is not None and asked.prompt_id == under and heard_out:
                    yield asked.text
                asked = None
            case _:
                pass


def refuse_overdue(bay: Bay, today: date, path: Path) -> None:
    """Raises FileProblem where an instrument's certificate no longer holds today."""
    late = bay.overdue(today)
    if late:
        found = "; ".join(f"{one.name} ({one.due})" for one in late)
        raise FileProblem(
            f"{path}, instruments: found {found}; wanted: certificates that hold on {today}, or "
            "'overdue_instruments: say' in the settings",
            said="instruments-overdue",
            file=str(path),
            found=found,
            today=str(today),
        )


def _were_heard_in(
    database: Database, session_id: str, technician: str, job_id: str, language: str
) -> bool:
    told: list[str] = []
    for event in database.events(session_id):
        match event.fact:
            case Said(prompt_id=None, purpose=purpose, text=text) if text:
                told.append(purpose)
            case (
                Heard(how=How(cut_short=cut))
                | Refused(how=How(cut_short=cut))
                | Silent(cut_short=cut)
            ) if any(told[place : place + 1] == ["caution"] for place in cut):
                return False  # The pedal cut one short, or there was no voice.
            case Refused() | Silent() | Resumed():
                told.clear()  # After a break what led to the open prompt is told once more.
            case Opened(technician=who, job=job, rehearsal=rehearsal, language=spoken) as opened:
                same = (who, job.get("id"), spoken) == (technician, job_id, language)
                if not same or rehearsal or opened.cautions_known:
                    return False
            case Heard(how=how) if how.into is not None and how.into.announced is not None:
                return False  # Cut off, and perhaps never told again: the job may have ended there.
            case Heard(how=how) if how.into is None:
                return True
            case _:
                pass
    return False


def _check_of(database: Database, session_id: str, hearer: Hearer) -> VoiceChecked | None:
    """The check in that session; None where there was none, or it was somebody else's."""
    checked: VoiceChecked | None = None
    for event in database.events(session_id):
        match event.fact:
            case Opened(technician=who, microphone=microphone, ears=ears):
                if Hearer(who, microphone, ears) != hearer:
                    return None
            case VoiceChecked(outcome) as found if outcome not in _NOT_ASKED:
                checked = found
            case _:
                pass
    return checked


def _day(at_utc: str) -> date:
    return parse_rfc3339(at_utc).astimezone().date()
