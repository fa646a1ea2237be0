"""What a rehearsal's technician answers to questions, and what his habits are."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from companion.rehearsal.errors import RehearsalError

CHOICE_WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "keep_sound": ("keep the sound", "keep sound"),
        "words_only": ("words only", "only words"),
        "replaced": ("sensor replaced", "replaced"),
        "bumper": ("bumper work", "bumper"),
        "suspension": ("suspension work", "suspension"),
        "crash": ("crash repair", "crash"),
        "fault_code": ("fault code", "stored fault"),
        "full": ("full tank", "filled up"),
        "not_full": ("part empty", "partly empty"),
        "no_faults": ("no faults", "none stored"),
        "faults_cleared": ("faults cleared", "all cleared"),
        "faults_remain": ("faults remain", "still there"),
        "degrees": ("degrees", "in degrees"),
        "millimetres": ("millimetres", "in millimetres"),
        "echo_levels": ("echo levels",),
        "tool_angle": ("tool angle", "angle from the tool"),
        "tool_turns": ("screw turns", "tool gives turns"),
        "tool_inside": ("within limits", "tool accepts"),
        "tool_outside": ("beyond limits", "tool refuses"),
        "not_touched": ("not touched", "left alone"),
        "was_moved": ("was moved", "it moved"),
    }
)
"""How each answer is said; the first is how it is said back."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """One run of the job. `varied_wording`: numbers and choices are said in several ways.

    `leaves_swing`: told to lean the plate, he leaves its swing where it was.
    `carries_on_at_most`: after so many stops he ends the job.
    """

    consent: Literal["keep_sound", "words_only"] = "words_only"
    reason: Literal["replaced", "bumper", "suspension", "crash", "fault_code"] = "bumper"
    fuel: Literal["full", "not_full"] = "full"
    faults_before: Literal["no_faults", "faults_cleared", "faults_remain"] = "no_faults"
    faults_after: Literal["no_faults", "faults_cleared", "faults_remain"] = "no_faults"
    toe_route: Literal["degrees", "millimetres"] = "degrees"
    aim_route: Literal["echo_levels", "tool_angle", "tool_turns"] = "echo_levels"
    moved: Literal["not_touched", "was_moved"] = "not_touched"
    varied_wording: bool = True
    leaves_swing: bool = False
    carries_on_at_most: int = 3

    def choice(self, about: str) -> str:
        """The answer's id to a question that only a person answers."""
        match about:
            case "consent" | "reason" | "fuel" | "toe_route" | "aim_route" | "moved":
                return str(getattr(self, about))
            case "faults_before" | "faults_after":
                return str(getattr(self, about))
            case _:
                raise RehearsalError(f"a question about {about!r}: the scenario has no answer")
