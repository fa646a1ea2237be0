"""How fast a thing is said: briskly where all goes well and nothing moves, else unhurried."""

from __future__ import annotations

import pytest

from companion.dialogue.effects import Say
from companion.dialogue.machine import begin, step
from companion.dialogue.prefetch import said_ahead
from companion.facts.beforehand import HearingBefore, RoomNoise
from companion.facts.kinds import Fact
from companion.facts.opening import Opened
from companion.facts.talking import Said
from companion.job.loader import EXAMPLES, JobPaths
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.into_prompts import speed_at, speed_of
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal, run_rehearsal
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.silent import SilentVoice

GAP = """
- {step: reading, id: gap_mm, title: The gap, ask: Gap., reply: Millimetres., unit: mm,
   number: {style: whole, whole_digits: 3}, plausible: [100, 900], resolution: 1}
- {step: instruction, id: lift, say: Lift the left wheel.}
- {step: question, id: tank, title: The tank, ask: 'Tank full?', choices: [full, not_full]}
"""


def paces(talk) -> list[tuple[str, str]]:
    return [(e.text, e.pace) for e in talk.effects if isinstance(e, Say)]


def pace(talk) -> str:
    """Of what was said last."""
    return paces(talk)[-1][1]


def test_questions_choices_and_plain_instructions_are_brisk_and_a_number_said_back_is_not(small):
    talk = small(GAP)
    assert pace(talk) == "brisk"
    assert pace(talk.hear("four two zero")) == "unhurried"
    assert paces(talk.hear("yes")) == [("Lift the left wheel. Say done.", "brisk")]
    assert pace(talk.hear("done")) == "brisk"
    assert pace(talk.hear("full tank")) == "brisk"


@pytest.mark.parametrize("words", ["repeat", "say it in full", "louder", "where are we"])
def test_what_is_said_once_more_takes_its_time(small, words):
    talk = small(GAP)
    assert pace(talk.hear(words)) == "unhurried"
    talk.hear("four two zero")
    assert pace(talk.hear("repeat")) == "unhurried"
    assert pace(talk.hear("yes")) == "brisk"


def test_after_a_miss_or_silence_nothing_is_brisk_until_the_answer_counts(small):
    talk = small(GAP)
    assert pace(talk.mishear()) == "unhurried"
    assert pace(talk.hear("four two zero")) == "unhurried"
    assert pace(talk.hear("yes")) == "brisk"
    assert pace(talk.silence()) == "unhurried"


def test_an_unlikely_answer_that_is_asked_for_again_takes_its_time(small):
    talk = small(GAP).hear("nine nine nine")
    assert pace(talk) == "unhurried", paces(talk)


@pytest.mark.parametrize(("voice", "wanted"), [("reliable", "brisk"), ("uncertain", "unhurried")])
def test_in_a_room_that_was_found_loud_all_is_unhurried(small, grammar, voice, wanted):
    noise = RoomNoise(-40.0, -34.0, voice, "", "quiet" if voice == "reliable" else "loud")
    talk = small(GAP)
    talk.state, talk.effects = step(
        begin(talk.state.plan, grammar), Opened(hearing=HearingBefore(noise))
    )
    assert {each for _, each in paces(talk)[:-1]} == {"unhurried"}
    assert pace(talk) == wanted


class Timed(SilentVoice):
    """Keeps how fast each thing was said."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[tuple[str, int]] = []

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        self.said.append((text, speed))
        return super().say(text, speed, volume)


class Facts:
    def __init__(self) -> None:
        self.said: list[Said] = []

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Said) and fact.text:
            self.said.append(fact)


@pytest.mark.parametrize("job", ["front_radar", "surround_mats"])
def test_in_whole_jobs_what_warns_moves_or_tells_is_never_brisk(job: str) -> None:
    loaded, language = assembly.load(JobPaths(job=EXAMPLES / f"{job}.yaml")), assembly.language()
    voice, facts = Timed(), Facts()
    for seed in (1, 2):
        rehearsal = make_rehearsal(loaded, seed, slips=choose_slips(seed, 4), spread=HARDER)
        run_rehearsal(loaded, language, rehearsal, voice, MemoryLog(), watcher=facts)
    assert len(voice.said) == len(facts.said)
    brisk = speed_at("brisk")
    counts = {"brisk": 0, "unhurried": 0}
    for (text, speed), fact in zip(voice.said, facts.said, strict=True):
        assert text == fact.text
        counts["brisk" if speed == brisk else "unhurried"] += 1
        tells = fact.purpose in ("caution", "announce", "explain")
        asked = fact.prompt
        moves = asked is not None and (asked.instruction is not None or asked.again)
        figures = asked is not None and any(back.value for back in asked.to_confirm)
        if tells or asked is None or moves or figures or fact.before:
            assert speed == DEFAULT_SPEED_WPM, text
    assert min(counts.values()) > 10
    ahead = dict(said_ahead(begin(loaded.plan, language)))
    made = [speed == speed_at(ahead[text]) for text, speed in voice.said if text in ahead]
    assert sum(made) / len(made) > 0.8


def test_slower_and_faster_move_both_paces_and_the_setting_says_how_far_they_are_apart() -> None:
    unhurried, brisk = (Say("A.", "ask", 100, 0.8, pace=p) for p in ("unhurried", "brisk"))
    assert (speed_of(unhurried), speed_of(brisk, 110)) == (160, 176)
    assert (speed_of(unhurried, 130), speed_of(brisk, 100)) == (160, 160)
    slower = Say("A.", "ask", 75, 0.8, pace="brisk")
    assert speed_of(slower, 110) == 132
