"""Whether a correction says what its event could have said: a number, or one of the answers.

Only what a person read, answered, did or noted can be corrected: what the companion said, heard or
worked out follows from that.
"""

from __future__ import annotations

from collections.abc import Iterable

from companion.errors import RecordError
from companion.facts.answers import Accepted, Answered, Done
from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.talking import Noted
from companion.language.language import Language
from companion.record.port import StoredEvent
from companion.runtime import assembly

CORRECTABLE = Accepted | Answered | Done | Noted


def check_correction(events: Iterable[StoredEvent], event: StoredEvent, now: str) -> None:
    """Raises RecordError for an event that nobody can correct, and for words that say nothing."""
    opened = next((each.fact for each in events if isinstance(each.fact, Opened)), Opened())
    fact = event.fact
    if not isinstance(fact, CORRECTABLE):
        raise RecordError(
            f"event {event.seq} ({event.kind}) is nothing that a person read, answered, did or "
            "noted; wanted: the event of a reading or an answer ('companion review show' lists "
            "them)",
            said="not-correctable",
            event=str(event.seq),
            kind=event.kind,
        )
    wanted = _wanted(fact, now, assembly.language(opened.language), opened)
    if wanted:
        raise RecordError(
            f"'{now}' says nothing that event {event.seq} could have said; wanted: {wanted}",
            said="correction-says-nothing",
            now=now,
            event=str(event.seq),
            wanted=wanted,
        )


def _wanted(fact: Fact, now: str, language: Language, opened: Opened) -> str:
    """What should have been given, in words; "" where it was."""
    match fact:
        case Accepted() as reading if not _holds_a_number(now, language):
            return f"{reading.title}: {reading.spoken}"
        case Answered() as answered:
            names = [
                language.grammar.choice_phrases(each) for each in _choices(opened, answered.step_id)
            ]
            said = " ".join(now.lower().split())
            if names and not any(said in phrases for phrases in names):
                return "; ".join(phrases[0] for phrases in names)
        case _:
            pass
    return ""


def _holds_a_number(now: str, language: Language) -> bool:
    words = now.lower().split()
    return any(sign.isdigit() for sign in now) or not language.lone_numbers().isdisjoint(words)


def _choices(opened: Opened, step_id: str) -> list[str]:
    """The answers that the question had, as the job file of then says."""
    known = set(assembly.language(opened.language).choice_ids())
    for stage in opened.job.get("stages", ()):
        for step in stage.get("steps", ()):
            if step.get("id") == step_id:
                return [each for each in step.get("choices", ()) if each in known]
    return []
