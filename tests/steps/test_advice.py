"""Sizes as they are said: two figures that matter, and never a sign."""

from __future__ import annotations

import pytest

from companion.steps.shared import advice


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (123.4, "123"),
        (12.34, "12"),
        (10.0, "10"),
        (9.96, "10"),
        (1.26, "1.3"),
        (1.0, "1"),
        (0.456, "0.46"),
        (0.4, "0.40"),
        (0.0, "0"),
    ],
)
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_size_has_two_figures_that_matter_and_no_sign(
    sign: float, value: float, shown: str
) -> None:
    said = advice.size(sign * value, "mm")
    assert (str(said.value), said.unit) == (shown, "mm")
