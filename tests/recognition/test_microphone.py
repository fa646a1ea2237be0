"""The microphone: losses are told, and a missing one is a clear refusal."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import sounddevice

from companion.base import sound_cards
from companion.errors import EarsError
from companion.recognition.microphone import SOUND_LOST, FrameQueue, MicrophoneSource
from companion.recognition.native import ToOwnFormat
from companion.recognition.port import FRAME_BYTES, FRAME_S


def test_frames_come_out_in_order() -> None:
    frames = FrameQueue()
    frames.put(b"one")
    frames.put(b"two")
    assert [frames.get(0.0), frames.get(0.0), frames.get(0.01)] == [b"one", b"two", None]


def test_an_overflow_of_the_card_leaves_a_mark_where_sound_is_missing() -> None:
    frames = FrameQueue()
    frames.put(b"one")
    frames.put(b"three", lost_before=True)
    assert [frames.get(0.0) for _ in range(3)] == [b"one", SOUND_LOST, b"three"]


def test_a_full_queue_loses_frames_and_says_so_once_there_is_room() -> None:
    frames = FrameQueue(held_frames=2)
    for frame in (b"one", b"two", b"three", b"four"):
        frames.put(frame)
    assert [frames.get(0.0), frames.get(0.0), frames.get(0.01)] == [b"one", b"two", None]
    frames.put(b"five")
    assert [frames.get(0.0), frames.get(0.0)] == [SOUND_LOST, b"five"]


def test_clearing_forgets_what_is_held() -> None:
    frames = FrameQueue()
    frames.put(b"one")
    frames.clear()
    assert frames.get(0.01) is None


def test_a_microphone_that_does_not_exist_is_refused() -> None:
    with pytest.raises(EarsError, match="no such bay microphone"):
        MicrophoneSource("no such bay microphone")


def test_without_any_sound_card_the_refusal_says_what_is_wanted() -> None:
    if any(device["max_input_channels"] for device in sounddevice.query_devices()):
        pytest.skip("this machine has a sound card")
    with pytest.raises(EarsError, match="wanted a connected microphone"):
        MicrophoneSource()


@pytest.mark.parametrize("rate_hz", [8_000, 16_000, 44_100, 48_000])
@pytest.mark.parametrize("channels", [1, 2])
def test_sound_of_another_format_becomes_whole_frames_of_ours(rate_hz: int, channels: int) -> None:
    seconds = np.arange(2 * rate_hz) / rate_hz
    tone = np.rint(8_000 * np.sin(2 * np.pi * 440 * seconds)).astype("<i2")
    sound = np.repeat(tone[:, None], channels, axis=1).tobytes()
    piece = round(rate_hz * FRAME_S) * 2 * channels
    converter = ToOwnFormat(rate_hz, channels)
    frames = [
        frame
        for start in range(0, len(sound), piece)
        for frame in converter.frames(sound[start : start + piece])
    ]
    assert {len(frame) for frame in frames} == {FRAME_BYTES}
    assert 1.9 < len(frames) * FRAME_S <= 2.0
    made = np.frombuffer(b"".join(frames), "<i2").astype(float)[8_000:24_000]
    spectrum = np.abs(np.fft.rfft(made))
    assert np.argmax(spectrum) * 16_000 / len(made) == pytest.approx(440, abs=1)
    assert np.sqrt(np.mean(made**2)) == pytest.approx(8_000 / np.sqrt(2), rel=0.01)


class Card:
    """A sound card in place of PortAudio: the test says when a frame was recorded."""

    PortAudioError = sounddevice.PortAudioError

    def __init__(self) -> None:
        self.opened: list[dict[str, Any]] = []

    def RawInputStream(self, **given: Any) -> Card:
        self.opened.append(given)
        return self

    def start(self) -> None:
        """It records from now on."""

    def close(self, ignore_errors: bool) -> None:
        """It records no more."""

    def record(self, *frames: bytes) -> None:
        for frame in frames:
            self.opened[-1]["callback"](frame, len(frame) // 2, None, None)


@pytest.fixture
def card(monkeypatch: pytest.MonkeyPatch) -> Card:
    found = Card()
    monkeypatch.setattr(sound_cards, "portaudio", lambda: found)
    return found


def frame_of(level: int) -> bytes:
    return np.full(FRAME_BYTES // 2, level, "<i2").tobytes()


def test_what_was_recorded_while_the_companion_spoke_is_not_heard(card: Card) -> None:
    """Its own voice is in it; heard as an answer it would be one that nobody gave."""
    microphone = MicrophoneSource()
    frames = microphone.frames()
    card.record(frame_of(1), frame_of(2), frame_of(3))
    assert next(frames) == frame_of(1)
    microphone.flush()
    card.record(frame_of(4))
    assert next(frames) == frame_of(4)


def test_after_a_flush_the_deaf_time_is_thrown_away_too(card: Card) -> None:
    microphone = MicrophoneSource(deaf_s=2 * FRAME_S)
    frames = microphone.frames()
    card.record(frame_of(1), frame_of(2))
    microphone.flush()
    card.record(frame_of(3), frame_of(4), frame_of(5), frame_of(6))
    assert [next(frames), next(frames)] == [frame_of(5), frame_of(6)]


def test_where_there_is_no_device_at_all_no_number_of_one_is_told() -> None:
    assert sound_cards.why(ValueError("Error querying device -1")) == "there is no sound device"
    assert sound_cards.why(ValueError("Invalid sample rate")) == "Invalid sample rate"
