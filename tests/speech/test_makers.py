"""Speech makers really render; one that hangs, fails or is missing does not stop the job."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.errors import VoiceError
from companion.speech.makers import (
    EspeakMaker,
    MakerChain,
    Pyttsx3Maker,
    SpeechMaker,
    is_complete_wav,
)

PROMPT = "Stand four millimetres to the left"


def duration_s(file: Path) -> float:
    return float(soundfile.info(file).duration)


def script(folder: Path, body: str) -> Path:
    file = folder / "maker.py"
    file.write_text(f"import sys, time, pathlib\ntarget = pathlib.Path(sys.argv[1])\n{body}\n")
    return file


@pytest.fixture(params=["espeak-ng", "pyttsx3"])
def real_maker(request: pytest.FixtureRequest, espeak: EspeakMaker) -> SpeechMaker:
    return espeak if request.param == "espeak-ng" else Pyttsx3Maker()


def test_a_prompt_is_rendered_as_audible_speech(real_maker: SpeechMaker, tmp_path: Path) -> None:
    real_maker.make(PROMPT, 160, tmp_path / "prompt.wav")
    assert is_complete_wav(tmp_path / "prompt.wav")
    samples, rate_hz = soundfile.read(tmp_path / "prompt.wav")
    assert 1.0 < len(samples) / rate_hz < 5.0
    assert np.sqrt(np.mean(samples**2)) > 0.01


def test_slower_speech_takes_longer(real_maker: SpeechMaker, tmp_path: Path) -> None:
    real_maker.make(PROMPT, 100, tmp_path / "slow.wav")
    real_maker.make(PROMPT, 260, tmp_path / "fast.wav")
    assert duration_s(tmp_path / "slow.wav") > 1.5 * duration_s(tmp_path / "fast.wav")


def test_an_absurd_speed_is_held_to_what_can_be_understood(
    espeak: EspeakMaker, tmp_path: Path
) -> None:
    espeak.make(PROMPT, 5_000, tmp_path / "absurd.wav")
    espeak.make(PROMPT, 300, tmp_path / "fastest.wav")
    assert duration_s(tmp_path / "absurd.wav") == duration_s(tmp_path / "fastest.wav")


def test_several_sentences_are_rendered_to_the_last(espeak: EspeakMaker, tmp_path: Path) -> None:
    sentences = "Stop. The sensor moved the wrong way. Turn nothing until the plate was leaned."
    Pyttsx3Maker(voice="gmw/en").make(sentences, 160, tmp_path / "library.wav")
    espeak.make(sentences, 160, tmp_path / "program.wav")
    assert duration_s(tmp_path / "library.wav") == pytest.approx(
        duration_s(tmp_path / "program.wav"), abs=0.3
    )


@pytest.mark.parametrize("text", ["-w elsewhere.wav", "$(touch hacked)", "--help", "`id`; ls"])
def test_a_text_is_spoken_and_never_obeyed(
    real_maker: SpeechMaker, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    monkeypatch.chdir(tmp_path)
    real_maker.make(text, 160, tmp_path / "prompt.wav")
    assert [file.name for file in tmp_path.iterdir()] == ["prompt.wav"]


def test_a_hanging_maker_is_killed_within_its_limit(tmp_path: Path) -> None:
    hanging = Pyttsx3Maker(limit_s=0.5, script=script(tmp_path, "time.sleep(60)"))
    began_s = time.monotonic()
    with pytest.raises(VoiceError, match="not finished after"):
        hanging.make(PROMPT, 160, tmp_path / "prompt.wav")
    assert time.monotonic() - began_s < 50.0


def test_a_hanging_maker_falls_back_and_its_reason_is_kept(
    espeak: EspeakMaker, tmp_path: Path
) -> None:
    hanging = Pyttsx3Maker(limit_s=0.3, script=script(tmp_path, "time.sleep(60)"))
    made = MakerChain((hanging, espeak)).make(PROMPT, 160, tmp_path / "prompt.wav")
    assert made.maker is espeak
    assert len(made.complaints) == 1
    assert "pyttsx3: not finished" in made.complaints[0]
    assert is_complete_wav(tmp_path / "prompt.wav")


@pytest.mark.parametrize(
    ("body", "reason"),
    [
        ("raise RuntimeError('no voice engine')", "no voice engine"),
        ("sys.exit(0)", "no complete sound file"),
        (
            "target.write_bytes(b'RIFF' + (9999).to_bytes(4, 'little') + b'WAVE')",
            "no complete sound file",
        ),
    ],
)
def test_a_maker_that_crashes_or_leaves_no_whole_file_is_reported(
    tmp_path: Path, body: str, reason: str
) -> None:
    broken = Pyttsx3Maker(script=script(tmp_path, body))
    with pytest.raises(VoiceError, match=reason):
        broken.make(PROMPT, 160, tmp_path / "prompt.wav")


@pytest.mark.parametrize("missing_bytes", [1, 2, 44, 46])
def test_a_sound_file_cut_by_a_few_bytes_is_not_complete(
    tmp_path: Path, missing_bytes: int
) -> None:
    """By one, by a sample, by as much as the header is long, and by a sample more."""
    file = tmp_path / "prompt.wav"
    soundfile.write(file, np.full(16_000, 0.1), 16_000, subtype="PCM_16")
    assert is_complete_wav(file)
    whole = file.read_bytes()
    file.write_bytes(whole[:-missing_bytes])
    assert not is_complete_wav(file)


def test_speech_that_is_long_in_the_making_is_waited_for(
    espeak: EspeakMaker, tmp_path: Path
) -> None:
    many = "Stop. The sensor moved the wrong way. Turn nothing until the plate was leaned. " * 40
    Pyttsx3Maker(voice="gmw/en", limit_s=60).make(many, 160, tmp_path / "library.wav")
    espeak.make(many, 160, tmp_path / "program.wav")
    assert duration_s(tmp_path / "library.wav") == pytest.approx(
        duration_s(tmp_path / "program.wav"), rel=0.05
    )


def test_the_library_says_what_it_lacked(tmp_path: Path) -> None:
    with pytest.raises(VoiceError, match=r"ended with code 3 .*made no end of it within"):
        Pyttsx3Maker(limit_s=4.0).make(PROMPT, 160, tmp_path / "no folder" / "prompt.wav")


def test_a_program_that_is_not_installed_is_named(tmp_path: Path) -> None:
    missing = EspeakMaker(program="no-such-speech-program")
    with pytest.raises(VoiceError, match="'no-such-speech-program' is not installed"):
        missing.make(PROMPT, 160, tmp_path / "prompt.wav")


def test_a_maker_that_keeps_failing_is_left_out(
    tmp_path: Path, tone_maker: Callable[..., SpeechMaker]
) -> None:
    failing, working = tone_maker("first", failures=99), tone_maker("second")
    chain = MakerChain((failing, working))
    complaints = [len(chain.make(PROMPT, 160, tmp_path / "p.wav").complaints) for _ in range(4)]
    assert complaints == [1, 1, 0, 0]
    assert chain.usable() == (working,)


def test_when_every_maker_fails_all_reasons_are_told(
    tmp_path: Path, tone_maker: Callable[..., SpeechMaker]
) -> None:
    chain = MakerChain((tone_maker("first", failures=9), tone_maker("second", failures=9)))
    with pytest.raises(VoiceError, match="first: out of order; second: out of order"):
        chain.make(PROMPT, 160, tmp_path / "p.wav")


def test_a_chain_needs_a_maker() -> None:
    with pytest.raises(VoiceError, match="at least one"):
        MakerChain(())
