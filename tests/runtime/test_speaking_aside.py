"""Speaking in a thread of its own: what is heard along is that prompt's sound and no other's."""

from __future__ import annotations

import threading
from collections.abc import Iterable

import numpy as np
import pytest

from companion.dialogue.effects import Say
from companion.errors import VoiceError
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.runtime.into_prompts import SpeaksInThread, speaking
from companion.speech.player import Samples, SilentSink
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.tapped import TappedSink

LONGEST_S = 5.0


class SlowSink(SilentSink):
    """Plays each sound until it is let go or hushed."""

    def __init__(self) -> None:
        self.began = threading.Semaphore(0)
        self.goes_on = threading.Event()
        self.hushed = False

    def play(self, samples: Samples, rate_hz: int) -> bool:
        self.began.release()
        return self.goes_on.wait(LONGEST_S) and not self.hushed

    def hush(self) -> None:
        self.hushed = True
        self.goes_on.set()


class Level:
    """A voice whose texts are levels: each is said as a tenth of a second of that value."""

    def __init__(self, sink: TappedSink) -> None:
        self._sink = sink

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        pass

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        if text == "fails":
            raise VoiceError("no voice")
        samples = np.full(SAMPLE_RATE_HZ // 10, float(text), np.float32)
        return Spoken(0.1, None, "", finished=self._sink.play(samples, SAMPLE_RATE_HZ))

    def hush(self) -> None:
        self._sink.hush()

    def close(self) -> None:
        pass


def test_what_another_thread_says_is_not_taken_for_the_prompt() -> None:
    """The microphone's thread tells that it is gone, while a prompt is about to be said."""
    sink = SlowSink()
    tap = TappedSink(sink)
    voice, waits = Level(tap), threading.Event()

    class Later(Level):
        def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
            waits.wait(LONGEST_S)
            return super().say(text, speed, volume)

    other = threading.Thread(target=voice.say, args=("0.25",))
    other.start()
    assert sink.began.acquire(timeout=LONGEST_S)
    prompt = SpeaksInThread(Later(tap), tap, lambda text, speed: 0.1)
    with prompt.saying(Say("0.5", "ask", 100, 0.8, "p1", "0.5")) as said:
        assert said.sound() is None
        assert said.open_after_s() is None
        waits.set()
        assert sink.began.acquire(timeout=LONGEST_S)
        sound = said.sound()
        assert sound is not None
        assert sound[0] == 0.5
        assert said.open_after_s() == pytest.approx(0.6)
        said.hush()
    other.join()
    assert tap.playing(other.ident) is None


@pytest.mark.parametrize("by_pedal", [True, False])
def test_whether_it_was_said_to_its_end_is_known_when_it_is_over(by_pedal: bool) -> None:
    sink = SlowSink()
    tap = TappedSink(sink)
    voice = Level(tap)
    with SpeaksInThread(voice, tap, lambda text, speed: 0.1).saying(
        Say("0.5", "caution", 100, 0.8)
    ) as said:
        assert sink.began.acquire(timeout=LONGEST_S)
        if by_pedal:
            voice.hush()
        sink.goes_on.set()
    assert said.is_over()
    assert said.is_said_out() is not by_pedal


def test_what_the_voice_raises_is_raised_at_the_end_of_the_block() -> None:
    tap = TappedSink(SilentSink())
    with (
        pytest.raises(VoiceError, match="no voice"),
        speaking(Level(tap), tap, "fails", DEFAULT_SPEED_WPM, 1.0),
    ):
        pass


def test_who_leaves_the_block_by_an_error_leaves_silence() -> None:
    sink = SlowSink()
    tap = TappedSink(sink)
    aside = None

    def leave() -> None:
        nonlocal aside
        with speaking(Level(tap), tap, "0.5", DEFAULT_SPEED_WPM, 1.0) as aside:
            assert sink.began.acquire(timeout=LONGEST_S)
            raise KeyError

    with pytest.raises(KeyError):
        leave()
    assert sink.goes_on.is_set()
    assert aside is not None
    assert aside.is_over()
