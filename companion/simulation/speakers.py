"""A technician's voice: answers as sound, from a speech maker on this machine."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import tempfile
import wave
import weakref
from pathlib import Path
from random import Random
from typing import Literal

import numpy as np
import numpy.typing as npt
import soxr

from companion.recognition.port import SAMPLE_RATE_HZ
from companion.simulation.errors import RehearsalError

VoiceName = Literal["slt", "rms", "awb"]
VOICES: tuple[VoiceName, ...] = ("slt", "rms", "awb")
_LONGEST_S = 20.0
_SLOWEST, _FASTEST = 1.15, 0.9
_LOUD_PART_OF_PEAK_DB = 20.0
_WINDOW = 320
_ESPEAK_WPM = 150


class SyntheticSpeaker:
    """Says answers with one of flite's voices, each answer at a slightly different pace.

    `maker`: the program that speaks. flite knows English alone; espeak-ng knows more languages, and
    `voice` is then one of its voices.
    `noise` is any 16 kHz mono s16le sound, repeated as often as needed and laid under the speech
    so that the speech's loud parts stand `snr_db` above it. Raises RehearsalError when flite is
    not there or fails. Rendered answers are kept in `cache_folder` (a temporary one by default).
    """

    def __init__(
        self,
        voice: str,
        seed: int,
        *,
        maker: Literal["flite", "espeak-ng"] = "flite",
        noise: bytes = b"",
        snr_db: float = 20.0,
        cache_folder: Path | None = None,
    ) -> None:
        program = shutil.which(maker)
        if program is None:
            raise RehearsalError(
                f"a synthetic speaker: {maker} is not installed, wanted on the path"
            )
        self._maker, self._program = maker, program
        self._voice = voice
        self._random = Random(seed)  # noqa: S311  -- it must repeat, not be secret
        self._snr_db = snr_db
        self._noise = np.frombuffer(noise, dtype="<i2").astype(np.float64)
        self._noise_rms = _rms(self._noise)
        self._bed_gain = 0.0
        if cache_folder is None:
            cache_folder = Path(tempfile.mkdtemp(prefix="rehearsal-speech-"))
            weakref.finalize(self, shutil.rmtree, cache_folder, ignore_errors=True)
        self._folder = cache_folder
        self._folder.mkdir(parents=True, exist_ok=True)

    def say(self, text: str) -> bytes:
        """The answer as 16 kHz mono s16le, with noise under it if this speaker has noise."""
        stretch = round(self._random.uniform(_FASTEST, _SLOWEST), 2)
        speech = self._rendered(text, stretch)
        if self._noise_rms == 0.0:
            return speech
        samples = np.frombuffer(speech, dtype="<i2").astype(np.float64)
        wanted_rms = loud_rms(samples) / 10.0 ** (self._snr_db / 20.0)
        self._bed_gain = wanted_rms / self._noise_rms
        return _as_bytes(samples + self._bed(len(samples)))

    def quiet(self, size: int) -> bytes:
        """So many bytes without speech: zeros, or the noise at the level of the last answer."""
        if self._bed_gain == 0.0:
            return bytes(size)
        return _as_bytes(self._bed(size // 2))

    def _bed(self, count: int) -> npt.NDArray[np.float64]:
        start = self._random.randrange(len(self._noise))
        places = (start + np.arange(count)) % len(self._noise)
        bed: npt.NDArray[np.float64] = self._bed_gain * self._noise[places]
        return bed

    def _rendered(self, text: str, stretch: float) -> bytes:
        name = hashlib.sha256(f"{self._voice}|{stretch}|{text}".encode()).hexdigest()[:32]
        kept = self._folder / f"{name}.s16le"
        if kept.is_file():
            return kept.read_bytes()
        sound = self._render(text, stretch)
        # Written beside and renamed: another rehearsal may look at the same moment.
        handle, half_written = tempfile.mkstemp(dir=self._folder)
        with os.fdopen(handle, "wb") as stream:
            stream.write(sound)
        Path(half_written).replace(kept)
        return sound

    def _render(self, text: str, stretch: float) -> bytes:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "answer.wav"
            command = [self._program, *self._options(text, stretch, path)]
            try:
                subprocess.run(command, check=True, capture_output=True, timeout=_LONGEST_S)  # noqa: S603
                return _read_wave(path)
            except (OSError, subprocess.SubprocessError, wave.Error, EOFError) as error:
                raise RehearsalError(
                    f"{self._maker} could not say {text!r} with voice {self._voice}: {error}"
                ) from error

    def _options(self, text: str, stretch: float, path: Path) -> list[str]:
        if self._maker == "espeak-ng":
            speed = str(round(_ESPEAK_WPM / stretch))
            return ["-v", self._voice, "-s", speed, "-w", str(path), text]
        pace = ["--setf", f"duration_stretch={stretch}"]
        return ["-voice", self._voice, *pace, "-t", text, "-o", str(path)]


def loud_rms(samples: npt.NDArray[np.float64]) -> float:
    """Root mean square over the 20 ms windows within 20 dB of the loudest one."""
    whole = samples[: len(samples) // _WINDOW * _WINDOW].reshape(-1, _WINDOW)
    if not len(whole):
        return _rms(samples)
    powers = np.mean(whole**2, axis=1)
    loud = powers[powers >= powers.max() / 10.0 ** (_LOUD_PART_OF_PEAK_DB / 10.0)]
    return float(np.sqrt(np.mean(loud)))


def _read_wave(path: Path) -> bytes:
    with wave.open(str(path), "rb") as sound:
        rate_hz = sound.getframerate()
        samples = np.frombuffer(sound.readframes(sound.getnframes()), dtype="<i2")
    if rate_hz == SAMPLE_RATE_HZ:
        return samples.tobytes()
    return _as_bytes(soxr.resample(samples.astype(np.float64), rate_hz, SAMPLE_RATE_HZ))


def _as_bytes(samples: npt.NDArray[np.float64]) -> bytes:
    return bytes(np.clip(np.rint(samples), -32768, 32767).astype("<i2").tobytes())


def _rms(samples: npt.NDArray[np.float64]) -> float:
    return float(np.sqrt(np.mean(samples**2))) if len(samples) else 0.0
