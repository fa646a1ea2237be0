"""What the conversation writes, as the record would give it back."""

from __future__ import annotations

from collections.abc import Iterable

from companion.dialogue.effects import Effect, Record
from companion.record import Entry
from companion.record.canonical import canonical_json, parsed_json
from companion.record.port import entry_of


def recorded(effects: Iterable[Effect]) -> list[Entry]:
    """The facts among the effects, their bodies through JSON and back."""
    entries = [entry_of(effect.fact) for effect in effects if isinstance(effect, Record)]
    return [Entry(entry.kind, parsed_json(canonical_json(entry.body))) for entry in entries]
