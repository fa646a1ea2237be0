"""How turns of a screw are made: in which steps, and how far its tip follows its head."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from companion.calibration.mount import Direction, Mount, Screw

# Gauss-Legendre on 0..1: the play is anything up to the backlash.
_PLAY_NODES = np.array([0.5 - 0.15**0.5, 0.5, 0.5 + 0.15**0.5])
_PLAY_WEIGHTS = np.array([5.0, 8.0, 5.0]) / 18.0
_BOTH_WEIGHTS = np.concatenate((_PLAY_WEIGHTS, _PLAY_WEIGHTS)) / 2.0
# Each play may lie at its clockwise or at its anticlockwise end.
_BOTH_ENDS = np.array([1.0, 1.0, 1.0, -1.0, -1.0, -1.0])


@dataclass(frozen=True)
class ScrewStep:
    """One thing to do: turn this screw so far that way."""

    screw_id: str
    direction: Direction
    turns: Fraction


def steps_of(screw: Screw, turns: Fraction, approach: Direction) -> tuple[ScrewStep, ...]:
    """The steps for one screw: against the approach it goes further and comes back."""
    if turns == 0:
        return ()
    direction: Direction = "clockwise" if turns > 0 else "anticlockwise"
    overshoot = screw.overshoot
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


def tip_travels(
    screws: Sequence[Screw],
    approach: Direction,
    head_moves: NDArray[np.float64],
    settled: Sequence[bool],
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean and standard uncertainty of the tips' net turns, both stories x screws.

    `head_moves`: stories x screws x moves, each row filled up with zeros, which move nothing. On
    each reversal the head takes up the play before the tip follows. The play may be anything up to
    the backlash. `settled`: the screw was last turned in the approach direction; else the play may
    lie at either end.
    """
    backlash = np.array([screw.backlash_turns for screw in screws])
    half = backlash[:, None] * _PLAY_NODES / 2.0
    half = np.concatenate((half, half), axis=1)
    end = 1.0 if approach == "clockwise" else -1.0
    ends = np.where(np.array(settled)[:, None], end, _BOTH_ENDS)
    ahead = half * ends
    before, least = ahead, -half
    for number in range(head_moves.shape[2]):
        ahead = np.minimum(np.maximum(ahead + head_moves[:, :, number, None], least), half)
    # All that the head went and that is not play now, or was not before.
    tip = (before - ahead) + np.add.reduce(head_moves, axis=2)[:, :, None]
    mean = tip @ _BOTH_WEIGHTS
    variance = (tip - mean[:, :, None]) ** 2 @ _BOTH_WEIGHTS
    return mean, np.sqrt(variance)
