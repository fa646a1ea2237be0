"""Which prompts may be answered before they end, from which words on, and what "stop" cuts off."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest

from companion.dialogue.effects import Say
from companion.dialogue.machine import begin, replay
from companion.dialogue.state import Mode
from companion.facts.beforehand import EchoHeard, HearingBefore, IntoPrompts
from companion.facts.meanings import Command
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, How, IntoPrompt, Silent
from companion.job.loader import LoadedJob
from tests.dialogue.conftest import Talk

ECHO = EchoHeard(-12.0, -70.0, 0.08)
JOB = """
- {step: reading, id: gap_mm, title: The gap, ask: Gap at the left bracket., reply: Millimetres.,
   ask_short: Gap at the left., unit: mm, number: {style: whole, whole_digits: 3},
   plausible: [100, 900], resolution: 1, EARLY}
- {step: reading, id: other_mm, title: The other gap, ask: Gap at the right bracket.,
   reply: Millimetres., unit: mm, number: {style: whole, whole_digits: 3},
   plausible: [100, 900], resolution: 1, EARLY}
- {step: decision, id: gap_check, title: The gap is right, result: gap_mm, within: 300, rule: plain,
   again: {say: Again., steps: [gap_mm, other_mm], at_most: 9, then_stop: Enough.}}
"""
EARLY = JOB.replace("EARLY", "answer_early: true")
GAP = "Gap at the left bracket. Millimetres."


def opens(talk: Talk) -> list[str]:
    """Of what was said last, after which words it may be answered."""
    return [effect.open_after for effect in talk.effects if isinstance(effect, Say)]


def allowing(*known: str) -> Opened:
    return Opened(hearing=HearingBefore(into_prompts=IntoPrompts(ECHO, known)))


@pytest.fixture
def early(small: Callable[..., Talk]) -> Callable[..., Talk]:
    def make(steps: str = EARLY, *known: str) -> Talk:
        made = small(steps)
        unopened = begin(made.state.plan, made.state.lexicon)
        return Talk(made.grammar, unopened).do(allowing(*known))

    return make


def test_where_it_is_not_allowed_nothing_is_open(small):
    talk = small(EARLY)
    assert opens(talk)[-1] == ""
    talk.hear("four two zero", "yes", "four two one", "yes")
    assert set(opens(talk)) == {""}


def test_a_prompt_is_open_only_to_who_heard_it_in_full_and_from_the_words_on_that_tell(early):
    talk = early()
    assert opens(talk)[-1] == ""
    talk.hear("four two zero", "yes", "four two one", "yes")
    assert talk.spoken[-1] == "Gap at the left."
    assert opens(talk)[-1] == "Gap at the left."
    talk = early(EARLY, GAP)
    assert talk.spoken[-1] == GAP
    assert opens(talk)[-1] == "Gap at the left"


def test_a_step_that_does_not_say_so_is_never_open(early):
    talk = early(JOB.replace(", EARLY", ""), GAP)
    assert talk.spoken[-1] == GAP
    assert opens(talk)[-1] == ""


def test_read_backs_and_whatever_is_asked_once_more_have_to_be_heard_out(early):
    talk = early(EARLY, GAP, "Gap at the right bracket. Millimetres.")
    for words in ("repeat", "where are we", "louder", "wait", "continue"):
        talk.hear(words)
        assert set(opens(talk)) <= {""}, words
    talk.mishear()
    assert set(opens(talk)) == {""}
    talk.hear("four two zero")
    assert talk.state.mode is Mode.CONFIRMING
    assert set(opens(talk)) == {""}
    talk.hear("no")
    assert set(opens(talk)) == {""}
    talk.silence()
    assert set(opens(talk)) == {""}


def test_after_a_doubt_it_has_to_be_heard_out(early):
    talk = early(EARLY, GAP).hear("nine nine nine")
    assert talk.state.doubted is not None
    assert set(opens(talk)) == {""}


def test_in_the_whole_shipped_job_only_readings_and_choices_are_ever_open(
    bay: Talk, shipped: LoadedJob
) -> None:
    """Twice through: in the second round everything was heard in full."""
    texts = {e.text for talk in _every_prompt(bay, allowing()) for e in talk}
    found = {}
    unopened = replace(bay, state=begin(shipped.plan, bay.state.lexicon), events=[], facts=[])
    for says in _every_prompt(unopened, allowing(*texts)):
        found |= {say.text: say for say in says if say.open_after}
    # Most others are asked behind a read-back, with something to be done, or by hand.
    assert len(found) >= 4
    for text, say in found.items():
        assert say.purpose == "ask", text
        assert say.prompt_id is not None, text
        assert text.startswith(say.open_after), text
        assert "clockwise" not in text
        assert "Turn" not in text
        assert "Plate" not in text
        assert "Yes or no" not in text
    after = {text: say.open_after for text, say in found.items()}
    assert after["Ride height, front left and right."] == "Ride height, front left and"
    # As the other arm scale begins as it does, all of that has to be heard.
    assert after["Right arm scale."] == "Right arm scale."


def _every_prompt(bay: Talk, opened: Opened) -> Iterator[list[Say]]:
    talk = Talk(bay.grammar, begin(bay.state.plan, bay.state.lexicon), dict(bay.answers))
    talk.do(opened)
    for _ in range(300):
        yield [effect for effect in talk.effects if isinstance(effect, Say)]
        if talk.state.mode is Mode.CLOSED:
            return
        talk.answer_once()
    raise AssertionError("the job does not end")


def stopped_into(talk: Talk, announced: int | None) -> Talk:
    into = IntoPrompt(0.8, 1.0, 2.0, announced)
    return talk.do(Heard(talk.prompt_id, Command("stop"), How("stop", "own", into=into)))


def test_cautions_that_stop_cut_off_are_told_before_the_work_goes_on(bay: Talk) -> None:
    cautions = [caution.say for caution in bay.state.plan.files.job.cautions]
    assert bay.spoken[: len(cautions)] == cautions
    stopped_into(bay, 2)
    assert bay.state.mode is Mode.STOPPED
    bay.hear("continue")
    assert bay.spoken[: len(cautions) - 2] == cautions[2:]
    assert bay.state.unheard == ()
    # Once told they are not told again.
    bay.hear("stop", "continue")
    assert cautions[-1] not in bay.spoken


def test_they_are_told_after_a_power_cut_too(bay: Talk) -> None:
    last = bay.state.plan.files.job.cautions[-1].say
    stopped_into(bay, 0).do(Resumed())
    assert last in bay.spoken


def test_stop_into_the_prompt_itself_leaves_nothing_out(bay: Talk) -> None:
    stopped_into(bay, None)
    assert bay.state.unheard == ()


TURN = """
- {step: instruction, id: turn, title: The screw, say: Turn the screw half a turn.}
- {step: instruction, id: look, title: The gap, say: Look at the gap.}
"""


def test_what_stands_before_a_prompt_in_the_same_breath_is_told_again_after_stop(small) -> None:
    """Whoever stops into "If it is not done yet: turn ..." must not be told to turn it twice."""
    talk = small(TURN).hear("done", "go back")
    assert talk.spoken == ["If it is not done yet: Turn the screw half a turn."]
    stopped_into(talk, None).hear("continue")
    wanted = "Carrying on. If it is not done yet: Turn the screw half a turn. Say done."
    assert talk.spoken == [wanted]
    # Once more into that, and again: it is not lost, and nothing piles up.
    stopped_into(talk, None).hear("continue")
    assert talk.spoken == [wanted]
    # Heard in full, it is told no more.
    talk.hear("stop", "continue")
    assert talk.spoken == ["Carrying on. Turn the screw half a turn. Say done."]


def test_a_doubt_that_nobody_heard_is_told_again(early) -> None:
    talk = early(EARLY).hear("nine nine nine")
    assert talk.state.doubted is not None
    doubt = talk.spoken[-1].partition(" Gap at")[0]
    stopped_into(talk, None).hear("continue")
    assert talk.spoken[-1].startswith(f"Carrying on. {doubt}")


def test_it_is_told_after_a_power_cut_too(small) -> None:
    talk = small(TURN).hear("done", "go back")
    stopped_into(talk, None).resume()
    assert talk.spoken[-1].endswith("If it is not done yet: Turn the screw half a turn. Say done.")


def test_what_is_told_of_the_talk_itself_is_not_told_again(early) -> None:
    talk = early(EARLY).mishear()
    assert talk.spoken[-1].startswith("Sorry?")
    stopped_into(talk, None).hear("continue")
    assert talk.spoken[-1].startswith("Carrying on. Gap at")


def cut_short(talk: Talk, words: str, *places: int) -> Talk:
    """Answered, after the pedal had cut short what stands at these places before."""
    assert talk.state.prompt is not None
    meaning = talk.grammar.for_step(talk.state.prompt.expectation).parse(words)
    assert meaning is not None
    return talk.do(Heard(talk.prompt_id, meaning, How(words, "own", cut_short=places)))


def test_a_prompt_that_the_pedal_cut_short_is_said_in_full_the_next_time_and_is_not_known(
    early,
) -> None:
    talk = cut_short(early(), "four two zero", 0)
    talk.hear("yes", "four two one", "yes")
    # The gap is wrong, so it is asked once more.
    assert talk.spoken[-1] == GAP
    assert opens(talk)[-1] == ""
    again = early().hear("four two zero", "yes", "four two one", "yes")
    assert again.spoken[-1] == "Gap at the left."


def test_silence_after_a_prompt_that_was_cut_short_does_not_make_it_known(early) -> None:
    talk = early()
    assert GAP in talk.state.in_full_texts
    talk.do(Silent(talk.prompt_id, 30.0, (0,)))
    assert "gap_mm" not in talk.state.told or talk.spoken[-1].endswith(GAP)
    # An answer to another prompt tells nothing of the open one.
    talk = early()
    talk.do(Silent("p0", 30.0, (0,)))
    assert GAP in talk.state.in_full_texts


def test_a_remark_that_was_cut_short_is_made_again_where_it_is_next_needed(small) -> None:
    way = """
- {step: reading, id: ID, title: The spot, ask: The spot ID., unit: mm, resolution: 1,
   number: {style: whole, whole_digits: 3, directions: [left, right]}, plausible: [-900, 900]}
"""
    steps = way.replace("ID", "one") + way.replace("ID", "two")
    remark = "Left and right are the car's."
    talk = small(steps)
    assert remark in talk.spoken
    cut_short(talk, "one two zero left", talk.spoken.index(remark)).hear("yes")
    assert remark in talk.spoken
    assert remark not in small(steps).hear("one two zero left", "yes").spoken


def test_somebody_else_who_goes_on_after_a_break_knows_no_prompt(early) -> None:
    talk = early(EARLY, GAP).do(Resumed(into_prompts=IntoPrompts(ECHO)))
    assert talk.state.into_prompts
    assert set(opens(talk)) == {""}
    talk.do(Resumed())
    assert not talk.state.into_prompts


def test_the_same_comes_out_when_the_events_are_played_again(early) -> None:
    talk = early(EARLY, GAP).hear("four two zero", "yes")
    unopened = begin(talk.state.plan, talk.state.lexicon)
    assert replay(unopened, talk.events) == talk.state
