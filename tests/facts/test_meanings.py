"""A meaning lives in the record as plain JSON and comes back as it was."""

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.facts.meanings import (
    COMMAND_NAMES,
    Choice,
    Command,
    Done,
    MeaningError,
    No,
    Number,
    Yes,
    meaning_from_json,
    meaning_to_json,
)

numbers = st.builds(
    Number,
    st.decimals(min_value=0, max_value=10**6, allow_nan=False, places=4).map(abs),
    st.sampled_from([None, "left", "up"]),
    st.sampled_from([None, "mm", "deg"]),
)
meanings = st.one_of(
    numbers,
    st.builds(Choice, st.text(min_size=1)),
    st.builds(Command, st.sampled_from(COMMAND_NAMES)),
    st.sampled_from([Done(), Yes(), No()]),
)


@given(meanings)
def test_a_meaning_survives_json(meaning):
    assert meaning_from_json(json.loads(json.dumps(meaning_to_json(meaning)))) == meaning


def test_the_decimals_stay_as_they_were_said():
    plain = meaning_to_json(Number(Decimal("0.40"), "left", "deg"))
    assert plain == {"kind": "number", "value": "0.40", "direction": "left", "unit": "deg"}
    assert str(meaning_from_json(plain).value) == "0.40"


def test_a_tiny_number_is_not_written_with_an_exponent():
    assert meaning_to_json(Number(Decimal("0E-8")))["value"] == "0.00000000"


@pytest.mark.parametrize("value", ["-0.25", "-0", "NaN", "Infinity"])
def test_a_number_never_has_a_sign_and_is_always_finite(value):
    with pytest.raises(MeaningError, match="zero or more"):
        Number(Decimal(value))


def test_only_known_commands_exist():
    with pytest.raises(MeaningError, match="wanted one of repeat"):
        Command("dance")


@pytest.mark.parametrize(
    "plain",
    [
        {},
        {"kind": "maybe"},
        {"kind": "yes", "loud": True},
        {"kind": "number", "value": 4, "direction": None, "unit": None},
        {"kind": "number", "value": "four", "direction": None, "unit": None},
        {"kind": "number", "value": "-4", "direction": None, "unit": None},
        {"kind": "number", "value": "4"},
        {"kind": "command", "name": "dance"},
    ],
)
def test_a_record_with_another_meaning_is_refused(plain):
    with pytest.raises(MeaningError):
        meaning_from_json(plain)
