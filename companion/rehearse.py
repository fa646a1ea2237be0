"""Joins the rehearsal bay to the loop: a whole job with a simulated technician.

The technician hears the words of each prompt and nothing else. Typed, his words go straight to the
strict parser; spoken, a synthetic voice says them and a real recogniser hears them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from random import Random
from typing import Any, Protocol

from companion.dialogue.state import State
from companion.ears.listening import StreamEars
from companion.ears.port import FRAME_BYTES, Ears, Heard, Listening, Recogniser, Refusal, Utterance
from companion.loop import Room, Watcher, resume_job, start_job
from companion.procedure.loader import LoadedJob
from companion.record.port import Log, StoredEvent
from companion.rehearsal.scenario import Scenario
from companion.rehearsal.slips import (
    ACTING_SLIPS,
    READING_SLIPS,
    TALKING_SLIPS,
    PlannedSlip,
    SlipKind,
    Slips,
)
from companion.rehearsal.technician import Technician
from companion.rehearsal.truth import Spread, Truth
from companion.rehearsal.world import World
from companion.voice.port import DEFAULT_SPEED_WPM, Spoken, Voice
from companion.words.grammar import Grammar

SLIPS_TO_CHOOSE: tuple[SlipKind, ...] = (*READING_SLIPS, *ACTING_SLIPS, *TALKING_SLIPS)
MOST_LISTENS = 3_000


@dataclass
class Bay:
    """The simulated bay and its technician, with what the companion said to him last."""

    world: World
    technician: Technician
    slips: Slips
    last_said: str | None = None
    asked: int = 0

    def answer(self) -> str | None:
        """What the technician answers to what he heard last; each prompt is answered once."""
        self.asked += 1
        said, self.last_said = self.last_said, None
        if said is None or self.asked > MOST_LISTENS:
            return None
        return self.technician.hear(said).text


def make_bay(
    loaded: LoadedJob,
    seed: int,
    scenario: Scenario | None = None,
    planned: tuple[PlannedSlip, ...] = (),
    truth: Truth | None = None,
    spread: Spread | None = None,
) -> Bay:
    """A bay whose hidden truth, noise, wording and slips all follow from the seed."""
    files = loaded.plan.files
    random = Random(seed)  # noqa: S311  -- a simulation, repeatable by its seed
    hidden = truth or Truth.draw(random, files.vehicle, files.mount, files.bay, spread)
    world = World(hidden, files.vehicle, files.mount, files.bay, random)
    slips = Slips(random, planned)
    names = [screw.name for screw in files.mount.screws]
    technician = Technician(world, files.vehicle, names, scenario or Scenario(), slips, random)
    return Bay(world, technician, slips)


def choose_slips(seed: int, count: int) -> tuple[PlannedSlip, ...]:
    """So many slips of kinds and at moments that follow from the seed."""
    random = Random(seed * 7919 + 1)  # noqa: S311
    return tuple(
        PlannedSlip(random.choice(SLIPS_TO_CHOOSE), random.randint(1, 12)) for _ in range(count)
    )


class HeardVoice:
    """A voice that the technician hears too."""

    def __init__(self, voice: Voice, bay: Bay) -> None:
        self._voice = voice
        self._bay = bay

    def prepare(self, texts: Any, speed: int = DEFAULT_SPEED_WPM) -> None:
        self._voice.prepare(texts, speed)

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        self._bay.last_said = text
        return self._voice.say(text, speed, volume)

    def hush(self) -> None:
        self._voice.hush()

    def close(self) -> None:
        self._voice.close()


class TypedTechnicianEars:
    """The technician's words as text: the strict parser hears them as they are."""

    name = "typed"

    def __init__(self, bay: Bay) -> None:
        self._bay = bay

    def hear(self, listening: Listening) -> Heard:
        text = self._bay.answer()
        if text is None:
            return Refusal("silence", "", b"", self.name, "the technician said nothing")
        return Utterance(text, 1.0, 0.0, 0.0, (text,), b"", self.name)

    def close(self) -> None:
        """Nothing to let go of."""


class Speaker(Protocol):
    """A synthetic voice in a room with its own background sound."""

    def say(self, text: str) -> bytes: ...

    def quiet(self, size: int) -> bytes: ...


class TechnicianSource:
    """The sound in the room: the technician's voice when he answers, else quiet."""

    def __init__(self, speaker: Speaker) -> None:
        self._speaker = speaker
        self._waiting = b""

    def say(self, text: str) -> None:
        self._waiting = self._speaker.say(text)

    def frames(self) -> Iterator[bytes]:
        while True:
            sound, self._waiting = self._waiting, b""
            for start in range(0, len(sound), FRAME_BYTES):
                yield sound[start : start + FRAME_BYTES].ljust(FRAME_BYTES, b"\0")
            yield self._speaker.quiet(FRAME_BYTES)

    def flush(self) -> None:
        """Nothing is collected while the companion speaks."""

    def close(self) -> None:
        """Nothing to let go of."""


class SpokenTechnicianEars:
    """The technician speaks; the usual ears hear him."""

    def __init__(self, bay: Bay, recogniser: Recogniser, speaker: Speaker) -> None:
        self._bay = bay
        self._source = TechnicianSource(speaker)
        self._ears = StreamEars(self._source, recogniser)
        self.name = self._ears.name

    def hear(self, listening: Listening) -> Heard:
        text = self._bay.answer()
        if text is not None:
            self._source.say(text)
        return self._ears.hear(listening)

    def close(self) -> None:
        self._ears.close()


@dataclass
class Score:
    """What came of a rehearsal, judged by the bay's own hidden truth."""

    result: str | None
    yaw_deg: float
    elevation_deg: float
    truly_inside: bool
    rounds: int
    slips_made: int
    slips_harmful: int
    facts: dict[str, int] = field(default_factory=dict)

    @property
    def false_inside(self) -> bool:
        """The one thing that must not happen."""
        return self.result == "inside" and not self.truly_inside


class Counting:
    """A watcher that counts facts and passes them on."""

    def __init__(self, watcher: Watcher | None = None) -> None:
        self.counts: dict[str, int] = {}
        self._watcher = watcher

    def fact(self, kind: str, body: Mapping[str, Any]) -> None:
        self.counts[kind] = self.counts.get(kind, 0) + 1
        if self._watcher is not None:
            self._watcher.fact(kind, body)


def run_rehearsal(
    loaded: LoadedJob,
    grammar: Grammar,
    bay: Bay,
    ears: Ears,
    voice: Voice,
    log: Log,
    watcher: Watcher,
    clips: Any = None,
    resumed_from: list[StoredEvent] | None = None,
) -> State:
    """The whole job, or the rest of one that was broken off."""
    room = Room(ears, HeardVoice(voice, bay), log, clips, watcher)
    if resumed_from is not None:
        return resume_job(room, loaded, grammar, resumed_from)
    return start_job(
        room, loaded, grammar, {"technician": "Simulated technician", "rehearsal": True}
    )


def score(loaded: LoadedJob, bay: Bay, state: State, counts: Mapping[str, int]) -> Score:
    """The rehearsal against the hidden truth of its bay."""
    truth = bay.world.truth_now()
    yaw, elevation = truth.aim_yaw_deg, truth.aim_elevation_deg
    limits = loaded.plan.files.vehicle.aim
    inside = (
        abs(yaw) <= limits.yaw_tolerance_deg and abs(elevation) <= limits.elevation_tolerance_deg
    )
    return Score(
        result=state.result,
        yaw_deg=yaw,
        elevation_deg=elevation,
        truly_inside=inside,
        rounds=state.aim.round if state.aim is not None else 0,
        slips_made=len(bay.slips.made),
        slips_harmful=sum(slip.harmful for slip in bay.slips.made),
        facts=dict(counts),
    )
