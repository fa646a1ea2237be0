"""Where rendered prompts go: a loudspeaker, one sound file, or nowhere."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt
import soundfile
import soxr

from companion.base import sound_cards
from companion.errors import VoiceError

_BLOCK_S = 0.05
_FILE_RATE_HZ = 22_050

_TAIL_S = 0.1
"""Of the silence that a speech maker leaves behind a prompt so much stays: the answer may come."""
LONGEST_PAUSE_S = 0.2
"""Of the pause that a speech maker leaves between two sentences so much stays; that between the
groups of a row of figures is shorter as it is."""
_SILENT = 1e-3
_SILENT_WITHIN = 1e-2

Samples = npt.NDArray[np.float32]


class SoundSink(Protocol):
    """Takes one prompt at a time."""

    def play(self, samples: Samples, rate_hz: int) -> bool:
        """Take samples of shape (n,), full scale 1.0; False when it was hushed on the way."""
        ...

    def hush(self) -> None:
        """Stop playing at once; may be called from another thread."""
        ...

    def close(self) -> None:
        """Let go of device or file; harmless when called twice."""
        ...


def read_prompt(path: Path, volume: float) -> tuple[Samples, int]:
    """Samples (n,) of a rendered prompt scaled by `volume` (held to 0..1), and their rate in Hz.

    Without the silence at its end, in which nobody is listened to, and with no pause in it longer
    than `LONGEST_PAUSE_S`. Raises `VoiceError` if the file
    cannot be read.
    """
    try:
        samples, rate_hz = soundfile.read(path, dtype="float32", always_2d=True)
    except (OSError, soundfile.SoundFileError) as error:
        raise VoiceError(f"{path}: the rendered prompt cannot be read ({error})") from error
    mono = samples.mean(axis=1, dtype=np.float32) * np.float32(min(max(volume, 0.0), 1.0))
    return _with_short_pauses(_without_tail(mono, int(rate_hz)), int(rate_hz)), int(rate_hz)


def _without_tail(samples: Samples, rate_hz: int) -> Samples:
    sounding = np.flatnonzero(np.abs(samples) > _SILENT * np.max(np.abs(samples), initial=0.0))
    if not len(sounding):
        return samples
    return samples[: sounding[-1] + 1 + round(_TAIL_S * rate_hz)]


def _with_short_pauses(samples: Samples, rate_hz: int) -> Samples:
    peak = np.max(np.abs(samples), initial=0.0)
    sounding = np.flatnonzero(np.abs(samples) > _SILENT_WITHIN * peak)
    longest = round(LONGEST_PAUSE_S * rate_hz)
    kept = np.ones(len(samples), dtype=bool)
    for place in np.flatnonzero(np.diff(sounding) > longest):
        # Half of it stays on either side: no sound is cut into that dies away or swells.
        last, following = sounding[place], sounding[place + 1]
        kept[last + 1 + longest // 2 : following - (longest - longest // 2)] = False
    return samples[kept]


class SilentSink:
    """Takes prompts without a sound."""

    def play(self, samples: Samples, rate_hz: int) -> bool:
        """Nothing is played."""
        return True

    def hush(self) -> None:
        """Nothing is ever being played."""

    def close(self) -> None:
        """Nothing to let go of."""


class FileSink:
    """Collects everything said in one WAV or FLAC file (by its suffix), 22.05 kHz mono.

    `gap_s` of silence follows each prompt. Raises `VoiceError` if the file cannot be written.
    """

    def __init__(self, path: Path, gap_s: float = 0.3) -> None:
        self._path = path
        self._gap_s = gap_s
        if path.suffix.lower() not in {".wav", ".flac"}:
            raise VoiceError(f"{path}: sound can be collected in a .wav or .flac file only")
        try:
            self._file = soundfile.SoundFile(
                path, "w", samplerate=_FILE_RATE_HZ, channels=1, subtype="PCM_16"
            )
        except (OSError, soundfile.SoundFileError) as error:
            raise VoiceError(f"{path}: the sound file cannot be written ({error})") from error

    def play(self, samples: Samples, rate_hz: int) -> bool:
        """Append the prompt and the gap."""
        if rate_hz != _FILE_RATE_HZ:
            samples = soxr.resample(samples, rate_hz, _FILE_RATE_HZ)
        self._file.write(samples)
        self._file.write(np.zeros(round(self._gap_s * _FILE_RATE_HZ), dtype=np.float32))
        return True

    def hush(self) -> None:
        """A file takes a prompt in no time: there is nothing to stop."""

    def close(self) -> None:
        """Finish the file."""
        self._file.close()


class LoudspeakerError(VoiceError):
    """The loudspeaker is not there or failed; another look at the devices may help."""


class DeviceSink:
    """A loudspeaker. `device`: PortAudio number or part of a name; None for the system's own.

    Raises `LoudspeakerError` when there is no such device.
    """

    def __init__(self, device: int | str | None = None) -> None:
        self._device = device
        self._hushed = threading.Event()
        self._sounddevice = self._checked_library()

    def _checked_library(self) -> Any:
        try:
            library = sound_cards.portaudio()
        except sound_cards.NoPortAudio as error:
            raise LoudspeakerError(
                f"loudspeaker: {error}", said="loudspeaker-no-portaudio", why=str(error)
            ) from error
        try:
            library.check_output_settings(device=self._device, channels=1)
        except (library.PortAudioError, ValueError) as error:
            raise self._failed(error) from error
        return library

    def _named(self) -> str:
        return "default" if self._device is None else str(self._device)

    def play(self, samples: Samples, rate_hz: int) -> bool:
        """Play to the end, or until hushed. Raises `LoudspeakerError` when the device fails."""
        self._hushed.clear()
        block = max(1, round(_BLOCK_S * rate_hz))
        try:
            with (
                sound_cards.playing(),
                self._sounddevice.OutputStream(
                    samplerate=rate_hz, device=self._device, channels=1, dtype="float32"
                ) as stream,
            ):
                for start in range(0, len(samples), block):
                    if self._hushed.is_set():
                        stream.abort()
                        return False
                    stream.write(np.ascontiguousarray(samples[start : start + block, None]))
        except (self._sounddevice.PortAudioError, ValueError) as error:
            raise self._failed(error) from error
        return True

    def _failed(self, error: Exception) -> LoudspeakerError:
        name, why = self._named(), sound_cards.why(error)
        return LoudspeakerError(
            f"loudspeaker ({name}): cannot play ({why})",
            said="loudspeaker-fails",
            name=name,
            why=why,
        )

    def hush(self) -> None:
        """Stop within a twentieth of a second."""
        self._hushed.set()

    def close(self) -> None:
        """The stream is closed after each prompt."""
