"""The program ended at a prompt: what led to it is told again, for nobody knows if it was heard."""

from __future__ import annotations

import pytest

from companion.dialogue import prompts
from companion.dialogue.effects import Say
from companion.dialogue.events import is_event
from companion.dialogue.machine import step
from companion.dialogue.state import Mode, State
from companion.facts.kinds import Fact
from companion.facts.meanings import Choice, Meaning, Yes
from companion.facts.message import as_message
from companion.facts.opening import Resumed
from companion.facts.talking import Heard, How
from companion.record.memory import MemoryLog
from companion.runtime.loop import _before
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.speech.silent import SilentVoice


def test_every_caution_is_said_again(bay):
    cautions = [caution.say for caution in bay.state.plan.files.job.cautions]
    assert len(cautions) > 3
    bay.resume()
    assert [text for text in bay.said if text in cautions] == cautions
    # A second time as well: it may be broken off again.
    bay.resume()
    assert [text for text in bay.said if text in cautions] == cautions
    bay.hear("words only", "yes").resume()
    assert not set(bay.said) & set(cautions)


class Watcher:
    def __init__(self) -> None:
        self.facts: list[Fact] = []

    def fact(self, fact: Fact) -> None:
        self.facts.append(fact)


@pytest.mark.parametrize("seed", [3, 8])
def test_wherever_the_power_goes_what_was_just_told_is_told_again(shipped, grammar, seed):
    """After every event of a whole job with corrections."""
    watcher = Watcher()
    rehearsal = make_rehearsal(shipped, seed)
    run_rehearsal(shipped, grammar, rehearsal, SilentVoice(), MemoryLog("s"), watcher=watcher)
    state, looked = _before(shipped, grammar, watcher.facts[0]), 0
    for event in watcher.facts:
        if not is_event(event):
            continue
        state, effects = step(state, event)
        told = [each.text for each in effects if isinstance(each, Say) and each.prompt_id is None]
        if not told or state.mode is Mode.CLOSED:
            continue
        looked += 1
        heard = " ".join(_heard_after_a_break(state))
        assert [text for text in told if text not in heard] == []
    assert looked > 2


def _heard_after_a_break(state: State) -> list[str]:
    after, effects = step(state, Resumed())
    said = [each.text for each in effects if isinstance(each, Say)]
    answers: list[Meaning] = [Choice("not_touched"), Yes()]
    for answer in answers if after.mode is Mode.RESUMING else ():
        assert after.prompt is not None
        after, effects = step(after, Heard(after.prompt.id, answer, How("x")))
        said += [each.text for each in effects if isinstance(each, Say)]
    return said


def test_what_is_told_of_the_talk_alone_is_not_missed():
    assert as_message(prompts.NOTE_NOT_HEARD).id in prompts.OF_THE_TALK
