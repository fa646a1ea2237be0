"""Noise, silence and unlikely numbers: asked again, easier each time, and never taken."""

from __future__ import annotations

from decimal import Decimal

import pytest

from companion.dialogue.effects import Listen
from companion.dialogue.kind import confirmation_of, expectation_of
from companion.dialogue.state import Mode
from companion.dialogue.values import is_likely
from companion.facts.meanings import Choice, Command, Number, Yes
from companion.facts.talking import TYPED, Heard, How, Refused

ARM = """
- {step: reading, id: arm_mm, title: Left arm scale, ask: Left arm scale., unit: mm,
   number: {style: whole, whole_digits: 3}, plausible: [650, 900], resolution: 1}
"""
TOE = """
- {step: reading, id: toe_deg, title: Rear left toe, ask: "Rear left toe, in or out.", unit: deg,
   number: {style: decimal, whole_digits: 1, decimals: 2, directions: [in, out]},
   plausible: [-1, 1], resolution: 0.01}
"""
BOTH = (
    ARM
    + """
- {step: reading, id: left_mm, title: The left gap, ask: Left gap., ask_pair: Left and right gap.,
   unit: mm, plausible: [100, 900], resolution: 1, number: {style: whole, whole_digits: 3}}
- {step: reading, id: right_mm, title: The right gap, ask: Right gap.,
   unit: mm, plausible: [100, 900], resolution: 1, number: {style: whole, whole_digits: 3}}
"""
)
TURNS = """
- {step: reading, id: screw_turns, title: Left screw, ask: Turns of the left screw., unit: turns,
   number: {style: quarters, whole_digits: 1, directions: [clockwise, anticlockwise]},
   plausible: [-5, 5], resolution: 0.25}
"""


def test_a_number_may_be_said_in_any_way_until_it_was_not_understood_twice(small):
    talk = small(ARM)
    plan, step = talk.state.plan, talk.state.plan.step("arm_mm")
    assert talk.state.prompt.expectation == expectation_of(plan, step)
    assert talk.can_hear("seven hundred and seventy five")
    assert talk.mishear().can_hear("seven hundred and seventy five")
    talk.mishear()
    assert not talk.can_hear("seven hundred and seventy five")
    talk.hear("seven seven five")
    assert talk.state.prompt.expectation == confirmation_of(plan, step, digits_only=True)
    talk = small(ARM).hear("seven seven five")
    assert talk.state.prompt.expectation == confirmation_of(plan, step)
    assert talk.can_hear("seven hundred and seventy six")


@pytest.mark.parametrize(
    ("step", "asked"),
    [
        (ARM, "Sorry? Digit by digit, such as one, five, two. Left arm scale."),
        (
            TOE,
            "Sorry? Digit by digit, such as one, point, two, seven, in. Rear left toe, in or out.",
        ),
    ],
)
def test_a_number_not_understood_twice_is_asked_for_digit_by_digit(small, step, asked):
    """Once may be a noise: it is only asked again."""
    talk = small(step).mishear("too_loud")
    assert "Digit by digit" not in talk.said[0]
    assert talk.mishear("too_loud").said == [asked]


def test_asked_digit_by_digit_no_word_that_sounds_like_another_is_taken(small):
    talk = small(ARM)
    assert talk.can_hear("seven hundred and fifteen")
    talk.mishear().mishear()
    assert not talk.can_hear("seven hundred and fifteen")
    assert talk.can_hear("seven one five")
    talk.hear("seven one five")
    assert not talk.can_hear("no seven hundred and fifty")
    assert talk.can_hear("correction seven five zero")


def test_after_three_the_keyboard_is_offered_and_digits_still_count(small):
    talk = small(ARM).mishear().mishear().mishear()
    assert talk.said == ["I do not hear you well. Type it, or say it once more. Left arm scale."]
    talk.hear("seven seven five", "yes")
    assert talk.fact("accepted")["attempts"] == 4
    assert talk.state.no_matches == 0


def test_a_denied_number_is_asked_for_digit_by_digit(small):
    talk = small(ARM).hear("seven hundred and fifty", "no")
    assert talk.said == ["Not taken. Digit by digit, such as one, five, two. Left arm scale."]
    assert not talk.can_hear("seven hundred and fifty")
    talk.silence().hear("seven five zero", "yes")
    assert talk.value("arm_mm") == 750


def test_of_a_denied_number_nothing_is_left_at_the_next_reading(small):
    talk = small(BOTH).hear("eight zero six", "no", "eight zero five", "yes").mishear()
    assert "Digit by digit" not in talk.said[-1]
    assert talk.can_hear("four hundred and nineteen")


def test_turns_are_never_asked_digit_by_digit(small):
    talk = small(TURNS).mishear().mishear()
    assert talk.said == ["Sorry? Turns of the left screw."]
    talk.hear("two and a quarter turns anticlockwise", "yes")
    assert talk.value("screw_turns") == Decimal("-2.25")


def test_noise_under_a_read_back_says_it_back_once_more(small):
    talk = small(ARM).hear("seven seven five").mishear()
    assert talk.said == ["Sorry? Seven seven five millimetres. Yes or no?"]
    assert talk.state.mode is Mode.CONFIRMING
    assert talk.fact("said")["purpose"] == "read_back"
    talk.hear("yes")
    assert talk.value("arm_mm") == 775


def test_silence_is_answered_twice_and_then_the_job_pauses(small):
    talk = small(ARM).silence()
    assert talk.said == ["I am waiting. Left arm scale."]
    assert talk.silence().said == ["I am waiting. Left arm scale."]
    assert talk.silence().said == ["I hear nothing. Paused. Say continue."]
    assert talk.state.mode is Mode.PAUSED


def test_a_heard_answer_between_silences_starts_the_count_again(small):
    talk = small(ARM).silence().silence().hear("seven seven five").silence().silence()
    assert talk.state.mode is Mode.CONFIRMING
    assert talk.silence().state.mode is Mode.PAUSED


def test_an_unlikely_number_is_doubted_and_not_said_back(small):
    talk = small(ARM).hear("one seven five")
    assert talk.said == [
        "I heard one seven five. I expect six five zero "
        "to nine zero zero millimetres. Read it again. Left arm scale."
    ]
    assert talk.state.mode is Mode.ASKING
    assert talk.fact("doubted")["spoken"] == "one seven five millimetres"
    assert not talk.can_hear("yes")


def test_who_types_is_never_told_to_say_it_otherwise(small):
    """Wrong lines, a no, wrong lines again, an unlikely number: what he did is never misheard."""
    talk = small(ARM)
    said = []
    for line in ("banana", "", "x", "775", "no", "y", "775", "no", "775", "no", "175", "12 cm"):
        grammar = talk.grammar.for_step(talk.state.prompt.expectation)
        words = talk.grammar.typed(line, lambda said, asks=grammar: asks.parse(said) is not None)
        how, meaning = How(words, ears=TYPED), grammar.parse(words)
        if meaning is None:
            talk.do(Refused(talk.prompt_id, "not_in_grammar", how))
        else:
            talk.do(Heard(talk.prompt_id, meaning, how))
        said += talk.said
    assert not [text for text in said if "hear you" in text or "Digit by digit" in text]
    assert [text for text in said if text.startswith("Not taken. Left arm scale.")]
    assert [text for text in said if text.startswith("I heard one seven five.")]


def test_a_typed_miss_has_nobody_say_digits_also_after_a_break(small):
    """Typed: a miss at a pair, the power goes, a miss at what is asked then; and on."""
    talk = small(BOTH).hear("eight zero five", "yes")

    def miss() -> None:
        typed = How("banana", ears=TYPED)
        talk.do(Refused(talk.prompt_id, "not_in_grammar", typed))

    miss()
    said = list(talk.said)
    assert talk.can_hear("four hundred and nineteen")
    talk.resume()
    miss()
    talk.hear("not touched", "yes")
    said += talk.said
    assert talk.step_id == "left_mm"
    assert talk.can_hear("four hundred and nineteen")
    talk.hear("wait")
    miss()
    talk.hear("continue")
    said += talk.said
    assert talk.can_hear("four hundred and nineteen")
    assert not [text for text in said if "Digit by digit" in text or "hear you" in text]
    # Who says it and is not heard twice is asked for digits, as ever.
    assert not talk.mishear().mishear().can_hear("four hundred and nineteen")


def test_who_types_is_not_told_so_behind_a_note_or_a_break_either(bay):
    bay.go_on_to("spot_left_mm")

    def wrong_lines(times):
        for _ in range(times):
            bay.do(Refused(bay.prompt_id, "not_in_grammar", How("banana", ears=TYPED)))

    wrong_lines(4)
    bay.do(Heard(bay.prompt_id, Command("note"), How("make a note", ears=TYPED)))
    bay.do(Refused(bay.prompt_id, "not_in_grammar", How("Left rear at 0.5 bar", ears=TYPED)))
    assert bay.asked.startswith("Note kept.")
    wrong_lines(2)
    bay.resume()
    wrong_lines(1)
    bay.hear("not touched", "yes")
    assert "Left and right beam" in bay.asked
    assert "hear you" not in bay.asked
    assert "Digit by digit" not in bay.asked
    bay.go_on_to("plate_distance_mm")
    wrong_lines(1)
    assert bay.can_hear("one thousand two hundred")


def test_what_was_misheard_at_the_question_of_a_break_is_over_with_its_answer(bay):
    bay.go_on_to("plate_distance_mm").resume().mishear().mishear()
    bay.hear("not touched", "yes")
    assert bay.asked == "Carrying on. Tape, plate to sensor."
    assert bay.can_hear("one thousand two hundred")


def test_a_doubt_is_told_also_after_many_misses(small):
    talk = small(ARM).mishear().mishear().mishear().hear("one seven five")
    assert "I heard one seven five. I expect six five zero" in talk.said[-1]


def test_only_the_same_unlikely_number_again_and_a_yes_take_it(small):
    talk = small(ARM).hear("one seven five", "one seven five")
    assert talk.said == ["One seven five millimetres. Yes or no?"]
    assert talk.state.readings == {}
    assert talk.hear("yes").value("arm_mm") == 175


def test_what_was_doubted_before_a_break_is_doubted_anew_behind_it(small):
    talk = small(ARM).hear("one seven five").resume().hear("one seven five")
    assert "I heard one seven five. I expect six five zero" in talk.said[-1]
    assert len(talk.every("doubted")) == 2


def test_another_unlikely_number_is_doubted_anew(small):
    talk = small(ARM).hear("one seven five", "one six five")
    assert talk.state.mode is Mode.ASKING
    assert [b["spoken"][:13] for b in talk.every("doubted")] == ["one seven fiv", "one six five "]


def test_the_ears_are_told_which_numbers_are_likely(small):
    """So that "seven", of "seven seven five", is given time to go on."""
    asked = small(ARM).state
    read_back = small(ARM).hear("seven seven five").state
    for state in (asked, read_back):
        assert [is_likely(state, Number(Decimal(mm), unit="mm")) for mm in (7, 77, 775)] == [
            False,
            False,
            True,
        ]
        assert is_likely(state, Yes())
    route = (
        "- {step: question, id: route, title: Route, ask: Degrees or millimetres,"
        " choices: [degrees, millimetres]}"
    )
    assert is_likely(small(route).state, Choice("degrees"))
    turned = small(TURNS).state
    for turns, likely in ((Decimal("0.25"), True), (Decimal(6), False)):
        assert is_likely(turned, Number(turns, "anticlockwise", "turns")) is likely


def test_an_unlikely_correction_under_a_read_back_is_doubted_too(small):
    talk = small(ARM).hear("seven seven five", "one seven five")
    assert talk.state.mode is Mode.ASKING
    assert talk.state.pending is None
    assert not talk.can_hear("yes")


def test_a_likely_number_after_a_doubted_one_needs_no_repeat(small):
    talk = small(ARM).hear("one seven five", "seven seven five", "yes")
    assert talk.value("arm_mm") == 775
    assert talk.state.doubted is None


def test_the_doubt_names_the_way_in_words(small):
    talk = small(TOE).hear("two point five zero out")
    assert talk.said == [
        "I heard two point five zero out. I expect one degree out to one degree in. "
        "Read it again. Rear left toe, in or out."
    ]


def test_a_reading_far_from_its_last_value_is_doubted(small):
    far = ARM.replace("resolution: 1}", "resolution: 1, far_from_last: 20}")
    talk = small(far).hear("seven seven five", "yes", "go back", "seven nine six")
    assert talk.said == [
        "I heard seven nine six. The last one was seven seven five millimetres. "
        "Read it again. Left arm scale."
    ]
    talk.hear("seven nine five")
    assert talk.said == ["Seven nine five millimetres. Yes or no?"]


@pytest.mark.parametrize("rest", ["wait", "stop"])
def test_noise_while_resting_is_not_talked_about_but_typing_is_offered_once(small, rest):
    talk = small(ARM).mishear().hear(rest)
    prompt_id = talk.prompt_id
    for _ in range(2):
        assert talk.mishear().said == []
        assert talk.silence().said == []
        assert talk.prompt_id == prompt_id
    (offer,) = talk.mishear().said
    assert offer.startswith("I do not hear you well. Type it, or say it once more.")
    assert "Say continue" in offer
    for _ in range(5):
        assert talk.mishear().said == []
        assert talk.silence().said == []
    assert isinstance(talk.effects[-1], Listen)
    assert talk.hear("carry on").state.mode is Mode.ASKING
    assert talk.state.no_matches == 0


def test_asked_whether_to_end_typing_is_offered_after_three_failed_hearings(small):
    talk = small(ARM).hear("stop", "end the job")
    assert talk.mishear().said == ["Sorry? End the job, without a result? Yes or no?"]
    assert talk.mishear().mishear().said == [
        "I do not hear you well. Type it, or say it once more. "
        "End the job, without a result? Yes or no?"
    ]
    assert talk.hear("yes").state.mode is Mode.CLOSED
