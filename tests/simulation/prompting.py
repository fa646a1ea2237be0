"""Prompts of the shipped job as the record tells of them, for a technician alone.

The sentences in them are nonsense: he is not to read them.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache

from companion.dialogue.asking import DONE, PAUSED, STOPPED, YES_NO
from companion.dialogue.commanding import TOUCHED
from companion.dialogue.kind import expectation_of
from companion.dialogue.transaction import prompted
from companion.facts.instructions import (
    Direction,
    Instruction,
    MoveStand,
    StandQuantity,
    TurnScrew,
)
from companion.facts.prompting import Prompted, SaidBack
from companion.facts.talking import Said
from companion.job.loader import JobPaths, LoadedJob
from companion.language.expectation import Expectation
from companion.runtime import assembly

NONSENSE = "Seven green bottles left."


@cache
def shipped() -> LoadedJob:
    return assembly.load(JobPaths())


def prompt(
    step_id: str,
    expectation: Expectation,
    told: Prompted = Prompted(),  # noqa: B008 - frozen
    *,
    mode: str = "asking",
    again: bool = False,
) -> Said:
    asks = replace(prompted(expectation, told), again=again)
    return Said("p1", step_id, "ask", mode, NONSENSE, NONSENSE, prompt=asks)


def ask(step_id: str, *, again: bool = False, digits: bool = False) -> Said:
    """The step's own prompt: a reading, a question, or something to do."""
    step = shipped().plan.step(step_id)
    expectation = expectation_of(shipped().plan, step, digits_only=digits)
    return prompt(step_id, expectation, again=again)


def do(step_id: str, instruction: Instruction, *, again: bool = False) -> Said:
    return prompt(step_id, DONE, Prompted(instruction=instruction), again=again)


def back(said_back: SaidBack) -> Said:
    """What was heard is said back."""
    return prompt("any", YES_NO, Prompted(said_back=said_back), mode="confirming")


def number_back(value: str, unit: str = "mm", direction: str | None = None) -> Said:
    return back(SaidBack("", value=value, unit=unit, direction=direction))


ARM, SPOT, DISTANCE = ask("arm_left_mm"), ask("spot_left_mm"), ask("plate_distance_mm")
BOOT = ask("secure_list")
TURN_LEFT = MoveStand(StandQuantity.TURN, Direction.LEFT, Decimal("1.00"), "deg")
TURN = do("stand_place", TURN_LEFT)
SCREW = do("aim_decision", TurnScrew("left_screw", Direction.CLOCKWISE, Fraction(2)))
PAUSE = prompt("any", PAUSED, mode="paused")
STOP = prompt("any", STOPPED, mode="stopped")
END = prompt("any", YES_NO, mode="ending")
RESTART = prompt("any", TOUCHED, mode="resuming")
