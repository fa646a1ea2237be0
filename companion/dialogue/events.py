"""What can happen to the conversation: facts, kept before anything is said about them."""

from __future__ import annotations

from typing import TypeGuard

from companion.facts.kinds import Fact
from companion.facts.meanings import Meaning
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, Refused, Silent

Answer = Heard[Meaning] | Refused | Silent
"""What comes of listening under a prompt, each with that prompt's id."""
Event = Opened | Resumed | Answer


def is_event(fact: Fact) -> TypeGuard[Event]:
    """Whether it happened to the dialogue; what else a job tells the dialogue itself wrote."""
    return isinstance(fact, Opened | Resumed | Heard | Refused | Silent)
