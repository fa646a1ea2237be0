"""Synthetic speakers for training: flite, espeak-ng in many variants, and a Piper voice."""

from __future__ import annotations

import json
import random
import shutil
import subprocess
from collections.abc import Iterable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soxr

from companion.ears.source import read_sound
from tests.ears_training.phrases import PhraseMaker, Said

FLITE_VOICES = ("slt", "rms")
"""The third voice, awb, is kept for scoring."""
_ESPEAK_ACCENTS = ("en-us", "en-gb", "en-gb-x-rp", "en-gb-scotland", "en-029")
_ESPEAK_VARIANTS = ("m1", "m2", "m3", "m4", "m5", "m6", "m7", "f1", "f2", "f3", "f4", "f5")
_LONGEST_S = 30.0


def _flite(said: Said, voice: str, generator: random.Random, path: Path) -> None:
    stretch = f"duration_stretch={generator.uniform(0.8, 1.2):.2f}"
    pitch = f"int_f0_target_mean={generator.uniform(85, 220):.0f}"
    command = ["flite", "-voice", voice, "--setf", stretch, "--setf", pitch]
    _run([*command, "-t", said.text, "-o", str(path)])


def _espeak(said: Said, generator: random.Random, path: Path) -> None:
    voice = f"{generator.choice(_ESPEAK_ACCENTS)}+{generator.choice(_ESPEAK_VARIANTS)}"
    speed, pitch = generator.randint(120, 210), generator.randint(20, 80)
    command = ["espeak-ng", "-v", voice, "-s", str(speed), "-p", str(pitch)]
    _run([*command, "-w", str(path), said.text])


def _run(command: list[str]) -> None:
    subprocess.run(command, check=True, capture_output=True, timeout=_LONGEST_S)


def render(folder: Path, seed: int, flite: int, espeak: int) -> None:
    """So many phrases of each maker as sound; `labels.jsonl` in `folder` tells what is said.

    Raises FileNotFoundError where a speech maker is missing.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for maker in ("flite", "espeak-ng"):
        if shutil.which(maker) is None:
            raise FileNotFoundError(f"{maker}: not on the path; wanted for training")
    phrases, generator = PhraseMaker(), random.Random(seed)
    work = folder / "rendered.wav"
    with (folder / "labels.jsonl").open("w", encoding="utf-8") as labels:
        for number in range(flite + espeak):
            said = phrases.one(generator)
            if number < flite:
                voice = f"flite-{FLITE_VOICES[number % len(FLITE_VOICES)]}"
                _flite(said, FLITE_VOICES[number % len(FLITE_VOICES)], generator, work)
            else:
                voice = "espeak"
                _espeak(said, generator, work)
            name = f"{number:06d}.s16le"
            (folder / name).write_bytes(read_sound(work))
            told = {"sound": name, "label": said.label, "text": said.text, "voice": voice}
            labels.write(json.dumps(told) + "\n")
    work.unlink()


def read_rendered(folder: Path) -> Iterable[tuple[npt.NDArray[np.float32], tuple[str, ...]]]:
    """Every rendered phrase: samples at 16 kHz, full scale 1.0, and its label."""
    for line in (folder / "labels.jsonl").read_text(encoding="utf-8").splitlines():
        told = json.loads(line)
        samples = np.frombuffer((folder / told["sound"]).read_bytes(), "<i2")
        yield samples.astype(np.float32) / np.float32(32768), tuple(told["label"])


def at_speed(samples: npt.NDArray[np.float32], factor: float) -> npt.NDArray[np.float32]:
    """Played `factor` times as fast; pitch and formants move with it."""
    changed = soxr.resample(samples, 16_000, 16_000 / factor)
    return np.asarray(changed, dtype=np.float32)
