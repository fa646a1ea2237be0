"""Loudness follows the noise up to its limit; the tones are short, quiet and unlike each other."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.speech.ahead import AheadOfTime
from companion.speech.earcons import LOUDEST, Earcon, earcon
from companion.speech.loudness import USUAL_VOLUME, Loudness, SettledVoice
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import Samples, SilentSink
from companion.speech.port import Spoken
from companion.speech.speech import SpeechVoice

KINDS: tuple[Earcon, ...] = ("listening", "heard", "refused")


class Heard:
    """A voice that remembers how it was to speak."""

    def __init__(self) -> None:
        self.said: list[tuple[int, float]] = []

    def prepare(self, texts: Iterable[str], speed: int = 160) -> None:
        pass

    def say(self, text: str, speed: int = 160, volume: float = 1.0) -> Spoken:
        self.said.append((speed, volume))
        return Spoken(0.0, None, "")

    def hush(self) -> None:
        pass

    def close(self) -> None:
        pass


class Kept(SilentSink):
    """A sink that keeps what it was given."""

    def __init__(self) -> None:
        self.played: list[tuple[Samples, int]] = []

    def play(self, samples: Samples, rate_hz: int) -> bool:
        self.played.append((samples, rate_hz))
        return True


def _db(factor: float) -> float:
    return float(20 * np.log10(factor))


def test_in_quiet_the_voice_is_as_set() -> None:
    loudness = Loudness(in_quiet_db=-8, limit_db=0)
    assert _db(loudness.gain(None)) == pytest.approx(-8)
    assert _db(loudness.gain(-75.0)) == pytest.approx(-8)


def test_half_a_decibel_louder_for_each_of_noise() -> None:
    loudness = Loudness(in_quiet_db=-8, limit_db=0)
    assert _db(loudness.gain(-52.0)) == pytest.approx(-4)


@given(st.floats(-120, 20), st.floats(0, 1), st.floats(-40, -10), st.floats(-10, 0))
def test_never_above_the_limit(floor: float, volume: float, quiet: float, limit: float) -> None:
    gain = Loudness(quiet, limit).gain(floor, volume)
    assert 0 <= gain <= 10 ** (limit / 20) * (1 + 1e-9)


@given(st.floats(-120, 0), st.floats(0, 60))
def test_more_noise_never_makes_it_softer(floor: float, more: float) -> None:
    loudness = Loudness()
    assert loudness.gain(floor + more) >= loudness.gain(floor)


def test_louder_and_quieter_go_on_top() -> None:
    loudness = Loudness(in_quiet_db=-8)
    assert loudness.gain(None, 0.9) > loudness.gain(None, 0.8) > loudness.gain(None, 0.5)


@given(st.floats(0.05, 1.0))
def test_what_the_person_asked_for_is_a_share_of_the_amplitude(volume: float) -> None:
    """Half the volume is half the amplitude, which is 6.02 dB less (a factor of two: 20 log10)."""
    loudness = Loudness(in_quiet_db=-8)
    usual = loudness.gain(None, USUAL_VOLUME)
    assert loudness.gain(None, volume) / usual == pytest.approx(volume / USUAL_VOLUME)


def test_silence_is_silence() -> None:
    assert Loudness().gain(None, 0.0) == 0.0


def test_it_may_be_told_not_to_follow() -> None:
    loudness = Loudness(follows_noise=False)
    assert loudness.gain(-20.0) == loudness.gain(None)


def test_one_bang_shouts_at_nobody_but_lasting_noise_is_followed() -> None:
    inner = Heard()
    voice = SettledVoice(inner, Loudness())
    for floor_dbfs in (-65, -64, -10, -66):
        voice.hear_noise(floor_dbfs)
    voice.say("one", volume=0.8)
    for _ in range(5):
        voice.hear_noise(-40)
    voice.say("two", volume=0.8)
    (_, quiet), (_, loud) = inner.said
    assert _db(quiet) == pytest.approx(-8)
    assert _db(loud) == pytest.approx(0)


def test_the_shops_speed_and_the_persons_go_together() -> None:
    inner = Heard()
    SettledVoice(inner, Loudness(), speed_wpm=200).say("one", speed=80)
    assert inner.said[0][0] == 100


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("rate_hz", [16_000, 22_050, 48_000])
def test_a_tone_is_short_quiet_and_does_not_click(kind: Earcon, rate_hz: int) -> None:
    tone = earcon(kind, rate_hz)
    assert 0.05 < len(tone) / rate_hz < 0.15
    assert 0.5 * LOUDEST < np.abs(tone).max() <= LOUDEST
    assert abs(tone[0]) < 0.001
    assert abs(tone[-1]) < 0.01
    # The largest step between samples is that of the tone itself, not of a cut edge.
    assert np.abs(np.diff(tone)).max() < LOUDEST * 2 * np.pi * 2350 / rate_hz


def _pitch_hz(tone: Samples, rate_hz: int) -> float:
    spectrum = np.abs(np.fft.rfft(tone, 16 * len(tone)))
    return float(np.argmax(spectrum) * rate_hz / (16 * len(tone)))


def test_the_tones_differ_in_pitch_and_way() -> None:
    halves = {}
    for kind in KINDS:
        tone = earcon(kind, 22_050)
        middle = len(tone) // 2
        halves[kind] = (_pitch_hz(tone[:middle], 22_050), _pitch_hz(tone[middle:], 22_050))
    assert halves["listening"][1] > 1.2 * halves["listening"][0]
    assert halves["refused"][1] < 0.8 * halves["refused"][0]
    assert halves["heard"][1] == pytest.approx(halves["heard"][0], rel=0.05)
    assert min(halves["heard"]) > max(halves["listening"]) > max(halves["refused"])


@pytest.fixture
def espeak() -> MakerChain:
    import shutil

    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    return MakerChain((EspeakMaker(),))


def test_the_tone_for_heard_opens_the_next_prompt_once(tmp_path: Path, espeak: MakerChain) -> None:
    sink = Kept()
    voice = SettledVoice(SpeechVoice(tmp_path, sink, espeak), Loudness(), earcons=True)
    voice.say("two")
    voice.answered(True)
    voice.say("two")
    voice.say("two")
    plain, with_tone, again = (samples for samples, _ in sink.played)
    rate_hz = sink.played[0][1]
    tone = earcon("heard", rate_hz)
    assert len(with_tone) == len(plain) + len(tone)
    assert np.allclose(with_tone[len(tone) :], plain)
    assert len(again) == len(plain)


def test_tones_may_be_switched_off(tmp_path: Path, espeak: MakerChain) -> None:
    sink = Kept()
    voice = SettledVoice(SpeechVoice(tmp_path, sink, espeak), Loudness(), earcons=False)
    voice.listening()
    voice.answered(False)
    voice.say("two")
    plain = len(sink.played[0][0])
    assert len(sink.played) == 1
    with_tones = SettledVoice(SpeechVoice(tmp_path, sink, espeak), Loudness(), earcons=True)
    with_tones.listening()
    with_tones.answered(False)
    with_tones.say("two")
    assert len(sink.played) == 3
    assert len(sink.played[2][0]) > plain


def test_prompts_made_ahead_are_not_made_again(tmp_path: Path) -> None:
    made: list[str] = []

    class Counting(EspeakMaker):
        def make(self, text: str, speed_wpm: int, target: Path) -> None:
            made.append(text)
            super().make(text, speed_wpm, target)

    import shutil

    if shutil.which("espeak-ng") is None:
        pytest.skip("espeak-ng is not installed")
    voice = SpeechVoice(tmp_path, SilentSink(), MakerChain((Counting(),)))
    ahead = AheadOfTime(voice, [(text, 160) for text in ("One.", "Two.", "One.")])
    assert ahead.wait(30)
    voice.say("Two.")
    assert made == ["One.", "Two."]


def test_rendering_ahead_stops_when_it_is_closed(tmp_path: Path, espeak: MakerChain) -> None:
    voice = SpeechVoice(tmp_path, SilentSink(), espeak)
    ahead = AheadOfTime(voice, [(f"Number {i}.", 160) for i in range(1000)])
    ahead.close()
    assert ahead.wait(0)
    assert len(list(tmp_path.glob("*.wav"))) < 1000
