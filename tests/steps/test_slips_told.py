"""What may have happened at the screws: one turned for another, or two taken for each other."""

from __future__ import annotations

from companion.steps.aim.prompts import slip


def test_one_screw_in_place_of_another_is_told_apart_from_two_taken_for_each_other() -> None:
    one = slip("wrong_screw", ("Left",), ("Upper",))
    assert (one.id, set(one.args)) == ("slip-wrong-screw", {"screw", "instead"})
    two = slip("wrong_screw", ("Left", "Upper"), ("Upper", "Left"))
    assert (two.id, set(two.args)) == ("slip-taken-for-each-other", {"screws"})
