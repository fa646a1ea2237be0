"""The companion's own voice comes back into the microphone: it never answers itself.

The room is made of samples: whatever is played arrives at the microphone 10 dB lower, later, and
with a ring that dies away. Everything behind the sound card is the real thing.
"""

from __future__ import annotations

import shutil
from collections import deque
from pathlib import Path

import numpy as np
import pytest
import soxr

from companion.base import sound_cards
from companion.dialogue import prompts
from companion.job.loader import JobPaths
from companion.language.expectation import Expectation
from companion.recognition.listening import StreamEars
from companion.recognition.microphone import FrameQueue, MicrophoneSource
from companion.recognition.port import (
    FRAME_BYTES,
    FRAME_S,
    SAMPLE_RATE_HZ,
    Heard,
    Listening,
    Refusal,
)
from companion.runtime import assembly
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import Samples
from companion.speech.speech import SpeechVoice
from companion.steps.instruction.model import Instruction
from companion.steps.question.model import Question
from companion.steps.reading.model import Reading
from tests.expecting import confirmation_of, expectation_of
from tests.spoken import said

FEEDBACK_DB = -10.0
LATER_S = 0.15
RING_S = 0.3
"""Within this the ring falls by 60 dB: a bay with hard walls and open doors."""
LISTENS_S = 1.5
PROMPTS = 100


class Room:
    """A loudspeaker (`SoundSink`) whose sound reaches `at_microphone`, frame by frame."""

    def __init__(self) -> None:
        self.at_microphone: deque[bytes] = deque()
        random = np.random.default_rng(1)
        times_s = np.arange(round(RING_S * SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ
        ring = random.normal(size=len(times_s)) * 10 ** (-3.0 * times_s / RING_S)
        self._path = np.concatenate([[1.0], 0.1 * ring / np.sqrt(np.sum(ring**2)) * 3.0])
        self.still_to_come = 0

    def play(self, samples: Samples, rate_hz: int) -> bool:
        at_rate = soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ).astype(np.float64)
        wet = np.convolve(at_rate, self._path) * 10 ** (FEEDBACK_DB / 20.0)
        late = np.concatenate([np.zeros(round(LATER_S * SAMPLE_RATE_HZ)), wet])
        sound = np.clip(np.rint(32768.0 * late), -32768, 32767).astype("<i2").tobytes()
        frames = [sound[i : i + FRAME_BYTES] for i in range(0, len(sound), FRAME_BYTES)]
        self.at_microphone.extend(frame.ljust(FRAME_BYTES, b"\0") for frame in frames)
        # What the card has taken in when `play` comes back; the rest is still in the air.
        played = round(len(at_rate) / SAMPLE_RATE_HZ / FRAME_S)
        self.still_to_come = len(frames) - played
        return True

    def hush(self) -> None:
        pass

    def close(self) -> None:
        pass


class SoundOfRoom(FrameQueue):
    """The sound card's queue: empty, it waits for the next 30 ms of the room, here without time."""

    def __init__(self, room: Room) -> None:
        super().__init__()
        self._room = room

    def get(self, timeout_s: float) -> bytes | None:
        waiting = self._room.at_microphone
        return super().get(0.0) or (waiting.popleft() if waiting else bytes(FRAME_BYTES))


class MicrophoneInRoom(MicrophoneSource):
    """The microphone behind a sound card that delivers the room's sound."""

    def __init__(self, room: Room, deaf_s: float) -> None:
        super().__init__(deaf_s=deaf_s)
        self._room = room
        self._queue = SoundOfRoom(room)

    def _open(self) -> object:
        self._generation = sound_cards.generation()
        return None

    def recorded_until_now(self) -> None:
        """The card delivers what was recorded while the companion spoke."""
        while len(self._room.at_microphone) > self._room.still_to_come:
            self._copy(self._room.at_microphone.popleft(), 480, None, None)


def read_back(spoken: str) -> str:
    return f"{said(prompts.sentence(spoken))} {said(prompts.YES_OR_NO)}"


def prompts_of_a_job(count: int) -> list[tuple[str, Expectation]]:
    """Prompts with what is listened for after them: questions, readings, and read-backs."""
    asked: list[tuple[str, Expectation]] = []
    for step in assembly.load(JobPaths()).plan.steps:
        match step:
            case Question():
                asked.append((step.ask, expectation_of(step)))
                name = assembly.language().choice_name(step.choices[0])
                asked.append((read_back(name), confirmation_of(step)))
            case Reading():
                asked.append((step.ask, expectation_of(step)))
                asked.append((read_back("one two zero three"), confirmation_of(step)))
            case Instruction():
                asked.append((step.say, expectation_of(step)))
            case _:
                pass
    plain = [prompt for prompt in asked if "{" not in prompt[0]]
    return [plain[number % len(plain)] for number in range(count)]


def hear_after(
    prompts: list[tuple[str, Expectation]], folder: Path, *, half_duplex: bool = True
) -> list[Heard]:
    """What is heard after each prompt, or all along with it, with nobody in the room."""
    room = Room()
    voice = SpeechVoice(folder, room, MakerChain([EspeakMaker()]))
    microphone = MicrophoneInRoom(room, assembly.DEAF_S if half_duplex else 0.0)
    kind = assembly.DEFAULT_RECOGNISER
    recogniser = assembly.make_recogniser(assembly.EarsChoice(kind), assembly.language())
    ears = StreamEars(microphone, recogniser, assembly.endpoint_settings(kind))
    # What these ears do not know is left out, as in a job.
    known = assembly.check_words(
        recogniser, assembly.load(JobPaths()), assembly.language()
    ).language
    heard = []
    for number, (text, expectation) in enumerate(prompts):
        voice.say(text)
        if half_duplex:
            microphone.recorded_until_now()
        grammar = known.for_step(expectation)
        heard.append(ears.hear(Listening(f"p{number}", grammar, LISTENS_S)))
    return heard


needs_espeak = pytest.mark.skipif(
    shutil.which("espeak-ng") is None, reason="espeak-ng is not installed"
)


@needs_espeak
def test_none_of_a_hundred_prompts_is_answered_by_the_companion_itself(tmp_path: Path) -> None:
    heard = hear_after(prompts_of_a_job(PROMPTS), tmp_path)
    assert len(heard) == PROMPTS
    for answer in heard:
        assert isinstance(answer, Refusal)
        assert answer.reason == "silence", answer.how.detail


@needs_espeak
def test_ears_open_all_along_would_hear_the_prompts(tmp_path: Path) -> None:
    heard = hear_after(prompts_of_a_job(4), tmp_path, half_duplex=False)
    silent = [answer for answer in heard if isinstance(answer, Refusal)]
    reasons = [answer.reason for answer in silent]
    assert reasons.count("silence") < 2, "too weak a feedback for the other test to mean anything"
