"""A recogniser that hears what a denoiser left: spectral gating, or the RNNoise network."""

from __future__ import annotations

import importlib.util
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import soxr

from companion.errors import EarsError
from companion.recognition.port import SAMPLE_RATE_HZ, Recogniser, Recognition, StepGrammarLike

Samples = npt.NDArray[np.float32]

_RNNOISE_RATE_HZ = 48_000


class DenoisedRecogniser:
    """`Recogniser` behind a denoiser. Raises `EarsError` where the denoiser is not installed."""

    def __init__(self, inner: Recogniser, method: str) -> None:
        self._inner = inner
        self.name = f"{method}+{inner.name}"
        self.least_confidence = inner.least_confidence
        self.least_resemblance = inner.least_resemblance
        self._clean = _Gate() if method == "gate" else _RnNoise()

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """What the recogniser itself could never hear."""
        return self._inner.missing_words(words)

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        self._inner.load(grammar)

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`."""
        samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(32768.0)
        cleaned = np.clip(self._clean(samples), -1.0, 1.0)
        return self._inner.recognise(np.rint(cleaned * 32767.0).astype("<i2").tobytes())


class _Gate:
    """Spectral gating as the package `noisereduce` (MIT) does it out of the box."""

    def __init__(self) -> None:
        try:
            self._reduce: Any = import_module("noisereduce").reduce_noise
        except ModuleNotFoundError as error:
            raise EarsError(
                f"spectral gating: {error.name} is missing; wanted pip install noisereduce==3.0.3"
            ) from error

    def __call__(self, samples: Samples) -> Samples:
        return np.asarray(self._reduce(y=samples, sr=SAMPLE_RATE_HZ), dtype=np.float32)


class _RnNoise:
    """RNNoise, from the package `pyrnnoise` (Apache-2.0), frame by frame at 48 kHz."""

    def __init__(self) -> None:
        # The package's front wants more than the network does: take the one file that runs it.
        found = importlib.util.find_spec("pyrnnoise")
        places = list(found.submodule_search_locations or ()) if found is not None else []
        if not places:
            raise EarsError("RNNoise: wanted pip install --no-deps pyrnnoise==0.4.5")
        spec = importlib.util.spec_from_file_location("rnnoise", Path(places[0]) / "rnnoise.py")
        assert spec is not None
        assert spec.loader is not None
        self._library: Any = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(self._library)

    def __call__(self, samples: Samples) -> Samples:
        size = self._library.FRAME_SIZE
        fine = soxr.resample(samples, SAMPLE_RATE_HZ, _RNNOISE_RATE_HZ)
        frames = np.pad(fine, (0, -len(fine) % size)).reshape(-1, size)
        whole = np.clip(np.rint(frames * 32767.0), -32768, 32767).astype(np.int16)
        state = self._library.create()
        try:
            made = [self._library.process_mono_frame(state, frame)[0] for frame in whole]
        finally:
            self._library.destroy(state)
        cleaned = np.concatenate(made)[: len(fine)].astype(np.float32) / np.float32(32768.0)
        return np.asarray(soxr.resample(cleaned, _RNNOISE_RATE_HZ, SAMPLE_RATE_HZ))
