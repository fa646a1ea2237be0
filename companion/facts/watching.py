"""Who looks on at a job: facts are told to him as they are kept."""

from __future__ import annotations

from typing import Protocol

from companion.facts.kinds import Fact


class Watcher(Protocol):
    """Looks on: prints, shows progress, counts. It cannot change anything."""

    def fact(self, fact: Fact) -> None:
        """An event or a fact, as it has just been kept in the record."""
        ...
