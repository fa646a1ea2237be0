"""The voice check before a job: ten words, which may make the companion only more careful."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise
from typing import Any

import pytest

from companion.dialogue.machine import begin, step
from companion.dialogue.state import Mode, State, WordHeard
from companion.dialogue.voice_check import MOST_STRICT, expectation_in
from companion.dialogue.voice_check import judge as judge_by
from companion.facts.beforehand import HearingBefore, RoomNoise
from companion.facts.kinds import body_of, fact_of
from companion.facts.meanings import Word
from companion.facts.opening import Opened
from companion.facts.talking import Heard, How, Refused, Silent
from companion.language.loader import load_language
from tests.recorded import recorded

QUIET = RoomNoise(-60.0, -55.0, "reliable", "It is quiet enough to work by voice.")
TOO_LOUD = RoomNoise(-25.0, -18.0, "unreliable", "It is too loud here. Use the keyboard.")

CHECK = load_language().voice_check
WORDS, EXPECTED = CHECK.words, expectation_in(load_language())


def judge(heard):
    return judge_by(heard, CHECK.alike)


class Checked:
    """A job that was just opened, with a voice that says what it is asked for."""

    def __init__(self, unopened: State, before: HearingBefore) -> None:
        self.state = unopened
        self.facts: list[tuple[str, Mapping[str, Any]]] = []
        self.said: list[str] = []
        self.do(Opened(hearing=before))

    def do(self, event: Any) -> Checked:
        self.state, effects = step(self.state, event)
        told = [(entry.kind, entry.body) for entry in recorded(effects)]
        self.facts = [*self.facts, *told]
        self.said = [body["text"] for kind, body in told if kind == "said"]
        return self

    def hear(self, words: str, grammar: Any, **how: Any) -> Checked:
        assert self.state.prompt is not None
        meaning = grammar.for_step(self.state.prompt.expectation).parse(words)
        assert meaning is not None, words
        return self.do(Heard(self.state.prompt.id, meaning, How(words, **how)))

    def mishear(self, **how: Any) -> Checked:
        assert self.state.prompt is not None
        return self.do(Refused(self.state.prompt.id, "unsure", How(**how)))

    def silence(self) -> Checked:
        assert self.state.prompt is not None
        return self.do(Silent(self.state.prompt.id, 6.0))

    @property
    def outcome(self) -> Mapping[str, Any]:
        return [body for kind, body in self.facts if kind == "voice_checked"][-1]


Open = Callable[..., Checked]


@pytest.fixture
def opened(bay: Any) -> Open:
    def make(noise: RoomNoise | None = QUIET, **before: Any) -> Checked:
        unopened = begin(bay.state.plan, bay.state.lexicon)
        return Checked(unopened, HearingBefore(noise, **{"offer_check": True, **before}))

    return make


def test_the_noise_is_told_and_kept_before_anything_is_asked(opened: Open) -> None:
    checked = opened()
    assert QUIET.advice in checked.said
    noise = dict(checked.facts)["noise_checked"]
    assert (noise["voice"], noise["floor_dbfs"]) == ("reliable", -60.0)


def test_where_it_is_too_loud_it_says_so_and_offers_no_check(opened: Open) -> None:
    checked = opened(TOO_LOUD)
    assert TOO_LOUD.advice in checked.said
    assert checked.state.mode is Mode.ASKING
    assert checked.state.voice_check is None


def test_typed_answers_begin_with_the_job_itself(bay: Any, opened: Open) -> None:
    checked = opened(None, offer_check=False)
    assert checked.said == bay.said
    assert "noise_checked" not in dict(checked.facts)


def test_ten_words_heard_well_change_nothing(opened: Open, grammar: Any) -> None:
    checked = opened().hear("yes", grammar)
    assert checked.said == ["Say each word after me. Say yes."]
    for word, following in zip(WORDS, (*WORDS[1:], None), strict=True):
        checked.hear(word, grammar, confidence=0.95, speech_dbfs=-24.0, snr_db=21.0)
        assert following is None or checked.said == [f"Say {following}."]
    assert checked.said[0] == "I heard ten of ten. I hear you well."
    assert checked.said[-1].startswith("Your voice is personal data.")
    assert checked.state.mode is Mode.ASKING
    assert checked.outcome == {
        "outcome": "well",
        "asked": 10,
        "right": 10,
        "confused": [],
        "speech_dbfs": -24.0,
        "snr_db": 21.0,
        "digit_by_digit": False,
        "least_confidence": 0.0,
    }


def test_fifteen_taken_for_fifty_asks_for_digits_and_for_surer_answers(
    opened: Open, grammar: Any
) -> None:
    checked = opened().hear("yes", grammar)
    for word in WORDS:
        heard = "fifty" if word == "fifteen" else word
        checked.hear(heard, grammar, confidence=0.87)
    assert checked.said[0].startswith("I heard nine of ten and took one for another word.")
    assert checked.said[-1].startswith("Say every number digit by digit. Your voice")
    assert checked.outcome["confused"] == ["fifteen -> fifty"]
    assert (checked.state.digit_by_digit, checked.state.least_confidence) == (True, 0.87)


def test_who_is_not_heard_is_sent_to_the_screen(opened: Open, grammar: Any) -> None:
    checked = opened().hear("yes", grammar)
    for number, word in enumerate(WORDS):
        _ = checked.mishear() if number % 2 else checked.hear(word, grammar, confidence=0.9)
    assert checked.outcome["outcome"] == "poor"
    assert "Answer at the screen, or by the pedal." in checked.said[0]


@pytest.mark.parametrize(
    ("answer", "outcome"), [("no", "declined"), (None, "unanswered"), ("stop", "left")]
)
def test_without_a_yes_there_is_no_check(
    opened: Open, grammar: Any, answer: str | None, outcome: str
) -> None:
    checked = opened()
    _ = checked.silence() if answer is None else checked.hear(answer, grammar)
    assert checked.outcome == {"outcome": outcome}
    assert checked.state.mode is (Mode.STOPPED if answer == "stop" else Mode.ASKING)
    assert not checked.state.digit_by_digit


def test_an_offer_that_was_not_understood_is_made_once_more_only(opened: Open) -> None:
    checked = opened().mishear()
    assert checked.said[0].startswith("Sorry? Check how well I hear you?")
    assert checked.mishear().outcome == {"outcome": "unanswered"}


def test_stop_in_the_check_stops_and_ends_it(opened: Open, grammar: Any) -> None:
    checked = opened().hear("yes", grammar).hear("yes", grammar).hear("stop", grammar)
    assert checked.state.mode is Mode.STOPPED
    assert checked.outcome == {"outcome": "left"}
    checked.hear("continue", grammar)
    assert checked.said[-1].startswith("Carrying on. Your voice is personal data.")


def test_continue_leaves_it_and_so_does_anything_typed(opened: Open, grammar: Any) -> None:
    begun = opened().hear("yes", grammar)
    assert begun.hear("continue", grammar).outcome == {"outcome": "left"}
    typed = opened().hear("yes", grammar).mishear(ears="typed", words="skip")
    assert typed.outcome == {"outcome": "left"}
    pressed = opened().hear("yes", grammar).hear("yes", grammar, ears="pedal")
    assert pressed.outcome == {"outcome": "left"}
    assert pressed.state.mode is Mode.ASKING


def test_two_silences_in_a_row_leave_it(opened: Open, grammar: Any) -> None:
    checked = opened().hear("yes", grammar).silence().hear("nine", grammar).silence()
    assert checked.state.mode is Mode.CHECKING_VOICE
    assert checked.silence().outcome == {"outcome": "unanswered"}


def test_wait_and_continue_go_on_with_the_same_word(opened: Open, grammar: Any) -> None:
    checked = opened().hear("yes", grammar).hear("yes", grammar).hear("wait", grammar)
    assert checked.state.mode is Mode.PAUSED
    assert checked.hear("continue", grammar).said == ["Carrying on. Say nine."]


def test_what_was_found_earlier_in_the_day_holds_and_is_not_asked_again(opened: Open) -> None:
    checked = opened(offer_check=False, digit_by_digit=True, least_confidence=0.9)
    assert any("Say every number digit by digit" in text for text in checked.said)
    assert (checked.state.digit_by_digit, checked.state.least_confidence) == (True, 0.9)
    assert checked.state.mode is Mode.ASKING


def test_stop_is_no_word_of_the_check_and_every_word_is_one_that_may_be_said() -> None:
    assert "stop" not in EXPECTED.words
    assert "stop" in EXPECTED.commands
    assert set(WORDS) <= set(EXPECTED.words)
    assert len(WORDS) == 10


def test_a_check_never_asks_for_more_than_the_surest_mistake_or_the_bound() -> None:
    """It has no way to make anything looser: the limit on top of the ears' own is never below 0."""
    surely_wrong = tuple(WordHeard(word, "two", 0.99) for word in WORDS)
    assert judge(surely_wrong)[1].least_confidence == MOST_STRICT
    assert judge(())[1].least_confidence == 0.0
    one = (WordHeard("five", "nine", 0.85), *(WordHeard(word, word, 0.99) for word in WORDS[:8]))
    outcome, found = judge(one)
    assert (outcome, found.least_confidence) == ("fair", 0.85)


def test_the_opening_comes_back_from_the_record_as_it_was(grammar: Any) -> None:
    for hearing in (
        HearingBefore(),
        HearingBefore(QUIET, True),
        HearingBefore(None, False, True, 0.9),
    ):
        opened = Opened(technician="A. Example", hearing=hearing)
        assert fact_of("opened", body_of(opened)) == opened
    assert grammar.for_step(EXPECTED).parse("fifteen") == Word("fifteen")


def test_where_nothing_was_known_before_the_opening_is_written_as_ever() -> None:
    assert {"hearing", "microphone"}.isdisjoint(body_of(Opened(technician="A. Example")))


def test_each_word_is_asked_for_aloud_whatever_came_of_the_one_before(
    opened: Open, grammar: Any
) -> None:
    checked = opened().hear("yes", grammar)
    for word, following in pairwise(WORDS):
        match WORDS.index(word) % 3:
            case 0:
                checked.hear(word, grammar)
            case 1:
                checked.mishear()
            case _:
                checked.silence()
        assert checked.said == [f"Say {following}."]
        assert checked.state.mode is Mode.CHECKING_VOICE


@pytest.mark.parametrize(("found", "kept"), [(0.0, 0.0), (0.87, 0.87), (1.0, 1.0), (3.0, 1.0)])
def test_what_was_found_earlier_never_asks_for_more_than_certainty(
    opened: Open, found: float, kept: float
) -> None:
    assert opened(offer_check=False, least_confidence=found).state.least_confidence == kept
