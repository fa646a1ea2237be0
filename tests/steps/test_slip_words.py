"""What is said of slips at the screws agrees with how many screws there are."""

from __future__ import annotations

import pytest

from companion.language.loader import load_language
from companion.steps.aim.prompts import slip

LEFT, UPPER = "left screw", "upper screw"


@pytest.mark.parametrize(
    ("kind", "one", "two"),
    [
        ("twice_as_far", " was turned twice", " were turned twice"),
        ("half_as_far", " was turned only half", " were turned only half"),
        ("not_turned", " all of its turns", " all of their turns"),
    ],
)
def test_one_screw_was_turned_and_two_were(kind, one, two):
    say = load_language().say
    assert one in say(slip(kind, (LEFT,), ()))
    assert two in say(slip(kind, (LEFT, UPPER), ()))


@pytest.mark.parametrize("kind", ["twice_as_far", "half_as_far"])
def test_so_it_is_in_spanish(kind):
    say = load_language("es").say
    assert " se giró " in say(slip(kind, (LEFT,), ()))
    assert " se giraron " in say(slip(kind, (LEFT, UPPER), ()))
