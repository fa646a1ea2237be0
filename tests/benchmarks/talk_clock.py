"""The clock of a job's talk: from one sound to the next, every second once.

A prompt lasts to its last sound. From there on somebody takes his time to begin, speaks to his own
last sound, and the ears decide a while after that: what a stop-watch on the bay's wall would show,
whatever silence the files have at their ends. Live, the ears open only after the companion's deaf
time and the tone for "your turn"; nobody begins sooner. The tone for "heard" opens the next prompt.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal, NamedTuple

import numpy as np

from companion.facts.talking import Said
from companion.recognition.port import FRAME_S, SAMPLE_RATE_HZ
from companion.settings.model import Settings
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.sources import TechnicianSource
from companion.speech.earcons import Earcon, earcon
from companion.speech.player import Samples

Part = Literal["companion", "before", "technician", "behind", "tone"]
"""Who is heard: the companion, nobody before an answer, the technician, nobody until the decision,
the tone."""
WAITING: tuple[Part, ...] = ("before", "behind", "tone")
LIVE_DECISION_S = 0.20
"""From an answer's last sound to the reply's first in a live job, median: `docs/live.md`."""
LIVE_MORE_S = 0.04
"""Of that, in the mean, what a live job takes beside the sound that the ears listen to: computing,
the record, rendering, and starting the sound card."""
_SOUNDING = 0.02
"""Sound is what lies above so much of the loudest, in windows of 10 ms (as the benchmark `gap`)."""


def sounding(samples: Samples, rate_hz: int) -> tuple[float, float]:
    """When sound begins and ends, in seconds; (0, 0) of silence."""
    step = rate_hz // 100
    peaks = np.abs(samples[: len(samples) // step * step]).reshape(-1, step).max(axis=1)
    loud = np.flatnonzero(peaks > _SOUNDING * peaks.max(initial=0.0))
    if not len(loud):
        return 0.0, 0.0
    return float(loud[0]) * step / rate_hz, float(loud[-1] + 1) * step / rate_hz


def samples_of(sound: bytes) -> Samples:
    """16 kHz mono s16le as samples."""
    return np.frombuffer(sound, "<i2").astype(np.float32)


def _tone_s(tone: Earcon) -> float:
    return len(earcon(tone, SAMPLE_RATE_HZ)) / SAMPLE_RATE_HZ


def ears_open_after_s(settings: Settings | None = None) -> float:
    """From the end of a prompt until a live job's ears listen (`runtime/configured.py`)."""
    settings = settings or Settings()
    return settings.deaf_after_speaking_s + (_tone_s("listening") if settings.earcons else 0.0)


HEARD_TONE_S = _tone_s("heard")


class Stretch(NamedTuple):
    """So long somebody, or nobody, is heard."""

    part: Part
    seconds: float
    text: str = ""


@dataclass
class Clock:
    """What was heard, one after the other; `tail_s`: silence behind the newest prompt's end."""

    stretches: list[Stretch] = field(default_factory=list)
    tail_s: float = 0.0

    def says(self, text: str, seconds: float, sounds_until_s: float) -> None:
        """A prompt is played; the answer to the one before was decided on."""
        if self.stretches and self.stretches[-1].part == "behind":
            self._add("tone", HEARD_TONE_S)
        self._add("companion", seconds, text)
        self.tail_s = seconds - sounds_until_s

    def listens(self) -> float:
        """The newest prompt is over with its last sound; how long from then the ears are deaf."""
        deaf_s = self.tail_s + ears_open_after_s()
        if self.tail_s:
            part, seconds, text = self.stretches.pop()
            self._add(part, seconds - self.tail_s, text)
        self.tail_s = 0.0
        return deaf_s

    def answers(self, text: str, before_s: float, voice_s: float, behind_s: float) -> None:
        """Somebody answers, or not (no voice)."""
        self._add("before", before_s)
        self._add("technician", voice_s, text)
        self._add("behind", behind_s)

    def answers_into(self, text: str, began_s: float, voice_s: float, behind_s: float) -> None:
        """Somebody answers into the prompt: from there on it is his voice that counts."""
        part, _, said = self.stretches.pop()
        self._add(part, began_s, said)
        self._add("technician", voice_s, text)
        self._add("behind", behind_s)

    def _add(self, part: Part, seconds: float, text: str = "") -> None:
        self.stretches.append(Stretch(part, seconds, text))

    def seconds(self, *parts: Part) -> float:
        """How long these take in all; of all parts where none is named."""
        return sum(each.seconds for each in self.stretches if not parts or each.part in parts)

    def decided_after_s(self) -> Sequence[float]:
        """From each answer's last sound to the decision."""
        return [each.seconds for each in self.stretches if each.part == "behind"]

    def table(self) -> Iterator[str]:
        """Line by line, with when it begins; at the end each part's sum beside the clock's."""
        at_s = 0.0
        sums: defaultdict[str, float] = defaultdict(float)
        for part, seconds, text in self.stretches:
            yield f"{at_s:7.2f} {seconds:6.2f}  {part:10} {text}".rstrip()
            at_s += seconds
            sums[part] += seconds
        told = ", ".join(f"{part} {seconds:.2f}" for part, seconds in sums.items())
        yield f"{at_s:7.2f} in all: {told}"


class Paced(Rehearsal):
    """The same rehearsal; the technician's voice begins when he does, not his voice's file."""

    def __init__(self, other: Rehearsal, clock: Clock) -> None:
        self.__dict__.update(other.__dict__)
        self._clock = clock
        self.before_s = 0.0
        self.sounds_s = (0.0, 0.0)
        self.open: tuple[float, float] | None = None

    def heard(self, said: Said) -> None:
        """See `Rehearsal.heard`. He begins after his own time, and when he is listened to.

        `open`: when the prompt may be answered and when its last sound is, where he knows it.
        """
        deaf_s = self._clock.listens()
        super().heard(said)
        delay_s = self.answer().delay_s
        self.before_s = max(delay_s, deaf_s)
        if self.open is not None:
            # He counts from the words on that tell what is asked, and nobody is deaf to him.
            open_after_s, sounds_until_s = self.open
            self.before_s = max(0.0, open_after_s + delay_s - sounds_until_s)
            self.open = None

    def sound(self) -> bytes:
        """See `Rehearsal.sound`; the silence at the beginning of the voice's file is left out."""
        sound = super().sound()
        begins_s, _ = sounding(samples_of(sound), SAMPLE_RATE_HZ)
        surplus = 2 * round((begins_s - self.before_s) * SAMPLE_RATE_HZ) if begins_s else 0
        sound = bytes(max(0, -surplus)) + sound[max(0, surplus) :]
        self.sounds_s = sounding(samples_of(sound), SAMPLE_RATE_HZ)
        return sound


class TimedSource(TechnicianSource):
    """What the ears get of him, counted in frames as they take them."""

    def __init__(self, rehearsal: Paced) -> None:
        super().__init__(rehearsal)
        self._paced = rehearsal
        self._taken = 0

    def frames(self) -> Iterator[bytes]:
        """See `TechnicianSource.frames`."""
        for frame in super().frames():
            self._taken += 1
            yield frame

    def flush(self) -> None:
        """A new turn: what is taken from here on belongs to it."""
        super().flush()
        self._taken = 0
        self._paced.sounds_s = (0.0, 0.0)

    def turn(self) -> tuple[float, float, float]:
        """Of the turn that is over: before the voice, the voice, behind it, in seconds."""
        whole_s = self._taken * FRAME_S
        begins_s, ends_s = (min(at_s, whole_s) for at_s in self._paced.sounds_s)
        if ends_s == 0.0:
            return whole_s, 0.0, 0.0
        return begins_s, ends_s - begins_s, whole_s - ends_s + LIVE_MORE_S
