"""Telling a person's speech from what the microphone hears of the companion's own voice.

What is played is known, and so is how it arrives, from a measurement (`Echo`). A frame stands out
where it is louder, by a margin, than the background and than the echo that was measured. The
measurement may no longer hold, so the echo is also estimated along with the prompt: how much of the
last half second the played sound explains tells the coherence of the two (Carter, Knapp and Nuttall
1973: the magnitude-squared coherence is the share of power that a linear path explains).
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import numpy as np

from companion.recognition.port import FRAME_S, SAMPLE_RATE_HZ
from companion.recognition.samples import Samples, samples_of

ABOVE_BACKGROUND_DB = 9.0
ABOVE_ECHO_DB = 9.0
ABOVE_FOUND_ECHO_DB = 15.0
"""Speech stands out by so much: of the background, of the echo by what was measured, and of the
loudest that was found of it in this prompt."""
_LEAST_SHARE = 0.2
"""A smaller share explained is what chance explains of any sound."""
_LOOK_FRAMES = 5
_FAR_BELOW_DB = 6.0
_BAND_HZ = (200.0, 4000.0)
_FLOOR_FRAMES = 100
_FLOOR_PERCENTILE = 20
_QUIETEST_DBFS = -90.0
_EARLIER_S, _LATER_S = 0.06, 0.25
"""The echo of a moment may arrive by so much earlier than measured, and rings for so long after."""
_WINDOW_S = 0.5
_SEGMENT = 512
_HOP = 128
LONGEST_DELAY_S = 0.6
_STANDING_FRAMES, _OF_FRAMES = 3, 5


@dataclass(frozen=True)
class Echo:
    """What the microphone hears of the loudspeaker.

    `gain_db`: the level at which a sound arrives, less the level of its samples as they are played;
    `delay_s`: from the moment at which it is given to the loudspeaker.
    """

    gain_db: float
    delay_s: float


def band_level_dbfs(frame: Samples) -> float:
    """The level of a stretch of sound between 200 Hz and 4 kHz, dB relative to full scale (RMS)."""
    if not len(frame):
        return _QUIETEST_DBFS
    spectrum = np.abs(np.fft.rfft(frame)) ** 2
    hertz = np.fft.rfftfreq(len(frame), 1.0 / SAMPLE_RATE_HZ)
    power = 2.0 * spectrum[(hertz >= _BAND_HZ[0]) & (hertz <= _BAND_HZ[1])].sum() / len(frame) ** 2
    return max(_QUIETEST_DBFS, float(10.0 * np.log10(power + 1e-12)))


class OverVoice:
    """Follows the microphone, frame by frame, while something is played.

    The background is remembered from one prompt to the next.
    """

    def __init__(self, echo: Echo) -> None:
        self._echo = echo
        self._floor: deque[float] = deque(maxlen=_FLOOR_FRAMES)
        self._recent: deque[bool] = deque(maxlen=_OF_FRAMES)
        self._heard = np.zeros(0, np.float32)
        self._played = np.zeros(0, np.float32)
        self._played_dbfs: list[float] = []
        self._found_dbfs = _QUIETEST_DBFS
        self._frames = 0

    def begin(self, played: Samples) -> None:
        """From the next frame on this is being played (16 kHz, full scale 1.0)."""
        size = round(FRAME_S * SAMPLE_RATE_HZ)
        self._played = played
        self._played_dbfs = [
            band_level_dbfs(played[at : at + size]) for at in range(0, len(played), size)
        ]
        self._heard = np.zeros(0, np.float32)
        self._found_dbfs = _QUIETEST_DBFS
        self._recent.clear()
        self._frames = 0

    def follow(self, frame: bytes) -> bool:
        """One more frame; whether the last few stand out of background and echo."""
        samples = samples_of(frame)
        level = band_level_dbfs(samples)
        self._floor.append(level)
        wanted = max(
            self.background_dbfs + ABOVE_BACKGROUND_DB,
            self._expected_dbfs() + ABOVE_ECHO_DB,
            self._found_dbfs + ABOVE_FOUND_ECHO_DB,
        )
        self._recent.append(level > wanted)
        keep = round((_WINDOW_S + LONGEST_DELAY_S) * SAMPLE_RATE_HZ)
        self._heard = np.concatenate([self._heard, samples])[-keep:]
        self._frames += 1
        if self._frames % _LOOK_FRAMES == 0 and len(self._played):
            self._look()
        return sum(self._recent) >= _STANDING_FRAMES

    def _look(self) -> None:
        """How loud the echo is in truth."""
        share = self.explained()
        heard = self._heard[-round(_WINDOW_S * SAMPLE_RATE_HZ) :]
        if share >= _LEAST_SHARE and len(heard) >= 4 * _SEGMENT:
            found_dbfs = band_level_dbfs(heard) + float(10.0 * np.log10(share))
            self._found_dbfs = max(self._found_dbfs, found_dbfs)

    def hears_echo(self) -> bool:
        """Whether what is played was found in what is heard, and not far below the background."""
        return self._found_dbfs > self.background_dbfs - _FAR_BELOW_DB

    def stood_out_just_now(self) -> bool:
        """Whether any of the last few frames did."""
        return any(self._recent)

    @property
    def background_dbfs(self) -> float:
        """What is heard where nobody speaks, the quiet moments of the last three seconds."""
        return float(np.percentile(self._floor, _FLOOR_PERCENTILE)) if self._floor else 0.0

    def _expected_dbfs(self) -> float:
        """The loudest that the echo may be now, by what was measured."""
        now_s = self._frames * FRAME_S - self._echo.delay_s
        first = max(0, int((now_s - _LATER_S) / FRAME_S))
        last = int((now_s + _EARLIER_S) / FRAME_S) + 1
        played = self._played_dbfs[first : max(first, last)]
        return (max(played) if played else _QUIETEST_DBFS) + self._echo.gain_db

    def explained(self) -> float:
        """Of the power of the last half second the share that what is played explains, 0 to 1."""
        heard = self._heard[-round(_WINDOW_S * SAMPLE_RATE_HZ) :]
        if len(heard) < 4 * _SEGMENT:
            return 1.0
        end = self._frames * round(FRAME_S * SAMPLE_RATE_HZ)
        lags = {round(self._echo.delay_s * SAMPLE_RATE_HZ)}
        found = self._found_lag(heard, end)
        if found is not None:
            lags.add(found)
        return max(coherent_share(heard, self._stretch(end - lag, len(heard))) for lag in lags)

    def _stretch(self, end: int, count: int) -> Samples:
        """So many samples of what is played, up to this place; silence before and behind it."""
        found = np.zeros(count, np.float32)
        first, last = max(0, end - count), min(max(0, end), len(self._played))
        if last > first:
            found[first - (end - count) : last - (end - count)] = self._played[first:last]
        return found

    def _found_lag(self, heard: Samples, end: int) -> int | None:
        """The delay at which both are most alike, in samples; None where nothing was played."""
        longest = round(LONGEST_DELAY_S * SAMPLE_RATE_HZ)
        played = self._stretch(end, len(heard) + longest)
        if not np.any(played):
            return None
        # Both end now: what is heard begins `longest` samples later.
        before = np.concatenate([np.zeros(longest, np.float32), heard])
        return likeliest_delay(before, played, longest)[0]


def likeliest_delay(heard: Samples, played: Samples, longest: int) -> tuple[int, float]:
    """So many samples later than it is played it is heard, 0 to `longest`.

    Also by how many times that stands out of the other delays (RMS).
    """
    size = 1 << (len(heard) + len(played)).bit_length()
    cross = np.fft.rfft(heard, size) * np.conj(np.fft.rfft(played, size))
    # By phase alone: the loudest pitch would else be alike at every period.
    alike = np.abs(np.fft.irfft(cross / (np.abs(cross) + 1e-9), size)[: longest + 1])
    place = int(np.argmax(alike))
    return place, float(alike[place] / (np.sqrt(np.mean(alike**2)) + 1e-12))


def coherent_share(heard: Samples, played: Samples) -> float:
    """Of the power heard between 200 Hz and 4 kHz the share that what is played explains, 0 to 1.

    Both of shape (n,), sample for sample.
    """
    window = np.hanning(_SEGMENT).astype(np.float32)
    starts = range(0, len(heard) - _SEGMENT + 1, _HOP)
    x = np.fft.rfft([window * heard[at : at + _SEGMENT] for at in starts], axis=1)
    y = np.fft.rfft([window * played[at : at + _SEGMENT] for at in starts], axis=1)
    hertz = np.fft.rfftfreq(_SEGMENT, 1.0 / SAMPLE_RATE_HZ)
    band = (hertz >= _BAND_HZ[0]) & (hertz <= _BAND_HZ[1])
    heard_power = np.mean(np.abs(x[:, band]) ** 2, axis=0)
    played_power = np.mean(np.abs(y[:, band]) ** 2, axis=0)
    both = np.abs(np.mean(x[:, band] * np.conj(y[:, band]), axis=0)) ** 2
    coherence = both / (heard_power * played_power + 1e-20)
    return float((coherence * heard_power).sum() / (heard_power.sum() + 1e-20))
