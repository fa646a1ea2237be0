"""In full the first time, then short; in full again after a miss, a break, and on "repeat"."""

from __future__ import annotations

from companion.dialogue.effects import Record
from companion.facts.beforehand import HearingBefore
from companion.facts.opening import Opened
from companion.facts.talking import Said

ROUND = """
- {step: reading, id: gap_mm, title: The gap, ask: Gap at the bracket., reply: Millimetres.,
   ask_short: Gap., unit: mm, number: {style: whole, whole_digits: 3}, plausible: [100, 900],
   resolution: 1}
- {step: reading, id: other_mm, title: The other gap, ask: Gap at the beam., reply: Millimetres.,
   ask_short: Beam., short_after: gap_mm, unit: mm, number: {style: whole, whole_digits: 3},
   plausible: [100, 900], resolution: 1}
- {step: decision, id: gap_check, title: The gap is right, result: gap_mm, within: 300, rule: plain,
   again: {say: Again., steps: [gap_mm, other_mm], at_most: 9, then_stop: Enough.}}
"""


def test_a_prompt_is_short_where_it_was_said_in_full_before_or_right_behind_its_kind(small):
    talk = small(ROUND)
    assert talk.spoken[-1] == "Gap at the bracket. Millimetres."
    talk.hear("four two zero", "yes")
    assert talk.spoken[-1] == "Beam."
    talk.hear("four two zero", "yes")
    assert talk.spoken[-1] == "Gap."


NEXT = """\
- {step: reading, id: one_db, title: Far, ask: Top towards far notch., ask_short: Top far.,
   unit: db, number: {style: whole, whole_digits: 2}, plausible: [10, 99], resolution: 1}
- {step: reading, id: two_db, title: Near, ask: Top towards near notch., ask_short: Top near.,
   ask_next: Near., short_after: one_db, unit: db, number: {style: whole, whole_digits: 2},
   plausible: [10, 99], resolution: 1}
"""


def test_right_behind_its_kind_the_order_tells_the_rest_and_nowhere_else(small):
    talk = small(NEXT).hear("five one", "yes")
    assert talk.spoken == ["Near."]
    assert talk.asked == "Top towards near notch."
    # Out of its order it says which one it is.
    assert talk.hear("repeat").spoken == ["Top towards near notch."]
    talk.hear("five two", "yes", "go back")
    assert "Top" in talk.spoken[-1]


def test_the_screen_has_the_whole_prompt_also_where_it_is_said_short(small):
    talk = small(ROUND).hear("four two zero", "yes")
    (said,) = (e.fact for e in talk.effects if isinstance(e, Record) and isinstance(e.fact, Said))
    assert said.text == "Beam."
    assert (said.in_writing.ask, said.in_writing.reply) == ("Gap at the beam.", "Millimetres.")


def test_a_miss_hears_the_short_form_of_what_it_heard_in_full_and_all_of_what_it_did_not(small):
    talk = small(ROUND).mishear()
    assert talk.spoken == ["Sorry? Gap."]
    talk.mishear()
    assert talk.spoken[-1].endswith("Gap at the bracket.")
    talk.hear("four two zero", "yes").mishear()
    assert talk.spoken[-1] == "Sorry? Gap at the beam. Millimetres."


def test_a_miss_at_a_read_back_hears_all_of_it(small):
    talk = small(ROUND).hear("four two zero")
    assert talk.mishear().spoken == ["Sorry? Four two zero millimetres. Yes or no?"]
    assert talk.mishear().spoken[-1].endswith("Four two zero millimetres. Yes or no?")


def test_repeat_says_it_in_full_and_so_does_the_first_prompt_after_a_break(small):
    talk = small(ROUND).hear("four two zero", "yes", "four two zero", "yes")
    assert talk.spoken[-1] == "Gap."
    assert talk.hear("say it in full").spoken == ["Gap at the bracket. Millimetres."]
    talk.hear("four two zero", "yes", "wait", "continue")
    assert talk.spoken[-1] == "Carrying on. Gap at the beam. Millimetres."


def test_yes_or_no_is_said_with_the_first_read_back_and_a_unit_the_first_time(small):
    talk = small(ROUND)
    said = []
    for _ in range(5):
        said.append(talk.hear("four two zero").spoken[-1])
        talk.hear("yes")
    assert said == [
        "Four two zero millimetres. Yes or no?",
        "Four two zero?",
        "Four two zero?",
        "Four two zero?",
        "Four two zero?",
    ]
    talk.hear("four two zero").mishear()
    assert talk.spoken == ["Sorry? Four two zero millimetres. Yes or no?"]


def test_who_comes_back_after_a_break_hears_all_in_full(small):
    talk = small(ROUND).hear("four two zero", "yes", "four two zero", "yes", "four two zero", "yes")
    talk.resume().hear("not touched", "yes")
    assert talk.spoken[-1] == "Carrying on. Gap at the beam. Millimetres."
    assert talk.hear("four two zero").spoken[-1] == "Four two zero millimetres. Yes or no?"


def test_where_left_and_right_are_first_needed_it_is_said_whose_they_are(bay):
    told = "Left and right are the car's."
    heard = []
    while bay.step_id != "arm_left_mm":
        bay.answer_once()
        heard += [(bay.step_id, text) for text in bay.said if text == told]
    assert heard == [("rule_rear_left_mm", told)]


def test_cautions_heard_that_day_are_one_sentence(open_bay, shipped, grammar):
    from companion.dialogue.machine import begin, step

    state = begin(shipped.plan, grammar)
    _, effects = step(state, Opened(cautions_known=True, hearing=HearingBefore()))
    said = [e.fact for e in effects if isinstance(e, Record) and isinstance(e.fact, Said)]
    assert [s.text for s in said if s.purpose == "caution"] == [
        "Today's cautions still apply. They are on the screen."
    ]


MOVED = """
- {step: reading, id: gap_mm, title: The gap, ask: Gap., unit: mm, plausible: [100, 900],
   resolution: 1, number: {style: whole, whole_digits: 3}}
- step: decision
  id: check
  title: The gap
  result: gap_mm
  low: 300
  high: 310
  rule: plain
  move: {say: "Move it {amount} {direction}.", amount: mm, resolution: 1,
    direction_when_positive: %s, direction_when_negative: %s}
  again: {say: Again., steps: [gap_mm], at_most: 9, then_stop: Enough.}
"""


def test_a_move_to_a_side_is_the_first_to_need_it_where_nothing_was_read_so(small):
    told = "Left and right are the car's."
    talk = small(MOVED % ("right", "left")).hear("four two zero", "yes")
    assert talk.said[:-1].count(told) == 1
    assert talk.asked.startswith("Move it ")
    talk.hear("done", "four two zero", "yes")
    assert told not in talk.said
    # Up and down need no remark.
    talk = small(MOVED % ("up", "down")).hear("four two zero", "yes")
    assert told not in talk.said


def test_who_says_the_same_once_more_instead_of_yes_is_told_how_a_read_back_is_answered(small):
    talk = small(ROUND).hear("four two zero", "yes", "four two zero", "yes", "four two zero")
    assert talk.spoken == ["Four two zero?"]
    assert talk.hear("four two zero").spoken == ["Four two zero millimetres. Yes or no?"]
    # Another number is a correction, by somebody who knows.
    assert talk.hear("four two one").spoken == ["Four two one?"]
    # And it is still yes alone that makes it count.
    assert talk.now("accepted") == []


CONSENT = """
- {step: question, id: consent, title: Sound, ask: Your voice is personal data.,
   reply: "Keep it, or not?", ask_short: "Keep it, or not?", choices: [keep_sound, words_only]}
- {step: question, id: route, title: Toe, ask: Toe on the sheet.,
   reply: "Degrees, or millimetres?", choices: [degrees, millimetres]}
"""


def test_a_first_miss_of_a_question_hears_its_choices_and_who_goes_back_the_question(small):
    talk = small(CONSENT).mishear()
    assert talk.spoken == ["Sorry? Keep it, or not?"]
    assert talk.mishear().spoken[-1].endswith("Your voice is personal data. Keep it, or not?")
    talk.hear("words only", "yes").mishear()
    assert talk.spoken == ["Sorry? Degrees, or millimetres?"]
    assert talk.hear("go back").spoken[-1].endswith("Keep it, or not?")
