"""What the conversation wants done. The loop does it, in this order; nothing here acts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from companion.facts.kinds import Fact
from companion.language.expectation import Expectation

Purpose = Literal["ask", "read_back", "instruct", "explain", "announce", "caution"]
Pace = Literal["unhurried", "brisk"]


@dataclass(frozen=True)
class Record:
    """Keep this fact; all facts of one step are kept together, before anything is said."""

    fact: Fact


@dataclass(frozen=True)
class Say:
    """Speak this, at this speed (per cent of normal for its pace) and loudness (0 to 1).

    `prompt_id`: the prompt that it is, None for what asks nothing. `open_after`: once these words
    of it are out it may be answered, before it ends; "": never. "Stop" may be said into anything.
    """

    text: str
    purpose: Purpose
    speed_percent: int
    volume: float
    prompt_id: str | None = None
    open_after: str = ""
    pace: Pace = "unhurried"


@dataclass(frozen=True)
class Listen:
    """Wait for an answer to this prompt, and no other."""

    prompt_id: str
    expectation: Expectation
    timeout_s: float
    note: bool = False


@dataclass(frozen=True)
class Close:
    """The job is over: `result` as the `finished` or `stopped` fact says."""

    result: str


Effect = Record | Say | Listen | Close
