"""Telling speech from the companion's own voice, and measuring what the microphone hears of it."""

from __future__ import annotations

import numpy as np
import pytest

from companion.errors import EarsError
from companion.recognition.echo_measuring import MOST_ECHO_DBFS, echo_in
from companion.recognition.over_voice import Echo, OverVoice, band_level_dbfs
from companion.recognition.port import FRAME_BYTES, SAMPLE_RATE_HZ
from companion.recognition.samples import Samples
from companion.simulation.over_prompts import EchoingRoom


def noise(seconds: float, level_dbfs: float, seed: int = 1) -> Samples:
    """White noise; as much of it lies between 200 Hz and 4 kHz as the level in that band says."""
    count = round(seconds * SAMPLE_RATE_HZ)
    samples = np.random.default_rng(seed).normal(size=count).astype(np.float32)
    return samples * np.float32(10 ** ((level_dbfs - band_level_dbfs(samples)) / 20))


def talk(seconds: float, level_dbfs: float, seed: int) -> Samples:
    """Noise that comes and goes four times a second, as syllables do."""
    samples = noise(seconds, level_dbfs, seed)
    times_s = np.arange(len(samples)) / SAMPLE_RATE_HZ
    return samples * np.float32(1.3) * (np.sin(2 * np.pi * 4 * times_s) > 0).astype(np.float32)


def as_frames(samples: Samples) -> list[bytes]:
    sound = np.clip(np.rint(samples * 32768), -32768, 32767).astype("<i2").tobytes()
    return [sound[at : at + FRAME_BYTES] for at in range(0, len(sound), FRAME_BYTES)]


@pytest.mark.parametrize("gain_db", [-5.0, -20.0, -40.0])
@pytest.mark.parametrize("delay_s", [0.04, 0.25])
def test_the_echo_is_measured_to_two_decibels_and_a_millisecond(
    gain_db: float, delay_s: float
) -> None:
    played = talk(3.0, -20.0, seed=2)
    room = EchoingRoom(gain_db, delay_s, ring_db=-10.0)
    echo = np.zeros(len(played) + 9_600, np.float32)
    arriving = room.heard(played)[: len(echo)]
    echo[: len(arriving)] += arriving.astype(np.float32)
    background = noise(3.6, -70.0, seed=3)
    found = echo_in(echo + background[: len(echo)], background, played)
    assert found.is_found
    assert found.delay_s == pytest.approx(delay_s, abs=0.001)
    assert found.echo.gain_db == pytest.approx(gain_db, abs=2.0)
    assert found.background_dbfs == pytest.approx(-70.0, abs=0.5)
    assert not found.allows_answers


def test_a_headset_that_does_not_hear_its_loudspeaker_allows_answers() -> None:
    background = noise(4.0, -60.0, seed=3)
    found = echo_in(background, noise(4.0, -60.0, seed=4), talk(3.0, -20.0, seed=2))
    assert not found.is_found
    assert found.above_background_db < 0.0
    assert found.allows_answers


def test_an_echo_below_a_loud_background_is_still_too_loud_for_a_quiet_hour() -> None:
    played = talk(3.0, -20.0, seed=2)
    echo = EchoingRoom(-25.0).heard(played)[: len(played)].astype(np.float32)
    background = noise(3.0, -40.0, seed=5)
    found = echo_in(echo + background, background, played)
    assert found.above_background_db < 0.0
    assert found.echo_dbfs > MOST_ECHO_DBFS
    assert not found.allows_answers


def test_too_little_sound_is_refused() -> None:
    with pytest.raises(EarsError, match="wanted: 1 s"):
        echo_in(noise(0.5, -60.0), noise(2.0, -60.0), noise(2.0, -20.0))


def stands_out(heard: Samples, played: Samples, echo: Echo) -> list[tuple[bool, float]]:
    """Of each frame whether the last few stand out, and how much of them is explained."""
    over = OverVoice(echo)
    for frame in as_frames(noise(3.0, -65.0, seed=9)):
        over.follow(frame)
    over.begin(played)
    return [(over.follow(frame), over.explained()) for frame in as_frames(heard[: len(played)])]


@pytest.mark.parametrize("gain_db", [-30.0, -10.0, 0.0])
def test_the_companions_own_voice_is_explained_by_what_is_played(gain_db: float) -> None:
    played = talk(2.5, -20.0, seed=2)
    heard = EchoingRoom(gain_db).heard(played)[: len(played)].astype(np.float32)
    heard = heard + noise(2.5, -65.0, seed=6)
    # Measured far too low: a headset's figures, and a loudspeaker beside the microphone.
    found = stands_out(heard, played, Echo(-70.0, 0.12))
    assert all(explained > 0.5 for stands, explained in found[30:] if stands)


def test_speech_over_a_faint_echo_stands_out_within_four_frames_and_is_not_explained() -> None:
    played = talk(2.5, -20.0, seed=2)
    heard = EchoingRoom(-50.0).heard(played)[: len(played)].astype(np.float32)
    heard = heard + noise(2.5, -65.0, seed=6)
    begins = round(1.2 * SAMPLE_RATE_HZ)
    speech = talk(1.0, -28.0, seed=7)
    heard[begins : begins + len(speech)] += speech
    found = stands_out(heard, played, Echo(-50.0, 0.12))
    first = next(place for place, (stands, _) in enumerate(found) if stands)
    assert 40 <= first <= 44
    assert max(explained for stands, explained in found if stands) < 0.3
