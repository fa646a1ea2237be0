"""What a rehearsal's technician answers to questions, and what his habits are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Literal


@dataclass(frozen=True, slots=True)
class Scenario:
    """One run of the job. `varied_wording`: numbers and choices are said in several ways.

    `answers` stand in place of the script's, by the question's id. `keeps_sound`: he lets sound be
    kept. `moved`: what he says after a break. `leaves_swing`: told to lean the plate, he leaves its
    swing where it was. `carries_on_at_most`: after so many stops he ends the job.
    """

    answers: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    keeps_sound: bool = False
    moved: Literal["not_touched", "was_moved"] = "not_touched"
    varied_wording: bool = True
    leaves_swing: bool = False
    carries_on_at_most: int = 3
