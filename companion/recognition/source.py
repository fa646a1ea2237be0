"""Sound from a file or from memory, in the one shape that this room uses."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from companion.errors import EarsError
from companion.recognition.port import FRAME_BYTES, SAMPLE_RATE_HZ

LEAST_RATE_HZ = 8_000
LONGEST_FILE_S = 3_600.0
LONGEST_ANSWER_S = 20.0
_BLOCK_FRAMES = 1 << 16
_AT_ONCE_S = 120.0
"""What is longer is converted block by block: an hour of many channels fits no memory."""


def to_sound(samples: npt.NDArray[np.float32], rate_hz: int) -> bytes:
    """Samples of shape (n,) or (n, channels), full scale 1.0, as 16 kHz mono s16le bytes."""
    mono = samples if samples.ndim == 1 else samples.mean(axis=1, dtype=np.float32)
    if rate_hz != SAMPLE_RATE_HZ:
        mono = soxr.resample(mono, rate_hz, SAMPLE_RATE_HZ)
    return bytes(np.clip(np.rint(mono * 32768.0), -32768, 32767).astype("<i2").tobytes())


def read_sound(path: Path, longest_s: float = LONGEST_FILE_S) -> bytes:
    """A whole sound file (WAV, FLAC, OGG; any rate, depth and channels) as 16 kHz mono s16le.

    Raises `EarsError` naming the file if it is missing, no sound file, empty, cut short, longer
    than `longest_s`, or sampled below 8 kHz.
    """
    if not os.path.isfile(path):  # pathlib's raises at names that are too long
        raise EarsError(
            f"{path}: there is no such sound file", said="no-sound-file", file=str(path)
        )
    _refuse_cut_wav(path)
    try:
        with soundfile.SoundFile(path) as sound_file:
            rate_hz = int(sound_file.samplerate)
            promised = int(sound_file.frames)
            _refuse_odd_shape(path, rate_hz, promised, longest_s)
            found, sound = _converted(path, sound_file, rate_hz)
    except soundfile.SoundFileError as error:
        raise EarsError(
            f"{path}: this is not a sound file that can be read ({error}); wanted WAV or FLAC",
            said="not-sound",
            file=str(path),
            why=str(error),
        ) from error
    if found < promised:
        raise EarsError(f"{path}: the file is cut short: {found} of {promised} samples are there")
    return sound


def _converted(path: Path, file: soundfile.SoundFile, rate_hz: int) -> tuple[int, bytes]:
    """How many samples a channel there are, and the sound; never all channels at a time."""
    at_once = file.frames <= _AT_ONCE_S * rate_hz
    found, parts = 0, []
    resampler = soxr.ResampleStream(rate_hz, SAMPLE_RATE_HZ, 1, dtype="float32")
    for block in file.blocks(_BLOCK_FRAMES, dtype="float32", always_2d=True):
        if not np.all(np.isfinite(block)):
            raise EarsError(f"{path}: the file holds samples that are not numbers")
        found += len(block)
        mono = block[:, 0] if block.shape[1] == 1 else block.mean(axis=1, dtype=np.float32)
        if at_once:
            parts.append(mono.copy())
        elif rate_hz == SAMPLE_RATE_HZ:
            parts.append(to_sound(mono, rate_hz))
        else:
            parts.append(to_sound(resampler.resample_chunk(mono), SAMPLE_RATE_HZ))
    if at_once:
        joined = np.concatenate(parts) if parts else np.zeros(0, np.float32)
        return found, to_sound(joined, rate_hz) if found else b""
    if rate_hz != SAMPLE_RATE_HZ:
        nothing = np.zeros(0, np.float32)
        parts.append(to_sound(resampler.resample_chunk(nothing, last=True), SAMPLE_RATE_HZ))
    return found, b"".join(parts)


def _refuse_odd_shape(path: Path, rate_hz: int, sample_count: int, longest_s: float) -> None:
    if sample_count <= 0:
        raise EarsError(f"{path}: the sound file is empty; wanted at least one sample")
    if rate_hz < LEAST_RATE_HZ:
        raise EarsError(f"{path}: sampled at {rate_hz} Hz; wanted {LEAST_RATE_HZ} Hz or more")
    if sample_count > longest_s * rate_hz:
        raise EarsError(f"{path}: longer than {longest_s:.0f} s; cut it into parts")


def _refuse_cut_wav(path: Path) -> None:
    """The WAV reader takes what is there in silence, so compare the size in the header."""
    with path.open("rb") as stream:
        head = stream.read(12)
    if len(head) == 0:
        raise EarsError(f"{path}: the file is empty; wanted a WAV or FLAC file")
    if len(head) < 12 or head[:4] != b"RIFF" or head[8:12] != b"WAVE":
        return
    promised = int.from_bytes(head[4:8], "little") + 8
    found = path.stat().st_size
    if promised > found:
        raise EarsError(
            f"{path}: the file is cut short: its header promises {promised} bytes, "
            f"{found} are there"
        )


def cut_into_frames(sound: bytes) -> Iterator[bytes]:
    """Frames of `FRAME_BYTES`; the last one is filled up with silence."""
    for start in range(0, len(sound), FRAME_BYTES):
        yield sound[start : start + FRAME_BYTES].ljust(FRAME_BYTES, b"\0")


class MemorySource:
    """Sound that is already here (16 kHz mono s16le)."""

    gone = False

    def __init__(self, sound: bytes) -> None:
        self._sound = sound

    def frames(self) -> Iterator[bytes]:
        """The sound, frame by frame."""
        return cut_into_frames(self._sound)

    def flush(self, *, deaf: bool = True) -> None:
        """Nothing waits: the next frame is read when it is asked for."""

    def close(self) -> None:
        """Nothing to let go of."""


class FileSource(MemorySource):
    """A sound file. Raises `EarsError` if it cannot be read (see `read_sound`)."""

    def __init__(self, path: Path) -> None:
        super().__init__(read_sound(path))
