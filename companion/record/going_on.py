"""Whether a job is being done in a record right now."""

from __future__ import annotations

from pathlib import Path

from companion.facts.ending import Finished, Stopped
from companion.facts.talking import Heard
from companion.record.database import open_for_reading
from companion.record.following import Follower


def is_a_job_going_on(record: Path) -> bool:
    """Whether somebody writes the record, and its last job has been answered and is not over."""
    if Follower(record).writer_at_work() is False:
        return False
    with open_for_reading(record) as database:
        last = database.last_session_id()
        if last is None:
            return False
        answered = over = False
        for event in database.events(last):
            match event.fact:
                case Heard():
                    answered, over = True, False
                case Finished() | Stopped():
                    over = True
                case _:
                    pass
    return answered and not over
