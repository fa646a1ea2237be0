"""A bay in which the companion's voice and what is said into it sound at the same time.

Nothing here takes time: what is played goes on as far as frames are taken from the microphone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt

from companion.recognition.port import FRAME_BYTES, SAMPLE_RATE_HZ
from companion.recognition.samples import Samples
from companion.simulation.rehearsal import Rehearsal

FRAME = FRAME_BYTES // 2
_HUSHED_AFTER_S = 0.1
"""So much is still played after a hush: the sound card holds it already."""


class EchoingRoom:
    """What becomes of played sound on its way to the microphone: fainter, later, with a ring.

    `gain_db`: by so much it is changed; `delay_s`: it comes so much later; `ring_s`: the time in
    which its ring falls by 60 dB, `ring_db` that ring's power beside the direct sound's.
    """

    def __init__(
        self,
        gain_db: float,
        delay_s: float = 0.12,
        ring_s: float = 0.3,
        ring_db: float = -6.0,
        seed: int = 1,
    ) -> None:
        times_s = np.arange(max(1, round(ring_s * SAMPLE_RATE_HZ))) / SAMPLE_RATE_HZ
        ring = np.random.default_rng(seed).normal(size=len(times_s)) * 10 ** (-3 * times_s / ring_s)
        ring *= 10 ** (ring_db / 20) / np.sqrt(np.sum(ring**2))
        late = np.zeros(round(delay_s * SAMPLE_RATE_HZ))
        self.path = np.concatenate([late, [1.0], ring]) * 10 ** (gain_db / 20)
        self.delay_s = delay_s

    def heard(self, played: Samples) -> npt.NDArray[np.float64]:
        """Played samples as they arrive."""
        size = len(played) + len(self.path) - 1
        spectrum = np.fft.rfft(played, size) * np.fft.rfft(self.path, size)
        return np.asarray(np.fft.irfft(spectrum, size))


class SharedAir:
    """The microphone's sound: a bed of noise, the companion's echo, and what a person says.

    `bed`: so many bytes of the room alone, 16 kHz mono s16le. A `SoundSource`.
    """

    def __init__(self, room: EchoingRoom, bed: Callable[[int], bytes]) -> None:
        self._room = room
        self._bed = bed
        self._echo = np.zeros(0)
        self._speech = np.zeros(0)
        self.taken = 0

    def play(self, played: Samples, open_after_s: float | None = None) -> PlayedInto:
        """Play this through the loudspeaker from now on."""
        self._echo = self._room.heard(played)
        return PlayedInto(self, played, open_after_s)

    def play_no_more(self, played: Samples, now: int, end: int) -> None:
        """Now, at this sample of it, it is cut short: it ends at that one."""
        self._echo = self._room.heard(played[:end])[now:]

    def say(self, sound: bytes, after_s: float) -> None:
        """A person says this, so long from now; what he was saying he says no more."""
        wait = self._bed(2 * round(after_s * SAMPLE_RATE_HZ))
        self._speech = np.frombuffer(wait + sound, "<i2").astype(np.float64)

    def _before_frame(self) -> None:
        """Somebody may begin to speak now."""

    def frames(self) -> Iterator[bytes]:
        """30 ms each, for ever."""
        while True:
            self._before_frame()
            echo, self._echo = self._echo[:FRAME], self._echo[FRAME:]
            speech, self._speech = self._speech[:FRAME], self._speech[FRAME:]
            sound = np.zeros(FRAME)
            sound[: len(speech)] = speech
            # The room is in what a person says already.
            room = self._bed(FRAME_BYTES - 2 * len(speech))
            sound[len(speech) :] = np.frombuffer(room, "<i2")
            sound[: len(echo)] += 32768.0 * echo
            self.taken += FRAME
            yield bytes(np.clip(np.rint(sound), -32768, 32767).astype("<i2").tobytes())

    def is_speaking(self) -> bool:
        """Whether a person has not ended yet."""
        return len(self._speech) > 0

    def flush(self, *, deaf: bool = True) -> None:
        """Nothing waits."""

    def close(self) -> None:
        """Nothing to let go of."""


class PlayedInto:
    """`BeingSaid` in that air: it sounds as long as frames are taken."""

    def __init__(self, air: SharedAir, played: Samples, open_after_s: float | None) -> None:
        self._air = air
        self._played = played
        self._open_after_s = open_after_s
        self._began = air.taken
        self._end = len(played)

    @property
    def sounded_s(self) -> float:
        """So much of it has been played."""
        return min(self._air.taken - self._began, self._end) / SAMPLE_RATE_HZ

    def sound(self) -> Samples | None:
        """See `BeingSaid.sound`."""
        return self._played

    def open_after_s(self) -> float | None:
        """See `BeingSaid.open_after_s`."""
        return self._open_after_s

    def is_over(self) -> bool:
        """See `BeingSaid.is_over`."""
        return self._air.taken - self._began >= self._end

    def is_said_out(self) -> bool:
        """See `BeingSaid.is_said_out`."""
        return self._end == len(self._played)

    def hush(self) -> None:
        """See `BeingSaid.hush`."""
        held = round(_HUSHED_AFTER_S * SAMPLE_RATE_HZ)
        now = self._air.taken - self._began
        self._end = min(len(self._played), now + held)
        self._air.play_no_more(self._played, now, self._end)


class TechnicianInAir(SharedAir):
    """The technician, and what his microphone hears of the companion.

    He answers a prompt that he heard; where it may be answered into, he counts his time from the
    words on that tell what is asked. The stream ends when `patience_s` went by without a word.
    """

    def __init__(self, rehearsal: Rehearsal, room: EchoingRoom, patience_s: float = 60.0) -> None:
        super().__init__(room, rehearsal.speaker.quiet)
        self._rehearsal = rehearsal
        self._patience = round(patience_s * SAMPLE_RATE_HZ)
        self._answered = 0
        self._spoke = 0
        self._open_after_s = 0.0

    def play(self, played: Samples, open_after_s: float | None = None) -> PlayedInto:
        """See `SharedAir.play`."""
        self._open_after_s = open_after_s or 0.0
        self._spoke = self.taken
        return super().play(played, open_after_s)

    def _before_frame(self) -> None:
        if self._answered < self._rehearsal.prompts_heard:
            self._answered = self._rehearsal.prompts_heard
            self.say(self._rehearsal.sound(), self._open_after_s)
            self._open_after_s = 0.0
            self._spoke = self.taken

    def frames(self) -> Iterator[bytes]:
        """See `SharedAir.frames`."""
        for frame in super().frames():
            yield frame
            if not self.is_speaking() and self.taken - self._spoke > self._patience:
                return
