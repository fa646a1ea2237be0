"""Says what an earlier visit still wants, before the next job begins."""

from __future__ import annotations

from companion.commands.saying import tell
from companion.facts.message import Message
from companion.facts.visit_end import has_ended
from companion.language.language import Language
from companion.record.database import Database
from companion.record.visits import jobs_of, visits
from companion.report.visit_left import left, title_in
from companion.report.wording import wording_in
from companion.runtime.aloud import Aloud
from companion.runtime.live_job import Open

LATEST = 3
"""So many visits back: an older one is asked for by its name."""


def remind(database: Database, found: Open, language: Language, *, but: str) -> None:
    """Say and show which of the latest visits are open and not at their end; `but`: not of this."""
    say = wording_in(language.code)
    talk = Aloud(found.ears, found.voice, language, tell)
    for visit in visits(database)[-LATEST:]:
        if visit.is_closed or visit.id == but:
            continue
        jobs = jobs_of(database, visit.id, rehearsal=False)
        undone = tuple(title_in(one, say) for one in left(visit.sensors, jobs).undone)
        # Where no job came to its end the work was given up, and that was said then.
        if undone and any(map(has_ended, jobs)):
            said = Message("visit-open-said", {"left": undone})
            talk.say(said, Message("visit-open", {"visit": visit.id, "left": undone}))
