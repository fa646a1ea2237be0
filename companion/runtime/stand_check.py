"""How the stand's last monthly check came out, looked up before a job begins.

A job whose result a check corrects (steps of kind `correction`) names that check by the computation
it makes and by what it has to end as. The newest check of this bay decides. One that was broken
off before anything in it was judged is none.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import islice
from pathlib import Path

from companion.errors import FileProblem
from companion.facts.ending import Finished
from companion.facts.opening import Opened, StandCheck
from companion.facts.workings import Decided
from companion.job.plan import Plan
from companion.record.database import Database
from companion.record.port import StoredEvent
from companion.record.rfc3339 import parse_rfc3339
from companion.steps.correction.model import Correction

MOST_JOBS = 2_000
"""So many jobs back a check is looked for; a month has fewer."""


def last_stand_check(
    database: Database, plan: Plan, today: date, holds_days: int, *, rehearsal: bool = False
) -> StandCheck | None:
    """What is known of the stand; None for a job that no check of it corrects."""
    step = next((step for step in plan.steps if isinstance(step, Correction)), None)
    if step is None:
        return None
    bay = plan.files.bay
    for session in islice(database.newest_first(), MOST_JOBS):
        first = next(database.events(session.session_id), None)
        opened = None if first is None else first.fact
        if first is None or not isinstance(opened, Opened) or opened.rehearsal != rehearsal:
            continue
        of_bay = (opened.bay_told.name, opened.bay_told.shop) == (bay.name, bay.shop)
        if not of_bay or opened.step_file(step.found_by) is None:
            continue
        passed = _passed(tuple(database.events(session.session_id)), step.ended_as)
        if passed is None:
            continue
        day = parse_rfc3339(first.at_utc).astimezone().date()
        if not passed:
            return StandCheck("failed", str(day), session.session_id)
        # A date that nothing vouches for may be any.
        held = first.clock_trusted and 0 <= (today - day).days <= holds_days
        return StandCheck("as_known" if held else "overdue", str(day), session.session_id)
    return StandCheck("never")


def _passed(events: Sequence[StoredEvent], ended_as: str) -> bool | None:
    """None where nothing was judged, or where it was broken off before anything was wrong."""
    facts = [event.fact for event in events]
    if any(isinstance(fact, Finished) and fact.result == ended_as for fact in facts):
        return True
    judged = [fact for fact in facts if isinstance(fact, Decided)]
    ended = any(isinstance(fact, Finished) for fact in facts)
    return False if ended or (judged and judged[-1].answer != "inside") else None


def refuse_unchecked(found: StandCheck | None, bay: Path) -> None:
    """Raises FileProblem where the stand's check failed, is overdue or was never done."""
    match found:
        case StandCheck("failed", day):
            raise FileProblem(
                f"{bay}, stand: found a check of {day} that failed; wanted: a 'companion "
                "check-stand' that comes out as known, or 'unchecked_stand: say' in the settings",
                said="stand-failed",
                file=str(bay),
                day=day,
            )
        case StandCheck("overdue", day):
            raise FileProblem(
                f"{bay}, stand: found a last check of {day}; wanted: a 'companion check-stand' "
                "that comes out as known, or 'unchecked_stand: say' in the settings",
                said="stand-overdue",
                file=str(bay),
                day=day,
            )
        case StandCheck("never"):
            raise FileProblem(
                f"{bay}, stand: found no check of it on record; wanted: a 'companion check-stand' "
                "that comes out as known, or 'unchecked_stand: say' in the settings",
                said="stand-never-checked",
                file=str(bay),
            )
        case _:
            pass
