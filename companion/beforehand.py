"""Before the first word of a job: how loud the room is, and whether this voice was checked today.

What a voice check found is looked up in the record, for the same day, person, microphone and ears;
nothing about a voice is kept anywhere else.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Literal

from companion.dialogue.events import HearingBefore, RoomNoise
from companion.ears.conditions import check_noise
from companion.ears.port import Ears, RoomListener
from companion.errors import EarsError
from companion.record.database import Database
from companion.record.rfc3339 import parse_rfc3339

NOISE_S = 1.5
"""So long the room is listened to before the first word."""
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
    found = None if when == "never" else last_check(database, hearer, today)
    return HearingBefore(
        noise=room_noise(ears),
        offer_check=when == "always" or (when == "first_job" and found is None),
        digit_by_digit=bool(found and found.get("digit_by_digit")),
        least_confidence=float((found or {}).get("least_confidence") or 0.0),
    )


def room_noise(ears: Ears) -> RoomNoise | None:
    """The noise while nobody speaks; None for ears without a microphone, or where no sound comes.

    It never keeps a job from beginning: what is wrong with a microphone, its own prompts tell.
    """
    if not isinstance(ears, RoomListener):
        return None
    try:
        return RoomNoise(**asdict(check_noise(ears.room_sound(NOISE_S))))
    except EarsError:
        return None


def last_check(database: Database, hearer: Hearer, today: date) -> Mapping[str, Any] | None:
    """What the last voice check of this day came to; None where there was none."""
    for session in reversed(database.sessions()):
        if not session.event_count:
            continue
        if _day(session.opened_utc) < today:
            return None
        opened, checked = _opened_and_checked(database, session.session_id)
        if opened == hearer and checked is not None:
            return checked
    return None


def _opened_and_checked(
    database: Database, session_id: str
) -> tuple[Hearer | None, Mapping[str, Any] | None]:
    opened: Hearer | None = None
    checked: Mapping[str, Any] | None = None
    for event in database.events(session_id):
        if event.kind == "opened":
            opened = Hearer(*(str(event.body.get(n, "")) for n in Hearer.__match_args__))
        elif event.kind == "voice_checked" and event.body["outcome"] not in _NOT_ASKED:
            checked = event.body
    return opened, checked


def _day(at_utc: str) -> date:
    return parse_rfc3339(at_utc).astimezone().date()
