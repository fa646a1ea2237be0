"""Whether a job is being done in a record right now.

`python -m companion.record.going_on RECORD` ends with 0 when there is one, with 1 when there is
none: an upgrade and the nightly restart ask before they end a companion.
"""

from __future__ import annotations

import sys
from pathlib import Path

from companion.errors import CompanionError
from companion.facts.ending import Finished, Stopped
from companion.facts.talking import Heard
from companion.record.database import open_for_reading
from companion.record.following import Follower
from companion.record.last_written import last_written_session_id


def is_a_job_going_on(record: Path) -> bool:
    """Whether somebody writes the record, and its last job has been answered and is not over."""
    if Follower(record).writer_at_work() is False:
        return False
    with open_for_reading(record) as database:
        last = last_written_session_id(database)
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


def main(arguments: list[str]) -> int:
    """0: a job is going on; 1: none is, or there is no record that could be read."""
    try:
        return 0 if is_a_job_going_on(Path(arguments[0])) else 1
    except CompanionError:
        return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
