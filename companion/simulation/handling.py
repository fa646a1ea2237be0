"""How exactly hands move things: what an action does beside what it was meant to do."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random


@dataclass(frozen=True, slots=True)
class Handling:
    """Standard deviations of what hands do; `relative` is of the amount that was asked for."""

    relative: float = 0.05
    push_mm: float = 1.0
    push_turns_deg: float = 0.02
    turn_deg: float = 0.02
    height_mm: float = 0.5
    tilt_mm_per_m: float = 0.1
    tilt_disturbs_mm_per_m: float = 0.05
    screw_deg: float = 3.0
    wheel_deg: float = 1.0
    tape_mm: float = 1.5

    def amount(self, random: Random, wanted: float, slack: float) -> float:
        """What is really done when `wanted` is asked for."""
        return wanted * (1.0 + random.gauss(0.0, self.relative)) + random.gauss(0.0, slack)
