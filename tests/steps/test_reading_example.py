"""The number that a reading gives as an example: one that would be taken, near the wider end."""

from __future__ import annotations

from decimal import Decimal

import pytest

from companion.job.loader import EXAMPLES, JobPaths
from companion.runtime import assembly
from companion.steps.reading.model import Reading
from companion.steps.reading.values import example, is_plausible, signed


def readings() -> list[Reading]:
    plan = assembly.load(JobPaths(job=EXAMPLES / "front_radar.yaml"), assembly.language()).plan
    return [step for step in plan.steps if isinstance(step, Reading)]


@pytest.fixture(scope="module")
def toe() -> Reading:
    return next(step for step in readings() if step.number.directions)


@pytest.fixture(scope="module")
def scale() -> Reading:
    return next(step for step in readings() if step.unit == "mm" and not step.number.directions)


def test_no_shipped_reading_would_doubt_its_own_example() -> None:
    assert all(is_plausible(step, example(step)) for step in readings())


def test_an_eighth_of_the_way_into_the_range(scale: Reading) -> None:
    wide = scale.model_copy(update={"plausible": (200.0, 1000.0), "resolution": 1.0})
    assert example(wide).value == Decimal(300)


@pytest.mark.parametrize(("plausible", "sign"), [((-8.0, 4.0), -1), ((-4.0, 8.0), 1)])
def test_with_directions_it_lies_on_the_wider_side(
    toe: Reading, plausible: tuple[float, float], sign: int
) -> None:
    wide = toe.model_copy(update={"plausible": plausible})
    assert signed(wide, example(wide)) == pytest.approx(sign * 1.0)
