"""The noise check before a job."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from companion.errors import EarsError
from companion.recognition.conditions import check_noise
from companion.recognition.gate import Gate
from companion.recognition.source import cut_into_frames


@pytest.mark.parametrize(
    ("loudness", "voice"), [(30.0, "reliable"), (800.0, "uncertain"), (3000.0, "unreliable")]
)
def test_the_noise_decides_whether_voice_will_do(
    quiet_room: Callable[..., bytes], loudness: float, voice: str
) -> None:
    found = check_noise(quiet_room(3.0, loudness=loudness))
    assert found.voice == voice
    assert found.floor_dbfs == pytest.approx(20 * np.log10(loudness / 32768), abs=0.7)
    assert found.loud_dbfs >= found.floor_dbfs


def test_a_dead_microphone_is_no_quiet_room() -> None:
    found = check_noise(bytes(96_000))
    assert found.voice == "unreliable"
    assert "microphone" in found.advice


def test_no_sound_at_all_is_an_error() -> None:
    with pytest.raises(EarsError, match="no sound arrived"):
        check_noise(b"")


def test_an_overdriven_microphone_comes_with_what_to_do() -> None:
    square = np.tile(np.repeat(np.array([32767, -32768], "<i2"), 40), 600)
    found = check_noise(square.tobytes())
    assert (found.voice, "turn its level down" in found.advice) == ("unreliable", True)


def test_the_gate_closes_on_steady_noise_and_opens_on_speech(
    technician: Callable[..., bytes], quiet_room: Callable[..., bytes]
) -> None:
    gate = Gate()
    steady = [gate.passes(f) for f in cut_into_frames(quiet_room(5.0, loudness=1000.0))]
    assert not any(steady[60:])
    speech = np.frombuffer(technician("seven seven five"), "<i2").astype(np.float64)
    noise = np.frombuffer(quiet_room(len(speech) / 16_000, 1000.0, seed=2), "<i2")
    sound = np.clip(speech + noise[: len(speech)], -32768, 32767).astype("<i2").tobytes()
    assert any(gate.passes(frame) for frame in cut_into_frames(sound))
