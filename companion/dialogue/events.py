"""What can happen to the conversation. Every event is recorded before anything is said about it.

All but one are the facts that the record keeps. An answer that was heard comes with its meaning,
which the record keeps as `words` writes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from companion.facts import talking
from companion.facts.kinds import Fact
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import How, Refused, Silent
from companion.language.meanings import Meaning, meaning_from_json, meaning_to_json

M = TypeVar("M", bound=Meaning, covariant=True)


@dataclass(frozen=True, slots=True)
class Heard(Generic[M]):
    """An answer inside the grammar of the prompt it was heard under.

    `how` is for the record; only the voice check, which is about the ears, ever looks at it.
    """

    prompt_id: str
    meaning: M
    how: How = How()  # noqa: RUF009 - frozen


Answer = Heard[Meaning] | Refused | Silent
"""What comes of listening under a prompt, each with that prompt's id."""
Event = Opened | Resumed | Answer


def fact_of_event(event: Event) -> Fact:
    """The event as the record keeps it."""
    if isinstance(event, Heard):
        return talking.Heard(event.prompt_id, meaning_to_json(event.meaning), event.how)
    return event


def event_of_fact(fact: Fact) -> Event | None:
    """The event that the record keeps so; None for what the dialogue itself wrote.

    Raises MeaningError for an answer whose meaning is none.
    """
    match fact:
        case talking.Heard(prompt_id, meaning, how):
            return Heard(prompt_id, meaning_from_json(meaning), how)
        case Opened() | Resumed() | Refused() | Silent():
            return fact
        case _:
            return None
