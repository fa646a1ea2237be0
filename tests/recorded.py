"""What the conversation writes, as the record would give it back."""

from __future__ import annotations

from collections.abc import Iterable

from companion.dialogue.effects import Effect, Record
from companion.facts.kinds import Entry, body_of, kind_of
from companion.record.canonical import canonical_json, parsed_json


def recorded(effects: Iterable[Effect]) -> list[Entry]:
    """The facts among the effects, their bodies through JSON and back."""
    facts = [effect.fact for effect in effects if isinstance(effect, Record)]
    return [Entry(kind_of(fact), parsed_json(canonical_json(body_of(fact)))) for fact in facts]
