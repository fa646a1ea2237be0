"""Ears of a live job: voice, keyboard and pedal side by side, and a watch on the recogniser."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterable, Iterator

import pytest

from companion.errors import VoiceError
from companion.facts.message import Message, Tell
from companion.facts.talking import How
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation
from companion.language.loader import load_language
from companion.recognition.pedal import Press
from companion.recognition.port import (
    FRAME_BYTES,
    Heard,
    Listening,
    Recognition,
    Refusal,
    Utterance,
)
from companion.runtime import assembly
from companion.runtime.hearing_watch import HearingWatch
from companion.runtime.lasting_voice import LastingVoice
from companion.runtime.live_ears import Hands, LiveEars
from companion.speech.player import LoudspeakerError
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.silent import SilentVoice
from companion.steps.reading.model import Reading
from tests.expecting import confirmation_of, expectation_of
from tests.spoken import as_typed


def in_english(told: list[str]) -> Tell:
    """Keeps what is told as it is written."""

    def tell(message: Message) -> None:
        told.append(load_language().show(message))

    return tell


class QuietMicrophone:
    """A microphone in a silent bay; its sound comes as fast as it is taken."""

    gone = False

    def __init__(self, *more: bytes) -> None:
        self._more = more

    def frames(self) -> Iterator[bytes]:
        yield from self._more
        while True:
            yield bytes(FRAME_BYTES)

    def flush(self, *, deaf: bool = True) -> None:
        pass

    def close(self) -> None:
        pass


class NoWords:
    """A recogniser that is never asked: nobody speaks."""

    name = "no words"
    least_confidence = least_resemblance = 0.5

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        return frozenset()

    def load(self, grammar: object) -> None:
        pass

    def recognise(self, sound: bytes) -> Recognition:
        raise AssertionError("nobody spoke")


class Presses:
    """A pedal that was pressed so, after the prompt was opened."""

    def __init__(self, *presses: Press) -> None:
        self._left = list(presses)
        self._forgotten = False

    def waiting(self) -> bool:
        return self._forgotten and bool(self._left)

    def take(self) -> Press:
        return self._left.pop(0)

    def forget(self) -> None:
        self._forgotten = True

    def close(self) -> None:
        pass


def hear(
    expectation: Expectation, *presses: Press, typed: Iterable[str] = (), timeout_s: float = 3.0
) -> Heard:
    hands = Hands(typed, Presses(*presses))  # type: ignore[arg-type]
    watch = HearingWatch(60.0, lambda: None)
    ears = LiveEars(QuietMicrophone(), NoWords(), hands, as_typed, watch)
    try:
        return ears.hear(Listening("p1", assembly.language().for_step(expectation), timeout_s))
    finally:
        ears.close()


def a_reading() -> Reading:
    return next(s for s in assembly.load(JobPaths()).plan.steps if isinstance(s, Reading))


def test_one_press_is_the_yes_of_a_read_back() -> None:
    heard = hear(confirmation_of(a_reading()), "once")
    assert isinstance(heard, Utterance)
    assert (heard.words, heard.how.ears) == ("yes", "pedal")


def test_two_presses_are_its_no_and_a_long_one_stops() -> None:
    heard = [
        hear(confirmation_of(a_reading()), "twice"),
        hear(confirmation_of(a_reading()), "held"),
    ]
    assert [answer.words for answer in heard] == ["no", "stop"]


def test_where_a_number_is_asked_for_two_presses_repeat_and_one_is_no_answer() -> None:
    expectation = expectation_of(a_reading())
    assert hear(expectation, "twice").words == "repeat"
    unanswered = hear(expectation, "once")
    assert isinstance(unanswered, Refusal)
    assert unanswered.reason == "silence"


@pytest.mark.parametrize(("said", "taken"), [("stop", "stop"), ("no", "yes")])
def test_a_spoken_stop_outranks_a_line_that_comes_with_it(said: str, taken: str) -> None:
    typed = threading.Event()
    hands = Hands(line for line in ["yes"] if typed.wait(20))
    ears = LiveEars(QuietMicrophone(), NoWords(), hands, as_typed, HearingWatch(60.0, lambda: None))
    grammar = assembly.language().for_step(confirmation_of(a_reading()))

    class Heard:
        def hear(self, listening: Listening) -> Utterance:
            typed.set()
            while not hands.waiting():
                time.sleep(0.001)
            return Utterance(grammar.parse(said), How(words=said, ears="own"))

    ears._ears = Heard()  # type: ignore[assignment]
    heard = ears.hear(Listening("p1", grammar, 3.0))
    assert isinstance(heard, Utterance)
    assert heard.words == taken


def test_a_typed_line_answers_beside_the_pedal() -> None:
    heard = hear(confirmation_of(a_reading()), typed=["no"], timeout_s=600.0)
    assert isinstance(heard, Utterance)
    assert (heard.words, heard.how.ears) == ("no", "typed")


def test_a_microphone_that_goes_while_it_listens_is_the_reason_given() -> None:
    microphone = QuietMicrophone(b"")
    microphone.gone = True
    hands, watch = Hands([]), HearingWatch(60.0, lambda: None)
    ears = LiveEars(microphone, NoWords(), hands, as_typed, watch)
    grammar = assembly.language().for_step(expectation_of(a_reading()))
    gone = ears.hear(Listening("p1", grammar, 3.0))
    after = ears.hear(Listening("p2", grammar, 0.3))
    ears.close()
    assert isinstance(gone, Refusal)
    assert isinstance(after, Refusal)
    assert (gone.reason, after.reason) == ("no_microphone", "silence")


def test_ears_that_think_too_long_are_noticed_and_those_that_wait_are_not() -> None:
    hung = threading.Event()
    watch = HearingWatch(0.1, hung.set)
    watch.thinking()
    watch.waiting()
    assert not hung.wait(0.4)
    watch.thinking()
    assert hung.wait(5.0)
    watch.close()


class Failing(SilentVoice):
    """A voice whose loudspeaker fails until it has been looked for so often."""

    def __init__(self, error: VoiceError, looks: int) -> None:
        super().__init__()
        self._error, self._looks = error, looks
        self.looked = 0

    def look(self) -> None:
        self.looked += 1

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        if self.looked < self._looks:
            raise self._error
        return super().say(text, speed, volume)


def test_a_loudspeaker_that_comes_back_at_once_is_not_worth_a_word() -> None:
    told: list[str] = []
    voice = Failing(LoudspeakerError("gone"), looks=1)
    assert LastingVoice(voice, voice.look, in_english(told)).say("Sorry?").finished
    assert (voice.texts, told) == (["Sorry?"], [])


def test_a_voice_that_fails_complains_once_and_never_ends_the_job() -> None:
    told: list[str] = []
    voice = Failing(VoiceError("no maker"), looks=1)
    lasting = LastingVoice(voice, voice.look, in_english(told))
    said = [lasting.say("One."), lasting.say("Two.")]
    assert [spoken.finished for spoken in said] == [False, False]
    assert voice.looked == 0, "the devices are at no fault"
    voice.look()
    assert lasting.say("Three.").finished
    assert told == [
        "The voice is gone; read the prompts on the screen. (no maker)",
        "The voice is back.",
    ]


def test_only_while_it_speaks_can_it_be_interrupted() -> None:
    class Hushed(SilentVoice):
        hushed = 0

        def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
            assert lasting.interrupt()
            return super().say(text, speed, volume)

        def hush(self) -> None:
            self.hushed += 1

    voice = Hushed()
    lasting = LastingVoice(voice, lambda: None, print)
    assert not lasting.interrupt()
    lasting.say("Stand to the left.")
    assert voice.hushed == 1
