"""How well the companion heard: each answer with its noise, and what became of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Literal

from companion.facts.meanings import Meaning, No, Number
from companion.facts.talking import Heard, How, Refused, Said, Silent
from companion.record import StoredEvent

Outcome = Literal["taken", "misheard", "refused", "silent"]
_BACKGROUND_IN_WORDS = re.compile(r"background (?:is at )?(-?\d+(?:\.\d+)?) dBFS")


@dataclass(frozen=True)
class Hearing:
    """One answer under a prompt.

    `misheard`: something was taken, said back, and then denied or replaced by the technician.
    `noise_dbfs` is the background's level where the ears kept one. `typed` answers say nothing of
    hearing.
    """

    seq: int
    at_s: float
    outcome: Outcome
    noise_dbfs: float | None
    typed: bool


def hearings(events: Iterable[StoredEvent]) -> tuple[Hearing, ...]:
    """Every answer in order; seconds count from the first event.

    The words of a voice check are no answers: what became of them stands in its own event.
    """
    found: list[Hearing] = []
    purpose_of: dict[str, str] = {}
    checks: set[str] = set()
    began_s: float | None = None
    for event in events:
        at_s = seconds(event.at_utc)
        began_s = at_s if began_s is None else began_s
        fact = event.fact
        match fact:
            case Said(prompt_id=prompt_id, purpose=purpose, mode=mode):
                purpose_of[prompt_id or ""] = purpose
                if mode == "checking_voice":
                    checks.add(prompt_id or "")
            case Refused() as note if note.is_note:
                pass
            case Heard() | Refused() | Silent() if fact.prompt_id not in checks:
                is_read_back = purpose_of.get(fact.prompt_id) == "read_back"
                if found and is_read_back and _denies(fact):
                    _mark_misheard(found)
                found.append(_hearing(event.seq, at_s - began_s, fact))
            case _:
                pass
    return tuple(found)


def _hearing(seq: int, at_s: float, fact: Heard[Meaning] | Refused | Silent) -> Hearing:
    if isinstance(fact, Silent):
        return Hearing(seq, at_s, "silent", None, typed=False)
    outcome: Outcome = "taken" if isinstance(fact, Heard) else "refused"
    return Hearing(seq, at_s, outcome, noise_of(fact.how), "typed" in fact.how.ears)


def _denies(fact: Heard[Meaning] | Refused | Silent) -> bool:
    """A "no", or another number in its place."""
    return isinstance(fact, Heard) and isinstance(fact.meaning, No | Number)


def _mark_misheard(found: list[Hearing]) -> None:
    for place in range(len(found) - 1, -1, -1):
        if found[place].outcome == "taken":
            found[place] = replace(found[place], outcome="misheard")
            return


def noise_of(how: How) -> float | None:
    """The background's level in dB below full scale; older records have it in words alone."""
    if how.background_dbfs is not None:
        return how.background_dbfs
    found = _BACKGROUND_IN_WORDS.search(how.detail or "")
    return float(found[1]) if found else None


def seconds(at_utc: str) -> float:
    """The stamp as seconds, 0 where it cannot be read."""
    try:
        moment = datetime.fromisoformat(at_utc)
    except ValueError:
        return 0.0
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()
