"""Where an utterance begins and ends, and when it is spoiled."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import pytest

from companion.recognition.endpoint import Endpointer, EndpointSettings, NoSpeech, Speech
from companion.recognition.level import QUIETEST_DBFS, clipped_share, measure_levels
from companion.recognition.port import FRAME_BYTES, SoundEnded
from companion.recognition.source import cut_into_frames

BYTES_PER_S = 32_000


def endless(sound: bytes) -> Iterator[bytes]:
    while True:
        yield from cut_into_frames(sound)


def as_sound(samples: np.ndarray) -> bytes:
    return np.clip(np.rint(samples), -32768, 32767).astype("<i2").tobytes()


def louder(sound: bytes, factor: float) -> bytes:
    return as_sound(np.frombuffer(sound, "<i2").astype(np.float64) * factor)


@pytest.mark.parametrize("voice", ["slt", "rms", "awb"])
@pytest.mark.parametrize("words", ["up", "yes", "seven hundred and seventy five"])
def test_speech_is_cut_out_whole_with_a_little_around_it(
    technician: Callable[..., bytes], voice: str, words: str
) -> None:
    sound = technician(words, voice, before_s=2.0, after_s=2.0)
    spoken_s = len(sound) / BYTES_PER_S - 4.0
    found = Endpointer(cut_into_frames(sound)).next_utterance(5.0)
    assert isinstance(found, Speech)
    assert 1.4 < found.start_s < 2.3
    assert 2.0 + 0.6 * spoken_s < found.end_s < 2.0 + spoken_s + 0.7
    assert len(found.sound) == pytest.approx((found.end_s - found.start_s) * BYTES_PER_S, abs=1)
    assert found.sound in sound


def test_two_answers_with_a_pause_between_are_two_utterances(
    technician: Callable[..., bytes],
) -> None:
    stream = cut_into_frames(technician("yes") + technician("seven seven five"))
    endpointer = Endpointer(stream)
    first, second = endpointer.next_utterance(5.0), endpointer.next_utterance(5.0)
    assert isinstance(first, Speech)
    assert isinstance(second, Speech)
    assert first.end_s <= second.start_s
    assert len(second.sound) > len(first.sound)


def test_the_end_of_a_file_ends_the_utterance(technician: Callable[..., bytes]) -> None:
    sound = technician("stop", after_s=0.0)
    assert isinstance(Endpointer(cut_into_frames(sound)).next_utterance(5.0), Speech)


def test_a_quiet_room_is_silence_after_the_timeout(quiet_room: Callable[..., bytes]) -> None:
    frames = endless(quiet_room(1.0))
    found = Endpointer(frames).next_utterance(3.0)
    assert isinstance(found, NoSpeech)
    assert (found.reason, found.detail) == ("silence", "no speech began within 3.0 s")


def test_a_stream_that_ends_quietly_is_silence_once_and_then_over(
    quiet_room: Callable[..., bytes],
) -> None:
    endpointer = Endpointer(cut_into_frames(quiet_room(1.0)))
    found = endpointer.next_utterance(30.0)
    assert isinstance(found, NoSpeech)
    assert found.reason == "silence"
    with pytest.raises(SoundEnded):
        endpointer.next_utterance(30.0)


def test_speech_without_end_is_too_long(technician: Callable[..., bytes]) -> None:
    talk = technician("seven hundred and ninety one", before_s=0.0, after_s=0.0)
    without_pauses = talk[BYTES_PER_S // 4 : -BYTES_PER_S // 4]
    frames = endless(without_pauses)
    found = Endpointer(frames, EndpointSettings(longest_s=4.0)).next_utterance(5.0)
    assert isinstance(found, NoSpeech)
    assert found.reason == "too_long"
    assert len(found.sound) == pytest.approx(4.0 * BYTES_PER_S, rel=0.02)


def test_speech_driven_into_the_end_of_the_scale_is_clipped(
    technician: Callable[..., bytes],
) -> None:
    sound = louder(technician("seven seven five"), 40.0)
    found = Endpointer(cut_into_frames(sound)).next_utterance(5.0)
    assert isinstance(found, NoSpeech)
    assert found.reason == "clipped"
    assert "full scale" in found.detail


def test_speech_that_does_not_stand_out_from_the_noise_is_too_loud(
    technician: Callable[..., bytes], quiet_room: Callable[..., bytes]
) -> None:
    speech = np.frombuffer(technician("seven seven five"), "<i2").astype(np.float64)
    noise = np.frombuffer(
        quiet_room(len(speech) / 16_000, loudness=0.6 * float(np.std(speech))), "<i2"
    )
    noisy = as_sound(speech + noise[: len(speech)])
    settings = EndpointSettings(vad_strictness=0, longest_s=10.0)
    found = Endpointer(cut_into_frames(noisy), settings).next_utterance(5.0)
    assert isinstance(found, NoSpeech)
    assert found.reason == "too_loud"


def test_a_machine_that_runs_on_is_too_loud_and_not_too_long() -> None:
    seconds = np.arange(16_000) / 16_000
    harmonics = sum(np.sin(2 * np.pi * 120.0 * n * seconds) / n for n in range(1, 30))
    machine = as_sound(6_000.0 * np.asarray(harmonics))
    settings = EndpointSettings(vad_strictness=0, longest_s=3.0)
    found = Endpointer(endless(machine), settings).next_utterance(5.0)
    assert isinstance(found, NoSpeech)
    assert found.reason == "too_loud"
    assert "never pauses" in found.detail


def test_lost_sound_spoils_the_utterance(technician: Callable[..., bytes]) -> None:
    frames = list(cut_into_frames(technician("seven seven five")))
    frames.insert(len(frames) // 2, b"")
    found = Endpointer(iter(frames)).next_utterance(5.0)
    assert isinstance(found, NoSpeech)
    assert found.reason == "sound_lost"
    assert "lost" in found.detail


def test_levels_of_a_known_sound() -> None:
    quiet, loud = np.full(16_000, 32.768), np.full(16_000, 3276.8)
    levels = measure_levels(as_sound(np.concatenate([quiet, loud])))
    assert levels.speech_dbfs == pytest.approx(-20.0, abs=0.05)
    assert levels.background_dbfs == pytest.approx(-60.0, abs=0.2)
    assert levels.speech_above_background_db == pytest.approx(40.0, abs=0.2)


def test_digital_silence_has_a_level_and_no_clipping() -> None:
    levels = measure_levels(bytes(3 * FRAME_BYTES))
    assert levels.background_dbfs == QUIETEST_DBFS
    assert levels.clipped_share == 0.0


def test_only_runs_at_full_scale_count_as_clipped() -> None:
    samples = np.zeros(100, dtype="<i2")
    samples[[10, 20, 21]] = 32767
    assert clipped_share(samples.tobytes()) == 0.0
    samples[50:54] = -32768
    assert clipped_share(samples.tobytes()) == pytest.approx(0.04)
