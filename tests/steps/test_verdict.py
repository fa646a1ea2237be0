"""What report and timeline show of a verdict, and the smallest moves that a decision asks for."""

from __future__ import annotations

from collections.abc import Mapping
from typing import cast

import numpy as np
import pytest

from companion.dialogue.state import State
from companion.facts.kinds import Entry
from companion.facts.shown import Line
from companion.report.wording import Wording, wording_in
from companion.steps.aim.sets import covariance
from companion.steps.shared.conformity import correction
from companion.steps.shared.move import Move
from companion.steps.verdict.kind import KIND
from companion.steps.verdict.run import FACT
from companion.uncertainty.measured import measured
from companion.uncertainty.sets import LEAST_U_DEG

BODY: Mapping[str, object] = {
    "title": "The gap",
    "answer": "inside",
    "look": 2,
    "most_looks": 3,
    "sets": 2,
    "probability": 0.981,
    "level": 0.975,
}


@pytest.fixture(scope="module")
def say() -> Wording:
    return wording_in()


def test_a_verdict_is_a_line_of_the_timeline_and_a_row_of_the_report(say: Wording) -> None:
    fact = Entry(FACT, BODY)
    line = KIND.line(fact, say)
    assert isinstance(line, Line)
    assert "The gap" in line.told
    table = KIND.report([fact], say)
    assert table is not None
    assert [row[0] for row in table.rows] == ["The gap"]


def test_of_another_kinds_fact_a_verdict_says_nothing(say: Wording) -> None:
    other = Entry("torque", {"title": "The bolt"})
    assert KIND.line(other, say) is None
    table = KIND.report([other], say)
    assert table is not None
    assert table.rows == ()


@pytest.mark.parametrize(("error", "amount"), [(0.1, "0.5"), (0.7, "0.5"), (0.8, "1.0")])
def test_a_move_is_one_step_of_its_scale_at_the_least(error: float, amount: str) -> None:
    move = Move(
        say="Tilt it {amount} {direction}.",
        amount="deg",
        resolution=0.5,
        direction_when_positive="down",
        direction_when_negative="up",
    )
    _, instruction, target = correction(move, None, error, cast(State, None), error)
    assert (str(instruction.amount), target) == (amount, None)


def test_an_aim_without_any_doubt_keeps_the_least(say: Wording) -> None:
    exact = (measured("yaw", 0.1, 0.0), measured("elevation", 0.2, 0.0))
    assert covariance(exact) == pytest.approx(LEAST_U_DEG**2 * np.eye(2), abs=1e-15)
