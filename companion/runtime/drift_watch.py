"""After each finished job: has the bay's floor or the stand changed since?

The watch of `statistics.watching` looks at the job that has just ended, once. What it notices goes
into the job's own record first, then to those who look on, then it is said. It gives a bay at rest
one false alarm in a thousand jobs; it changes nothing in the result.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from companion.archive.opening import open_archive
from companion.errors import CompanionError
from companion.facts.ending import DriftNoticed
from companion.facts.message import Message, problem
from companion.language.language import Language
from companion.runtime.loop import Room
from companion.statistics.figures_check import open_summaries
from companion.statistics.steadiness import signals
from companion.statistics.summary import FLOOR_MEASURES


def watch_for_drift(
    room: Room, record: Path, session: str, language: Language, tell: Callable[[Message], None]
) -> tuple[DriftNoticed, ...]:
    """Look at the job that is over, keep what is noticed, show and say it.

    Where the look itself fails (no room for the figures, a damaged record) that is told and the
    job stays as it ended.
    """
    try:
        found = tuple(noticed(record, session))
    except (CompanionError, OSError) as error:
        why = problem(error) if isinstance(error, CompanionError) else str(error)
        tell(Message("live-not-watched", {"why": why}))
        return ()
    if not found:
        return ()
    room.log.append(found)
    for fact in found:
        room.watcher.fact(fact)
    for part in dict.fromkeys(fact.part for fact in found):
        room.voice.say(language.say(Message(f"drift-{part}")))
    return found


def noticed(record: Path, session: str) -> Iterable[DriftNoticed]:
    """What the watch signals with this session."""
    with open_archive(record) as archive, open_summaries(archive) as store:
        for signal in signals(store):
            if signal.at.session_id == session:
                yield DriftNoticed(
                    "floor" if signal.measure in FLOOR_MEASURES else "stand",
                    signal.measure,
                    signal.bay,
                    signal.since.session_id,
                    signal.since.opened_utc,
                )
