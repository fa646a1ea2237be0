"""The microphone: losses are told, and a missing one is a clear refusal."""

from __future__ import annotations

import pytest
import sounddevice

from companion.ears.microphone import SOUND_LOST, FrameQueue, MicrophoneSource
from companion.errors import EarsError


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
