"""A read-back and the next question in one breath: an explicit yes still stands behind each."""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from decimal import Decimal

import pytest

from companion.dialogue.effects import Say
from companion.dialogue.state import Mode
from companion.dialogue.values import is_likely
from companion.errors import FileProblem
from companion.facts.meanings import Confirmed, Number, Unconfirmed, Yes
from companion.facts.talking import Heard, How

NAMES = ("one_mm", "two_mm", "three_mm", "four_mm", "five_mm")
READINGS = "".join(
    f"- {{step: reading, id: {name}, title: Gap {name[:-3]}, ask: Gap {name[:-3]}., unit: mm, "
    f"behind_read_back: true, plausible: [100, 900], resolution: 1, "
    f"number: {{style: whole, whole_digits: 3}}}}\n"
    for name in NAMES
)


def values(talk):
    return {name: int(taken.value) for name, taken in talk.state.readings.items()}


@pytest.fixture
def known(small):
    """The third reading said back, with a question behind it as at the one before."""
    return small(READINGS).hear("four two zero", "yes", "four two one", "yes", "four two two")


def test_who_knows_the_read_back_hears_the_next_question_behind_it(small, known):
    first = small(READINGS).hear("four two zero", "yes", "four two one")
    assert first.spoken == ["Four two one? If yes: Gap three."]
    assert known.spoken == ["Four two two? Gap four."]
    assert known.state.prompt.told.behind.step_id == "four_mm"
    assert "three_mm" not in known.state.readings


def test_yes_and_the_next_reading_confirms_the_one_and_says_the_other_back(known):
    known.hear("yes four two three")
    assert values(known) == {"one_mm": 420, "two_mm": 421, "three_mm": 422}
    assert known.spoken == ["Four two three? Gap five."]
    assert values(known.hear("yes four two four"))["four_mm"] == 423
    # The last has nothing behind it that may be asked so.
    assert known.spoken == ["Four two four?"]


def test_yes_alone_confirms_and_the_next_is_listened_for_without_a_word(known):
    known.hear("yes")
    assert values(known)["three_mm"] == 422
    assert (known.step_id, known.state.mode) == ("four_mm", Mode.ASKING)
    assert not [effect for effect in known.effects if isinstance(effect, Say)]
    # On the screen it stands, and silence has it said.
    assert known.now("said")[-1]["ask"] == "Gap four."
    assert known.silence().spoken == ["I am waiting. Gap four."]


@pytest.mark.parametrize("words", ["four two three", "four hundred and twenty three"])
def test_a_number_without_a_yes_is_no_yes(known, words):
    known.hear(words)
    assert "three_mm" not in known.state.readings
    assert "four_mm" not in known.state.readings
    assert known.spoken == ["Four two two millimetres. Yes or no?"]
    assert values(known.hear("yes"))["three_mm"] == 422
    assert known.spoken == ["Gap four."]


def test_behind_the_yes_two_readings_may_come_in_one_answer(small):
    pair = READINGS.replace("ask: Gap four.", "ask: Gap four., ask_pair: Gaps four and five.")
    talk = small(pair).hear("four two zero", "yes", "four two one", "yes", "four two two")
    assert talk.spoken == ["Four two two? Gaps four and five."]
    talk.hear("yes four two three four two four")
    assert values(talk) == {"one_mm": 420, "two_mm": 421, "three_mm": 422}
    # Neither counts before its own yes.
    assert talk.spoken == ["Four two three?"]
    assert values(talk.hear("yes"))["four_mm"] == 423
    assert talk.spoken == ["Four two four?"]
    assert values(talk.hear("yes"))["five_mm"] == 424


@pytest.mark.parametrize("words", ["four two three four two four", "four two three"])
def test_numbers_whose_yes_was_lost_replace_nothing(small, words):
    """The third reading is 422: neither number that came without a yes takes its place."""
    pair = READINGS.replace("ask: Gap four.", "ask: Gap four., ask_pair: Gaps four and five.")
    talk = small(pair).hear("four two zero", "yes", "four two one", "yes", "four two two")
    talk.hear(words)
    assert talk.spoken == ["Four two two millimetres. Yes or no?"]
    assert values(talk.hear("yes")) == {"one_mm": 420, "two_mm": 421, "three_mm": 422}


@pytest.mark.parametrize("words", ["no", "no four two three", "wrong four two three"])
def test_no_is_no_whatever_is_said_behind_it(known, words):
    known.hear(words)
    assert values(known) == {"one_mm": 420, "two_mm": 421}
    assert (known.step_id, known.state.mode) == ("three_mm", Mode.ASKING)


def test_a_correction_is_of_what_was_said_back(known):
    known.hear("correction four two nine")
    assert known.spoken == ["Four two nine? Gap four."]
    assert known.step_id == "three_mm"
    assert values(known.hear("yes"))["three_mm"] == 429


@pytest.mark.parametrize("trouble", ["silence", "mishear", "repeat", "where are we"])
def test_after_any_trouble_the_read_back_stands_alone(known, trouble):
    if trouble in ("silence", "mishear"):
        getattr(known, trouble)()
    else:
        known.hear(trouble)
    assert "Gap four" not in known.spoken[-1]
    assert known.state.prompt.expectation.then is None
    assert known.state.prompt.told.behind is None


def test_a_voice_that_is_not_heard_so_is_asked_one_thing_at_a_time(small):
    first = READINGS.splitlines(keepends=True)[0]
    names = ("one", "two", "three", "four", "five", "six", "seven", "eight")
    known = small("".join(first.replace("one_mm", f"{name}_mm") for name in names))
    known.hear("four two zero", "yes", "four two one", "yes", "four two two")
    known.hear(*["yes four two three"] * 2)
    known.mishear().hear("yes", "four two three")
    assert known.state.prompt.expectation.then is not None
    known.mishear().hear("yes", "four two three")
    # Missed twice of four times; nothing else is amiss by now, and there is a next to ask for.
    assert (known.state.no_matches, known.step_id) == (0, "seven_mm")
    assert known.spoken == ["Four two three?"]
    assert known.state.prompt.expectation.then is None


def test_a_voice_that_is_seldom_refused_goes_on_in_one_breath(small):
    first = READINGS.splitlines(keepends=True)[0]
    names = ("one", "two", "three", *(f"next{place}" for place in "abcdefghijklmn"))
    talk = small("".join(first.replace("one_mm", f"{name}_mm") for name in names))
    talk.hear("four two zero", "yes", "four two one", "yes", "four two two")
    talk.hear(*["yes four two three"] * 8)
    for _ in range(2):
        talk.mishear().hear("yes", "four two four")
        assert talk.state.prompt.expectation.then is not None


def test_what_was_said_before_a_break_confirms_nothing_after_it(known):
    prompt_id = known.prompt_id
    known.hear("wait")
    then = Number(Decimal(423), None, "mm")
    for meaning in (Confirmed(then), Unconfirmed(then)):
        known.do(Heard(prompt_id, meaning, How()))
    assert values(known) == {"one_mm": 420, "two_mm": 421}


def test_no_step_is_asked_so_that_does_not_say_it_may_be(small):
    talk = small(READINGS.replace("behind_read_back: true, ", ""))
    talk.hear("four two zero", "yes", "four two one", "yes", "four two two")
    assert talk.spoken == ["Four two two?"]


def test_a_language_whose_ears_were_not_trained_on_it_asks_one_thing_at_a_time(small):
    talk = small(READINGS)
    assert talk.state.lexicon.yes_and_next
    lexicon = copy(talk.state.lexicon)
    lexicon.vocabulary = lexicon.vocabulary.model_copy(update={"yes_and_next": False})
    talk.state = replace(talk.state, lexicon=lexicon)
    talk.hear("four two zero", "yes", "four two one", "yes", "four two two")
    assert talk.spoken == ["Four two two?"]


def test_an_instruction_is_never_asked_in_that_breath(small):
    *three, fourth, fifth = READINGS.splitlines(keepends=True)
    push = "- {step: instruction, id: push, say: Push it., with_next: true}\n"
    talk = small("".join([*three, push, fourth, fifth]))
    talk.hear("four two zero", "yes", "four two one", "yes", "four two two")
    assert talk.spoken == ["Four two two?"]


def test_what_is_longer_than_a_breath_is_said_in_two(small):
    longer = READINGS.replace(
        "ask: Gap four.", "ask: Now the gap that is the fourth of all those at the front."
    )
    talk = small(longer).hear("four two zero", "yes", "four two one", "yes", "four two two")
    assert talk.spoken == ["Four two two?"]


def test_a_shorter_pair_needs_the_pair_and_what_it_follows(small):
    for more, wanted in (
        ("ask_pair_next: Both.", "ask_pair_next without short_after"),
        ("ask_short: Gap., short_after: two_mm, ask_pair_next: Both.", "without ask_pair"),
    ):
        with pytest.raises(FileProblem, match=wanted):
            small(READINGS.replace("id: one_mm,", f"id: one_mm, {more.rstrip('.')}.,", 1))


def test_the_ears_are_told_what_is_likely_behind_the_yes_by_the_reading_that_stands_there(small):
    """The one said back reaches to 900, the one behind it from 20 to 30."""
    other = READINGS.replace(
        "ask: Gap four., unit: mm, behind_read_back: true, plausible: [100, 900]",
        "ask: Gap four., unit: mm, behind_read_back: true, plausible: [20, 30]",
    )
    talk = small(other).hear("four two zero", "yes", "four two one", "yes", "four two two")
    assert talk.state.prompt.told.behind.step_id == "four_mm"
    for said in (Confirmed, Unconfirmed):
        likely = [
            mm for mm in (19, 25, 31, 420) if is_likely(talk.state, said(Number(Decimal(mm), None)))
        ]
        assert likely == [25]
    assert is_likely(talk.state, Number(Decimal(420), None))
    # Where nothing stands behind it there is nothing to hold it against.
    alone = small(other).hear("four two zero")
    assert alone.state.prompt.told.behind is None
    assert is_likely(alone.state, Confirmed(Number(Decimal(5), None)))


def test_a_question_that_the_pedal_cut_off_is_said(known):
    """With the read-back it was silenced, so behind the yes it is not known yet."""
    known.do(Heard(known.prompt_id, Yes(), How("yes", cut_short=(0,))))
    assert values(known)["three_mm"] == 422
    assert known.spoken == ["Gap four."]
