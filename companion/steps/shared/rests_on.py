"""What a budget line rests on: one figure of a file, or one scale that is read."""

from __future__ import annotations

from companion.dialogue.state import State
from companion.steps.reading.model import Reading
from companion.uncertainty.redundancy import GroupOf
from companion.uncertainty.taking import DIGITS, SCALE, UNSAID

# How budget lines of a reading's parts are named, after the reading.
ROUNDS, _OF_SCALE, _OF_UNSAID = f" {DIGITS} ", f" {SCALE}", f" {UNSAID}"


def rests_on(state: State) -> GroupOf:
    """Which figure of the files, or which scale, a budget line rests on; None: a scale's step.

    Readings of one instrument are wrong together; so are all lines of one figure of a file.
    """
    scales = {
        step.id: step.instrument or step.id
        for step in state.plan.steps
        if isinstance(step, Reading)
    }

    def group(line: str) -> str | None:
        if ROUNDS in line:
            return None
        # Of a doubt that comes anew with a reading's take the figure alone counts.
        head, mark, source = line.partition(" #")[0].partition(": ")
        if mark:
            return source
        return scales.get(scale_of(head), head)

    return group


def scale_of(line: str) -> str:
    """The reading that one of its own budget lines belongs to."""
    return line.partition(" #")[0].removesuffix(_OF_SCALE).removesuffix(_OF_UNSAID)
