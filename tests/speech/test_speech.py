"""The whole voice: text in, sound out, into a file where there is no loudspeaker."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import sounddevice
import soundfile

from companion.errors import VoiceError
from companion.speech.makers import EspeakMaker, MakerChain
from companion.speech.player import DeviceSink, FileSink, SilentSink, read_prompt
from companion.speech.port import Voice
from companion.speech.silent import SilentVoice
from companion.speech.speech import SpeechVoice, usual_makers


def test_the_usual_makers_speak(tmp_path: Path, espeak: EspeakMaker) -> None:
    voice: Voice = SpeechVoice(tmp_path, SilentSink(), usual_makers())
    spoken = voice.say("Which side is lower?")
    assert spoken.finished
    assert spoken.maker == "espeak-ng"
    assert spoken.complaints == ()
    assert spoken.sound is not None
    assert 0.5 < spoken.duration_s < 4.0


@pytest.mark.parametrize("suffix", [".wav", ".flac"])
def test_everything_said_is_collected_in_one_file(
    tmp_path: Path, tone_maker: Callable[..., object], suffix: str
) -> None:
    sink = FileSink(tmp_path / f"session{suffix}", gap_s=0.5)
    voice = SpeechVoice(tmp_path / "prompts", sink, MakerChain((tone_maker(),)))
    said_s = sum(voice.say(text).duration_s for text in ("one", "one two", "one two three"))
    voice.close()
    voice.close()
    collected = soundfile.info(tmp_path / f"session{suffix}")
    assert said_s == pytest.approx(0.6, abs=0.01)
    assert collected.duration == pytest.approx(said_s + 3 * 0.5, abs=0.01)


def test_prepared_prompts_are_not_rendered_again(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    maker = tone_maker()
    voice = SpeechVoice(tmp_path, SilentSink(), MakerChain((maker,)))
    voice.prepare(["say yes", "say no", "\0"], speed=140)
    assert maker.asked == 2
    voice.say("say  yes\n", speed=140)
    assert maker.asked == 2


def test_volume_scales_the_sound_and_not_the_prompt_kept(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    spoken = SpeechVoice(tmp_path, SilentSink(), MakerChain((tone_maker(),))).say("one")
    assert spoken.sound is not None
    full, rate_hz = read_prompt(spoken.sound, 1.0)
    half, _ = read_prompt(spoken.sound, 0.5)
    over, _ = read_prompt(spoken.sound, 7.0)
    assert rate_hz == 16_000
    np.testing.assert_allclose(half, full / 2)
    np.testing.assert_array_equal(over, full)


def test_nothing_to_pronounce_takes_no_time(
    tmp_path: Path, tone_maker: Callable[..., object]
) -> None:
    maker = tone_maker()
    spoken = SpeechVoice(tmp_path, SilentSink(), MakerChain((maker,))).say(" \x07 ...")
    assert (spoken.duration_s, spoken.sound, maker.asked) == (0.0, None, 0)


def test_a_broken_prompt_file_is_named(tmp_path: Path) -> None:
    (tmp_path / "broken.wav").write_bytes(b"nothing")
    with pytest.raises(VoiceError, match=r"broken\.wav"):
        read_prompt(tmp_path / "broken.wav", 1.0)


def test_sound_is_collected_in_known_formats_only(tmp_path: Path) -> None:
    with pytest.raises(VoiceError, match=r"\.wav or \.flac"):
        FileSink(tmp_path / "session.txt")
    with pytest.raises(VoiceError, match="cannot be written"):
        FileSink(tmp_path / "missing folder" / "session.wav")


def test_a_loudspeaker_that_does_not_exist_is_refused() -> None:
    with pytest.raises(VoiceError, match="no such bay loudspeaker"):
        DeviceSink("no such bay loudspeaker")


def test_without_any_sound_card_the_refusal_is_clear() -> None:
    if any(device["max_output_channels"] for device in sounddevice.query_devices()):
        pytest.skip("this machine has a sound card")
    with pytest.raises(VoiceError, match="loudspeaker"):
        DeviceSink()


def test_the_silent_voice_keeps_and_shows_what_is_said() -> None:
    shown: list[str] = []
    voice: Voice = SilentVoice(shown.append)
    voice.prepare(["later"])
    slow, fast = voice.say("one two three four", speed=80), voice.say("one two three four", 240)
    assert shown == ["one two three four"] * 2
    assert slow.duration_s == pytest.approx(3.0)
    assert fast.duration_s == pytest.approx(1.0)
    voice.hush()
    voice.close()
