"""Vehicle identification numbers: seventeen characters, three letters never, a check digit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.job.vin import LENGTH, VinError, check_digit_of, in_groups, vin_of

SIGNS = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ"
numbers = st.text(SIGNS, min_size=LENGTH, max_size=LENGTH)


def test_seventeen_ones_check_themselves() -> None:
    """Weights and values of 49 CFR 565.15 (c): their sum is 89, and 89 = 8 * 11 + 1."""
    assert check_digit_of("1" * LENGTH) == "1"


@pytest.mark.parametrize(
    ("entered", "said"),
    [
        ("ZZZI0000000000017", "the letter I at place 4"),
        ("ZZZ0000000000001Q", "the letter Q at place 17"),
        ("ZZZ000000000017", "found 15 characters; wanted: 17"),
        ("ZZZ0000000000001*", "found '*' at place 17"),
    ],
)
def test_what_is_wrong_is_said(entered: str, said: str) -> None:
    with pytest.raises(VinError) as error:
        vin_of(entered, check_digit=False)
    assert said in str(error.value)


@given(numbers, st.data())
def test_one_wrong_character_changes_the_check(vin: str, data: st.DataObject) -> None:
    right = vin[:8] + check_digit_of(vin) + vin[9:]
    assert vin_of(f" {right[:5].lower()}-{right[5:]}\n", check_digit=True) == right
    other = data.draw(st.sampled_from([s for s in "0123456789" if s != right[8]]))
    with pytest.raises(VinError, match="by the others"):
        vin_of(right[:8] + other + right[9:], check_digit=True)


@given(numbers)
def test_it_is_read_back_in_threes_with_no_single_one_at_the_end(vin: str) -> None:
    groups = in_groups(vin)
    assert "".join(groups) == vin
    assert [len(group) for group in groups] == [3, 3, 3, 3, 3, 2]
    assert [len(group) for group in in_groups("A" * 10)] == [3, 3, 2, 2]
