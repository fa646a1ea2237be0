"""What two heads' hearings of one sound come to where they agree, and where they do not."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from companion.recognition.own.evidence import (
    Evidence,
    OwnSettings,
    guess,
    weigh,
)
from companion.recognition.own.search import Hearing, Sentence
from tests.benchmarks.ears_strings import number_loop
from tests.recognition.hearings import hearing_of


def hearing(share: float, **said: float) -> Hearing:
    """Rows of words, an underscore between them, each with its probability."""
    sentences = [Sentence(tuple(row.split("_")), math.log(p)) for row, p in said.items()]
    return hearing_of(number_loop(), sentences, 0.0, share)


def weighed(along: dict[str, float], words: dict[str, float]) -> Evidence:
    found = weigh(hearing(0.5, **along), [hearing(0.25, **words), hearing(0.25, **words)])
    assert found is not None
    return found


def test_the_same_row_likeliest_to_both_is_agreed_on() -> None:
    found = weighed({"two_six_eight": 0.9}, {"two_six_eight": 0.8, "six_eight": 0.1})
    assert found.agreed
    assert not found.together
    assert found.words == "two six eight"


def test_a_long_row_that_both_together_are_sure_of_is_believed() -> None:
    found = weighed(
        {"two_six_eight": 0.95, "six_eight": 0.01}, {"two_six_eight": 0.4, "six_eight": 0.5}
    )
    assert not found.agreed
    assert found.together
    settings = OwnSettings.of("en")
    assert settings.confidence(found) >= settings.least_confidence


@pytest.mark.parametrize(
    ("along", "words"),
    [
        # The next is not far enough behind.
        (
            {"two_six_eight": 0.6, "six_eight": 0.3},
            {"two_six_eight": 0.4, "six_eight": 0.5},
        ),
        # Neither thinks much of it.
        (
            {"two_six_eight": 0.02, "six_eight": 0.001},
            {"two_six_eight": 0.004, "six_six": 0.005},
        ),
        # One of them does not hold it for possible at all.
        ({"two_six_eight": 0.9}, {"six_eight": 0.9}),
        # One of them hears a word more: words left out are the common error.
        (
            {"six_seven_eight": 0.95, "oh_six_seven_eight": 0.01},
            {"six_seven_eight": 0.4, "oh_six_seven_eight": 0.5},
        ),
        # Two words are no long row.
        ({"six_eight": 0.95, "eight": 0.01}, {"six_eight": 0.4, "eight": 0.5}),
        # Both together hold another for likelier than all hearings do.
        (
            {"two_six_eight": 0.97, "six_six_eight": 0.03},
            {"two_six_eight": 1e-9, "six_six_eight": 0.6},
        ),
    ],
)
def test_nothing_else_is_believed_where_they_do_not_agree(
    along: dict[str, float], words: dict[str, float]
) -> None:
    found = weighed(along, words)
    assert not found.agreed
    assert not found.together
    settings = OwnSettings.of("en")
    assert settings.confidence(found) < settings.least_confidence


def test_the_confidence_of_what_is_agreed_on_is_left_alone() -> None:
    found = weighed({"two_six_eight": 0.9}, {"two_six_eight": 0.8})
    settings = OwnSettings.of("en")
    weak = replace(found, probability=-9.0)
    assert settings.confidence(weak) < settings.least_confidence < settings.confidence(found)


def test_the_best_guess_is_what_both_hold_for_possible() -> None:
    along, words = hearing(0.5, six=0.9, two=0.1), [hearing(0.5, two=0.8)]
    found = guess(along, words)
    assert found is not None
    assert found.words == ("two",)
    assert found.log_probability == pytest.approx((math.log(0.1) + math.log(0.8)) / 2.0)
    assert guess(along, [hearing(0.5, nine=0.8)]) is None


def test_how_likely_both_heads_hold_it_is_the_mean_of_their_logarithms() -> None:
    found = weighed({"six": 0.9}, {"six": 0.1})
    assert found.agreed
    assert found.of_both == pytest.approx((math.log(0.9) + math.log(0.1)) / 2.0)
    assert weighed({"six": 0.9}, {"five": 0.9}).of_both == -20.0
    alone = weigh(hearing(0.5, six=0.9))
    assert alone is not None
    assert alone.of_both == 0.0


def test_the_next_meaning_counts_only_so_far() -> None:
    settings = replace(OwnSettings.of("en"), most_runner_up=4.0)
    six = Evidence("six", 6, ("six",), -1.0, 4.0, -0.5, agreed=True)
    near, far = (replace(six, runner_up=ahead) for ahead in (4.0, 11.0))
    assert settings.confidence(near) == settings.confidence(far)
    further = replace(settings, most_runner_up=12.0)
    assert further.confidence(far) > settings.confidence(far)
