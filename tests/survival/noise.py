"""Noise, and people who do not mean the companion, at every prompt of a job.

Real recordings of noise, and of people saying what the prompt does not take (as from a radio in
the bay), go alone through the whole chain: endpointing, recogniser, strict parser, the rules of the
loop. Nobody answers, so nothing may be taken. "Stop" acts on weak evidence; false ones are counted
apart. A stretch goes by at all prompts in turn before the next one begins, so that ears which
remember (`remembering`) judge most of it once.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Literal, Protocol

from companion.commands.job_screen import Screen
from companion.dialogue.events import Event
from companion.facts.meanings import Choice, Command, Done, No, Number, Word, Yes
from companion.facts.talking import Heard, How, Refused, Silent
from companion.recognition.listening import StreamEars
from companion.recognition.port import FRAME_BYTES, SAMPLE_RATE_HZ, Recogniser, SoundEnded
from companion.recognition.source import cut_into_frames
from companion.record import MemoryLog
from companion.runtime import assembly
from companion.runtime.loop import ACT_ON_WEAK_EVIDENCE, Room, listen
from companion.speech.silent import SilentVoice
from tests.benchmarks.bay_sound import Samples, as_sound
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, Clip, read_clips, read_noises
from tests.survival.bystanders import People, is_no_answer, noise_alone
from tests.survival.open_prompts import Prompt, heard_language, prompts
from tests.survival.remembering import Account, remember

STRETCH_S = 30.0
STRETCHES_A_MINUTE = round(60.0 / STRETCH_S)

Sort = Literal["noise", "people"]


@dataclass(frozen=True)
class Stretch:
    """Half a minute of one sort of sound; the same number always sounds the same."""

    sort: Sort
    number: int
    seconds: float = STRETCH_S

    def random(self) -> Random:
        """Where the sound comes from."""
        return Random(f"{self.sort} {self.number} nobody")


@dataclass
class Alone:
    """What came of a stretch at all prompts.

    `told`: a line for each thing taken, and for each false "stop". `busy_s`: processor seconds;
    `asked` and `remembered`: how often samples were to be judged, and how often they had been;
    `most_kept_bytes`: the most that one part of the ears had to remember, up to then.
    """

    seen: Counter[str] = field(default_factory=Counter)
    told: list[str] = field(default_factory=list)
    busy_s: float = 0.0
    asked: int = 0
    remembered: int = 0
    most_kept_bytes: int = 0


class _Played:
    """Sound that goes by: what came while nobody listened is not kept."""

    def __init__(self, sound: bytes) -> None:
        self._frames = cut_into_frames(sound)

    def frames(self) -> Iterator[bytes]:
        return self._frames

    def flush(self, *, deaf: bool = True) -> None:
        """Listening begins again at once, so nothing went by."""

    def close(self) -> None:
        """Nothing to let go of."""


def heard_under(prompt: Prompt, sound: bytes, recogniser: Recogniser) -> Iterator[Event]:
    """What comes of a stretch of sound while this prompt stays open."""
    ears = StreamEars(_Played(sound), recogniser, assembly.endpoint_settings(recogniser.name))
    room = Room(ears, SilentVoice(), MemoryLog(), None, Screen(quiet=True))
    try:
        while True:
            yield listen(room, heard_language(), prompt.state, prompt.listen)
    except SoundEnded:
        return


TAKEN = {
    Number: "reading",
    Yes: "yes",
    No: "no",
    Done: "done",
    Choice: "choice",
    Word: "word of the voice check",
}


def kind_of(event: Event) -> str:
    """What an event counts as.

    A word taken in the voice check answers nothing of the job; it counts for or against the
    hearing there, and the next word is asked for.
    """
    match event:
        case Silent():
            return "silences"
        case Refused():
            return "refused"
        case Heard(_, Command(name)):
            return f"false {name}" if name in ACT_ON_WEAK_EVIDENCE else "taken: command"
        case Heard(_, meaning):
            return f"taken: {TAKEN[type(meaning)]}"
        case _:
            raise AssertionError(event)


def listen_to_nobody(
    stretch: Stretch, folder: Path = DEFAULT_FOLDER, at: Sequence[int] | None = None
) -> Alone:
    """One stretch at the prompts of these numbers (all, unless told) in turn; what was counted."""
    recogniser, account = _ears()
    asked, remembered, began_s = account.asked, account.remembered, time.process_time()
    alone = Alone()
    sounding = sounding_of(stretch, folder)
    for number in range(len(prompts())) if at is None else at:
        prompt = prompts()[number]
        alone.seen[f"{stretch.sort}: seconds"] += round(stretch.seconds)
        for event in heard_under(prompt, sounding.sound(number), recogniser):
            kind = f"{stretch.sort}: {kind_of(event)}"
            alone.seen[kind] += 1
            if isinstance(event, Heard):
                said = sounding.said(number, event.how)
                told = f"{kind} {event.how.words!r}{said}, at {prompt.name!r}"
                alone.told.append(f"stretch {stretch.number}: {told}")
    alone.busy_s = time.process_time() - began_s
    alone.asked, alone.remembered = account.asked - asked, account.remembered - remembered
    alone.most_kept_bytes = account.most_kept_bytes
    return alone


@lru_cache(maxsize=1)
def _ears() -> tuple[Recogniser, Account]:
    recogniser = assembly.make_recogniser(assembly.EarsChoice("own"), assembly.language())
    return recogniser, remember(recogniser)


class Sounding(Protocol):
    """How a stretch sounds at the prompt of a number, and what is really said in it."""

    def sound(self, number: int) -> bytes:
        """The whole stretch."""
        ...

    def said(self, number: int, how: How) -> str:
        """What was said when this was heard, for a line that tells of it."""
        ...


def sounding_of(stretch: Stretch, folder: Path) -> Sounding:
    """The stretch, from the recordings of this folder."""
    return _OfNoise(stretch, folder) if stretch.sort == "noise" else _OfPeople(stretch, folder)


class _OfNoise:
    def __init__(self, stretch: Stretch, folder: Path) -> None:
        noises = [noise for noise in read_noises(folder) if noise.half == "scoring"]
        samples = noise_alone(noises, stretch.random(), stretch.seconds)
        self._sound = _cut(samples, stretch.seconds)

    def sound(self, number: int) -> bytes:
        return self._sound

    def said(self, number: int, how: How) -> str:
        return ""


class _OfPeople:
    def __init__(self, stretch: Stretch, folder: Path) -> None:
        self._seconds = stretch.seconds
        self._no_answers = _no_answers(folder)
        self._transcripts = {clip.path: clip.transcript for clip in _clips(folder)}
        never = frozenset.intersection(*self._no_answers)
        self._people = People(_clips(folder), never, stretch.random(), stretch.seconds)

    def sound(self, number: int) -> bytes:
        return _cut(self._people.heard_where(self._no_answers[number]), self._seconds)

    def said(self, number: int, how: How) -> str:
        if how.start_s is None or how.end_s is None:
            return ""
        middle_s = (how.start_s + how.end_s) / 2
        path = self._people.path_at(middle_s, self._no_answers[number])
        return f" for {self._transcripts[path]!r} at {middle_s:.0f} s"


@lru_cache(maxsize=1)
def _no_answers(folder: Path) -> tuple[frozenset[Path], ...]:
    """For each prompt the clips that are no answer there."""
    return tuple(
        frozenset(clip.path for clip in _clips(folder) if is_no_answer(clip, prompt.grammar))
        for prompt in prompts()
    )


@lru_cache(maxsize=1)
def _clips(folder: Path) -> list[Clip]:
    clips = read_clips(folder)
    return [clip for clip in clips if clip.half == "scoring" and not clip.set_aside]


def _cut(samples: Samples, seconds: float) -> bytes:
    sound = as_sound(samples)[: round(seconds * SAMPLE_RATE_HZ) * 2]
    return sound[: len(sound) // FRAME_BYTES * FRAME_BYTES]
