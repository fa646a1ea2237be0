"""Sound as it really comes: cut, torn, overdriven, off centre, at another rate, or none at all.

Each shape goes through the whole chain: source, finding of utterances, our own encoder and heads,
the strict parser. What was said is understood or refused; it never becomes something else.
"""

from __future__ import annotations

import math
import shutil
import subprocess
from collections.abc import Callable, Iterator
from dataclasses import asdict
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest
import soundfile
import soxr

from companion.errors import EarsError
from companion.language.grammar import StepGrammar
from companion.recognition.listening import StreamEars
from companion.recognition.own.recogniser import OwnRecogniser
from companion.recognition.port import FRAME_BYTES, Heard, Listening, Refusal, SoundEnded, Utterance
from companion.recognition.source import (
    FileSource,
    MemorySource,
    cut_into_frames,
    read_sound,
    to_sound,
)
from companion.runtime.checks.hearing import level
from tests.benchmarks.bay_sound import compressor_hum, mixed
from tests.benchmarks.ears_trials import prompts
from tests.runtime_checks.test_looks import bench as bench

Samples = npt.NDArray[np.float64]
Shape = Callable[[Samples, np.random.Generator], list[bytes]]

pytestmark = [
    pytest.mark.skipif(shutil.which("flite") is None, reason="flite is not installed"),
]

SAID = (
    ("confirm", "yes"),
    ("confirm", "no"),
    ("paused", "stop"),
    ("number", "seven seven five"),
    ("directed", "one two left"),
)
SPOILED = frozenset({"clipped", "too_loud", "too_quiet", "too_long", "sound_lost", "silence"})
SOURCES = (("flite", "slt"), ("flite", "rms"), ("espeak-ng", "en-gb"))


@pytest.fixture(scope="module")
def ears() -> OwnRecogniser:
    return OwnRecogniser()


@pytest.fixture(scope="module")
def spoken(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str, str, str], Samples]:
    """What a voice says, mixed with a compressor's hum 15 dB lower: full scale 1.0."""
    folder = tmp_path_factory.mktemp("spoken")

    def say(program: str, voice: str, text: str) -> Samples:
        if shutil.which(program) is None:
            pytest.skip(f"{program} is not installed")
        file = folder / f"{program} {voice} {text}.wav"
        command = {
            "flite": ["flite", "-voice", voice, "-t", text, "-o", str(file)],
            "espeak-ng": ["espeak-ng", "-v", voice, "-w", str(file), text],
        }[program]
        if not file.exists():
            subprocess.run(command, check=True)
        speech = np.frombuffer(read_sound(file), "<i2") / 32768.0
        generator = np.random.default_rng(len(speech))
        noise = compressor_hum(len(speech) / 16_000 + 2.5, generator)
        return mixed(speech, noise, 15.0, generator, 1.0, 1.5)

    return say


def as_frames(samples: Samples) -> list[bytes]:
    return list(cut_into_frames(to_sound(samples.astype(np.float32), 16_000)))


def as_it_is(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    return as_frames(samples)


def frames_lost_and_told(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    """The sound card's queue ran over here and there: an empty frame stands for what is missing."""
    frames = as_frames(samples)
    return [b"" if generator.random() < 0.03 else frame for frame in frames]


def frames_lost_in_silence(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    """One frame in ten is missing, and nobody says so."""
    return [frame for frame in as_frames(samples) if generator.random() >= 0.1]


def clipped(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    return as_frames(np.clip(samples * 30.0, -1.0, 1.0))


def hardly_there(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    return as_frames(samples * 0.003)


def off_centre(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    """A cheap sound card adds a constant."""
    return as_frames(samples + 0.2)


def at_44100_in_stereo(samples: Samples, generator: np.random.Generator) -> list[bytes]:
    """As `MicrophoneSource` converts what a card gives that knows nothing else."""
    from companion.recognition.native import ToOwnFormat

    piece = 1_323
    at_44100 = np.interp(
        np.arange(round(len(samples) * 2.75625)) / 2.75625, np.arange(len(samples)), samples
    )
    both = np.clip(np.rint(np.stack([at_44100, at_44100], axis=1) * 32768), -32768, 32767)
    converter = ToOwnFormat(44_100, 2)
    return [
        frame
        for start in range(0, len(both), piece)
        for frame in converter.frames(both[start : start + piece].astype("<i2").tobytes())
    ]


SHAPES: tuple[Shape, ...] = (
    as_it_is,
    frames_lost_and_told,
    frames_lost_in_silence,
    clipped,
    hardly_there,
    off_centre,
    at_44100_in_stereo,
)


class Frames:
    """A source of these frames."""

    def __init__(self, frames: list[bytes]) -> None:
        self._frames = frames

    def frames(self) -> Iterator[bytes]:
        return iter(self._frames)

    def flush(self, *, deaf: bool = True) -> None:
        """Nothing waits."""

    def close(self) -> None:
        """Nothing to let go of."""


def all_heard(
    ears: OwnRecogniser, frames: list[bytes], grammar: StepGrammar, timeout_s: float = 5.0
) -> list[Heard]:
    """Everything that is heard, turn after turn, until the sound is used up."""
    hearing = StreamEars(Frames(frames), ears)
    heard: list[Heard] = []
    try:
        while True:
            heard.append(hearing.hear(Listening("p", grammar, timeout_s)))
    except SoundEnded:
        return heard


def require_figures(heard: Heard) -> None:
    """No figure that goes on into the record may be something that is no number."""
    figures = [value for value in asdict(heard.how).values() if isinstance(value, float)]
    assert all(map(math.isfinite, figures)), heard


@pytest.mark.parametrize("shape", SHAPES)
def test_what_was_said_is_understood_or_refused_and_never_becomes_something_else(
    shape: Shape, ears: OwnRecogniser, spoken: Callable[[str, str, str], Samples]
) -> None:
    right = 0
    for number, (step, text) in enumerate(SAID):
        program, voice = SOURCES[number % len(SOURCES)]
        grammar = prompts()[step]
        frames = shape(spoken(program, voice, text), np.random.default_rng(number))
        for heard in all_heard(ears, frames, grammar):
            require_figures(heard)
            if isinstance(heard, Utterance):
                assert grammar.parse(heard.words) == grammar.parse(text), (text, heard)
                right += 1
    if shape in (as_it_is, off_centre, at_44100_in_stereo):
        assert right >= 3, right


def test_lost_sound_is_told_as_such(
    ears: OwnRecogniser, spoken: Callable[[str, str, str], Samples]
) -> None:
    frames = as_frames(spoken("flite", "slt", "seven seven five"))
    frames[60] = b""
    first = all_heard(ears, frames, prompts()["number"])[0]
    assert isinstance(first, Refusal)
    assert (first.reason, "sound was lost" in first.how.detail) == ("sound_lost", True)


def burst(seconds: float) -> Samples:
    """Full scale, up or down at every sample: the loudest that there is."""
    return np.random.default_rng(1).choice([-1.0, 1.0], size=round(seconds * 16_000))


@pytest.mark.parametrize("step", ["confirm", "number", "paused"])
def test_half_a_minute_at_full_scale_is_no_answer_and_the_next_word_is_heard(
    step: str, ears: OwnRecogniser, spoken: Callable[[str, str, str], Samples]
) -> None:
    grammar = prompts()[step]
    after = spoken("flite", "slt", "stop")
    frames = as_frames(np.concatenate([burst(30.0), after[:8_000], after]))
    heard = all_heard(ears, frames, grammar)
    taken = [answer.words for answer in heard if isinstance(answer, Utterance)]
    assert taken in ([], ["stop"])
    for answer in heard:
        require_figures(answer)
        if isinstance(answer, Refusal) and not answer.words:
            assert answer.reason in SPOILED | {"not_in_grammar", "unsure"}


def test_dead_silence_is_silence_and_the_check_says_what_to_do(
    ears: OwnRecogniser, bench: Callable[..., object]
) -> None:
    dead = bytes(FRAME_BYTES) * 200
    heard = all_heard(ears, list(cut_into_frames(dead)), prompts()["confirm"])
    assert [isinstance(answer, Refusal) and answer.reason for answer in heard] == ["silence"] * len(
        heard
    )
    found = level(bench(dead, ears="own"))  # type: ignore[arg-type]
    assert (found.state, found.to_do) == (
        "wrong",
        "No sound arrives. Switch it on; turn its level up.",
    )


def test_an_overdriven_microphone_is_told_with_what_to_do(
    bench: Callable[..., object],
) -> None:
    found = level(bench(to_sound(burst(3.0).astype(np.float32), 16_000), ears="own"))  # type: ignore[arg-type]
    assert (found.state, "turn its level down" in found.to_do) == ("wrong", True)


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf])
def test_samples_that_are_no_numbers_never_reach_the_ears(wrong: float, tmp_path: Path) -> None:
    samples = np.zeros(16_000, np.float32)
    samples[8_000] = wrong
    file = tmp_path / "answer.wav"
    soundfile.write(file, samples, 16_000, subtype="FLOAT")
    with pytest.raises(
        EarsError, match=r"answer\.wav: the file holds samples that are not numbers"
    ):
        FileSource(file)


@pytest.mark.parametrize(
    ("rate_hz", "channels", "voice"),
    # At 8 kHz half of what makes an s is gone, and all of slt's.
    [(44_100, 2, "slt"), (48_000, 1, "slt"), (8_000, 2, "rms"), (8_000, 1, "awb")],
)
def test_files_of_other_rates_and_channels_are_heard(
    rate_hz: int,
    channels: int,
    voice: str,
    ears: OwnRecogniser,
    spoken: Callable[[str, str, str], Samples],
    tmp_path: Path,
) -> None:
    samples = spoken("flite", voice, "stop")
    # With what lies above the new rate's half cut, as any device does it.
    there = soxr.resample(samples, 16_000, rate_hz)
    file = tmp_path / "answer.wav"
    soundfile.write(file, np.repeat(there[:, None], channels, axis=1), rate_hz)
    source: MemorySource = FileSource(file)
    heard = StreamEars(source, ears).hear(Listening("p", prompts()["paused"], 5.0))
    assert heard.words == "stop"
    assert isinstance(heard, Utterance)
