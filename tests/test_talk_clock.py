"""The clock of a job's talk holds every second of the sound once.

A short job is spoken from end to end and laid on one tape, as a microphone in the bay would hear
it: prompts as they play, and behind each the sound that the ears took. The tape is measured by its
level alone; the clock has to say the same.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soxr

from companion.job.loader import JobPaths
from companion.recognition.port import SAMPLE_RATE_HZ
from companion.runtime import assembly
from companion.settings.model import Settings
from companion.speech.player import read_prompt
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from tests.benchmarks import deaf_time, talk
from tests.benchmarks.talk_clock import (
    HEARD_TONE_S,
    LIVE_MORE_S,
    Clock,
    TimedSource,
    ears_open_after_s,
    sounding,
)
from tests.runtime.running import SHORT_JOB

pytestmark = pytest.mark.skipif(
    not (shutil.which("flite") and shutil.which("espeak-ng")),
    reason="flite or espeak-ng is not installed",
)
LONGEST_S = 60.0


class Tape:
    """One sound after the other, each with who it comes from."""

    def __init__(self) -> None:
        self.pieces: list[tuple[str, list[np.ndarray]]] = []

    def put(self, who: str, samples: np.ndarray) -> None:
        if not self.pieces or self.pieces[-1][0] != who:
            self.pieces.append((who, []))
        self.pieces[-1][1].append(samples)

    def stretches(self) -> Iterator[tuple[str, np.ndarray]]:
        for who, samples in self.pieces:
            yield who, np.concatenate(samples)


def loud_s(samples: np.ndarray) -> tuple[float, float]:
    """From the first to the last 5 ms that are louder than 40 dB below the loudest."""
    step = SAMPLE_RATE_HZ // 200
    powers = np.mean(samples[: len(samples) // step * step].reshape(-1, step) ** 2, axis=1)
    loud = np.flatnonzero(powers > 1e-4 * powers.max())
    return loud[0] * step / SAMPLE_RATE_HZ, (loud[-1] + 1) * step / SAMPLE_RATE_HZ


def test_the_clock_of_a_spoken_job_says_what_a_tape_of_it_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tape = Tape()

    class TapedVoice(talk.RenderedVoice):
        def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
            path = self._lengths._cache.prompt(text, speed).path
            samples, rate_hz = read_prompt(path, 1.0)
            tape.put("companion", soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ))
            return super().say(text, speed, volume)

    class TapedSource(TimedSource):
        def frames(self) -> Iterator[bytes]:
            for frame in super().frames():
                tape.put("ears", np.frombuffer(frame, "<i2") / 32768.0)
                yield frame

    monkeypatch.setattr(talk, "RenderedVoice", TapedVoice)
    monkeypatch.setattr(talk, "TimedSource", TapedSource)
    job = talk.Job(3, "rms", "own", str(tmp_path))
    outcome = talk.run_job(job, assembly.load(JobPaths(job=SHORT_JOB)))
    assert outcome.error == ""
    figures = outcome.figures
    assert figures["answers"] >= 5

    tail_s = voice_s = before_s = behind_s = 0.0
    answers = 0
    stretches = list(tape.stretches())
    for number, (who, samples) in enumerate(stretches):
        begins_s, ends_s = loud_s(samples)
        if who == "ears":
            answers += 1
            before_s += begins_s
            voice_s += ends_s - begins_s
            behind_s += len(samples) / SAMPLE_RATE_HZ - ends_s
        elif number + 1 < len(stretches):
            tail_s += len(samples) / SAMPLE_RATE_HZ - ends_s
    assert answers == figures["answers"]
    # An edge may be found a step of 10 ms apart.
    nearly = pytest.approx
    assert figures["technician_s"] == nearly(voice_s, abs=0.03 * answers)
    assert figures["before_s"] == nearly(before_s, abs=0.03 * answers)
    assert figures["behind_s"] == nearly(behind_s + LIVE_MORE_S * answers, abs=0.03 * answers)
    tape_s = sum(len(samples) for _, samples in stretches) / SAMPLE_RATE_HZ
    tones_s = HEARD_TONE_S * (answers - 1)
    not_on_tape_s = tones_s + LIVE_MORE_S * answers
    assert figures["tones_s"] == nearly(tones_s)
    assert figures["talk_s"] == nearly(tape_s - tail_s + not_on_tape_s, abs=0.02 * answers)
    parts = (figures[name] for name in ("companion_s", "technician_s", "waiting_s"))
    assert figures["talk_s"] == nearly(sum(parts))


def test_nobody_begins_before_the_ears_are_open_and_the_tail_of_a_prompt_is_counted_once() -> None:
    clock = Clock()
    clock.says("Left beam.", 1.1, 1.0)
    assert clock.listens() == pytest.approx(0.1 + ears_open_after_s())
    clock.answers("two left", 0.9, 0.6, 0.3)
    clock.says("Two left?", 0.9, 0.8)
    clock.says("Not inside.", 1.3, 1.2)
    assert clock.seconds("companion") == pytest.approx(1.0 + 0.9 + 1.3)
    assert clock.seconds("tone") == pytest.approx(HEARD_TONE_S)
    assert clock.seconds() == pytest.approx(1.0 + 0.9 + 0.6 + 0.3 + HEARD_TONE_S + 0.9 + 1.3)


@pytest.mark.parametrize("deaf_s", [0.1, 0.2, 0.5])
@pytest.mark.parametrize("tones", [True, False])
def test_the_benchmark_of_the_deaf_time_opens_the_ears_when_the_clock_does(
    deaf_s: float, tones: bool
) -> None:
    trial = deaf_time.Trial(1, deaf_s, 1.0, -20.0, 0.0, -60.0, 1, tones, "own")
    prompt = np.zeros(SAMPLE_RATE_HZ)
    _, opens = deaf_time.played_until_open(prompt, trial)
    settings = Settings(deaf_after_speaking_s=deaf_s, earcons=tones)
    opened_s = (opens - len(prompt)) / SAMPLE_RATE_HZ
    assert opened_s == pytest.approx(ears_open_after_s(settings), abs=0.001)


def test_silence_has_no_beginning_of_sound() -> None:
    assert sounding(np.zeros(1600, np.float32), SAMPLE_RATE_HZ) == (0.0, 0.0)
