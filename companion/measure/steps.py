"""How turns of a screw are made: in which steps, and how far its tip follows its head."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from companion.measure.mount import Direction, Mount, Screw

# Gauss-Legendre on 0..1: the play is anything up to the backlash.
_PLAY_NODES = (0.5 - 0.15**0.5, 0.5, 0.5 + 0.15**0.5)
_PLAY_WEIGHTS = (5.0 / 18.0, 8.0 / 18.0, 5.0 / 18.0)


@dataclass(frozen=True)
class ScrewStep:
    """One thing to do: turn this screw so far that way."""

    screw_id: str
    direction: Direction
    turns: Fraction

    @property
    def clockwise(self) -> Fraction:
        """Signed turns, + = clockwise."""
        return self.turns if self.direction == "clockwise" else -self.turns


def steps_of(screw: Screw, turns: Fraction, approach: Direction) -> tuple[ScrewStep, ...]:
    """The steps for one screw: against the approach it goes further and comes back."""
    if turns == 0:
        return ()
    direction: Direction = "clockwise" if turns > 0 else "anticlockwise"
    overshoot = screw.overshoot()
    if direction == approach or overshoot == 0:
        return (ScrewStep(screw.id, direction, abs(turns)),)
    return (
        ScrewStep(screw.id, direction, abs(turns) + overshoot),
        ScrewStep(screw.id, approach, overshoot),
    )


def steps_for(mount: Mount, turns: Sequence[Fraction]) -> tuple[ScrewStep, ...]:
    """The steps for all of a mount's screws, in their order."""
    return tuple(
        step
        for screw, turn in zip(mount.screws, turns, strict=True)
        for step in steps_of(screw, turn, mount.approach)
    )


def tip_travel(
    screw: Screw, approach: Direction, head_moves: Sequence[Fraction], *, settled: bool
) -> tuple[float, float]:
    """Mean and standard uncertainty of the tip's net turns when the head makes these moves.

    On each reversal the head takes up the play before the tip follows. The play may be anything
    up to the backlash. `settled`: the screw was last turned in the approach direction; else the
    play may lie at either end.
    """
    if not head_moves:
        return 0.0, 0.0
    ends: tuple[Direction, ...] = (approach,) if settled else ("clockwise", "anticlockwise")
    travels, weights = [], []
    for node, weight in zip(_PLAY_NODES, _PLAY_WEIGHTS, strict=True):
        for end in ends:
            travels.append(_follow(head_moves, node * screw.backlash_turns, end))
            weights.append(weight / len(ends))
    mean = float(np.dot(weights, travels))
    variance = float(np.dot(weights, (np.array(travels) - mean) ** 2))
    return mean, variance**0.5


def _follow(head_moves: Sequence[Fraction], play: float, lies: Direction) -> float:
    """The tip's net turns for one play, first taken up clockwise or anticlockwise."""
    ahead = play / 2.0 if lies == "clockwise" else -play / 2.0
    tip = 0.0
    for move in head_moves:
        ahead += float(move)
        carried = ahead - min(max(ahead, -play / 2.0), play / 2.0)
        tip += carried
        ahead -= carried
    return tip
