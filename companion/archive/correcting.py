"""Whether a correction says what its event could have said: a number, or one of the answers.

Only what a person read, answered, did or noted can be corrected: what the companion said, heard or
worked out follows from that. At the box and at the store's pages it is the same look.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from companion.errors import CompanionError, RecordError
from companion.facts.answers import Accepted, Answered, Done
from companion.facts.meanings import Number
from companion.facts.opening import Opened
from companion.facts.talking import Noted
from companion.language.expectation import Expectation, NumberForm
from companion.language.language import Language
from companion.language.loader import load_language
from companion.record.afterwards import amendable
from companion.record.port import StoredEvent

CORRECTABLE = Accepted | Answered | Done | Noted


def correctable(events: Iterable[StoredEvent], seq: int, now: str, why: str) -> StoredEvent:
    """The event that is to say `now`.

    Raises RecordError for a job that is not over, for an event that nobody can correct, and for
    words that say nothing it could have said.
    """
    kept = tuple(events)
    event = amendable(kept, seq)
    opened = next((each.fact for each in kept if isinstance(each.fact, Opened)), Opened())
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
    if not now.strip() or not why.strip():
        raise RecordError(
            "a correction says what is right and why; one of them is missing",
            said="write-correction-empty",
        )
    wanted = _wanted(fact, now, load_language(opened.language), opened)
    if wanted:
        raise RecordError(
            f"'{now}' says nothing that event {event.seq} could have said; wanted: {wanted}",
            said="correction-says-nothing",
            now=now,
            event=str(event.seq),
            wanted=wanted,
        )
    return event


def _wanted(
    fact: Accepted | Answered | Done | Noted, now: str, language: Language, opened: Opened
) -> str:
    """What should have been given, in words; "" where it was."""
    match fact:
        case Accepted() as reading:
            return _wanted_of_a_reading(reading, now, language, opened)
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


def _wanted_of_a_reading(reading: Accepted, now: str, language: Language, opened: Opened) -> str:
    """A number as the reading has them, in the range that it was asked for in."""
    told = _step(opened, reading.reading_id)
    low, high = _range(told)
    try:
        number = _number(now, language, _form(told, reading))
    except CompanionError:
        # An older job's words, which this language no longer has: then any number will do.
        number = Decimal(0) if _holds_a_number(now, language) else None
        low = high = None
    beyond = number is not None and low is not None and not low <= number <= (high or low)
    if number is not None and not beyond:
        return ""
    between = f" ({low} … {high})" if low is not None else ""
    return f"{reading.title}: {reading.spoken}{between}"


def _number(now: str, language: Language, form: NumberForm) -> Decimal | None:
    """The signed number that the words end with; None where it is none, or another goes before.

    What it is a number of may be said before it: "left arm 775".
    """
    grammar = language.for_step(Expectation(form))
    pieces = now.split()
    for begin in range(len(pieces)):
        words = language.typed(" ".join(pieces[begin:]), lambda said: bool(grammar.parse(said)))
        meaning = grammar.parse(words)
        if isinstance(meaning, Number):
            if _holds_a_number(" ".join(pieces[:begin]), language):
                return None
            away = form.directions and meaning.direction == form.directions[-1]
            return -meaning.value if away else meaning.value
    return None


def _form(told: Mapping[str, Any], reading: Accepted) -> NumberForm:
    form = told.get("number") or {}
    return NumberForm(
        style=form.get("style", ""),
        max_whole_digits=form.get("whole_digits", 0),
        decimals=form.get("decimals", 0),
        directions=tuple(form.get("directions", ())),
        units=(reading.unit,),
    )


def _range(told: Mapping[str, Any]) -> tuple[Decimal | None, Decimal | None]:
    """In which the reading was taken without a doubt, as the job file of then says."""
    low, high = (*told.get("plausible", ()), None, None)[:2]
    if isinstance(low, int | float) and isinstance(high, int | float):
        return Decimal(str(low)), Decimal(str(high))
    return None, None


def _holds_a_number(now: str, language: Language) -> bool:
    words = now.lower().split()
    return any(sign.isdigit() for sign in now) or not language.lone_numbers().isdisjoint(words)


def _step(opened: Opened, step_id: str) -> Mapping[str, Any]:
    """The step as the job file of then has it; nothing where it has none such."""
    return next((step for step in _steps(opened) if step.get("id") == step_id), {})


def _choices(opened: Opened, step_id: str) -> list[str]:
    """The answers that the question had, as the job file of then says."""
    known = set(load_language(opened.language).choice_ids())
    return [each for each in _step(opened, step_id).get("choices", ()) if each in known]


def _steps(opened: Opened) -> Iterator[Mapping[str, Any]]:
    for stage in opened.job.get("stages", ()):
        yield from stage.get("steps", ())
