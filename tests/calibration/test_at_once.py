"""A formula asked for all of its steps in one call says what it says step by step."""

from __future__ import annotations

import numpy as np
import pytest

from companion.calibration.formulas import FORMULAS
from companion.uncertainty.measured import Measured, measured, propagate, propagate_at_once

AT_ONCE = [formula for formula in FORMULAS.values() if formula.at_once is not None]


def test_there_is_one() -> None:
    assert [formula.name for formula in AT_ONCE] == ["echo_peak_of_five"]


def test_step_by_step_and_at_once_are_the_same() -> None:
    generator = np.random.default_rng(11)
    leans = (5.0, 2.5, 0.0, -2.5, -5.0)
    for _ in range(20):
        aim, width = generator.uniform(-1.5, 1.5), generator.uniform(8.0, 14.0)
        shared = measured("one instrument", 0.0, 0.02).contributions
        inputs = {
            "distance_mm": measured("distance", 1200.0, 2.0),
            "hinge_below_mm": measured("hinge", generator.uniform(-30.0, 30.0), 5.0),
        }
        for n, lean in enumerate(leans, 1):
            level = 60.0 - 24.0 * ((lean - aim) / width) ** 2 + generator.normal(0.0, 0.05)
            own = measured(f"echo {n}", level, 0.05)
            inputs[f"echo_{n}_db"] = Measured(level, (*own.contributions, *shared))
            inputs[f"lean_{n}_deg"] = measured(f"detent {n}", lean, 0.01)
        formula = AT_ONCE[0]
        assert formula.at_once is not None
        each = propagate(formula.function, inputs)
        found = propagate_at_once(formula.at_once, inputs)
        assert list(found) == list(each) == list(formula.outputs)
        for name, item in each.items():
            assert found[name].value == pytest.approx(item.value, abs=1e-12)
            # A line that is nothing but rounding may be left out.
            at_once, one_by_one = dict(found[name].contributions), dict(item.contributions)
            for line in at_once.keys() | one_by_one.keys():
                assert at_once.get(line, 0.0) == pytest.approx(one_by_one.get(line, 0.0), abs=1e-11)


def test_a_fold_is_taken_at_its_steeper_side_at_once_too() -> None:
    inputs = {"a": measured("a", 0.0, 0.1), "b": measured("b", 2.0, 0.1)}

    def function(values: dict[str, float]) -> dict[str, float]:
        return {"y": abs(values["a"]) + values["b"]}

    each = propagate(function, inputs)["y"]
    many = propagate_at_once(lambda v: {"y": np.abs(v["a"]) + v["b"]}, inputs)["y"]
    assert dict(many.contributions) == pytest.approx(dict(each.contributions))
    assert dict(many.contributions) == pytest.approx({"a": 0.1, "b": 0.1})
