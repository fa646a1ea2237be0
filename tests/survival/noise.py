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
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from random import Random
from typing import Literal

from companion import parts
from companion.dialogue.events import Event, Heard, Refused, Silent
from companion.ears.listening import StreamEars
from companion.ears.port import FRAME_BYTES, SAMPLE_RATE_HZ, Recogniser, SoundEnded
from companion.ears.source import cut_into_frames
from companion.loop import ACT_ON_WEAK_EVIDENCE, Room, listen
from companion.record import MemoryLog
from companion.screen import Screen
from companion.voice.silent import SilentVoice
from companion.words.meanings import Choice, Command, Done, No, Number, Word, Yes
from tests.benchmarks.bay_sound import Samples, as_sound
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, Clip, read_clips, read_noises
from tests.survival.bystanders import People, is_no_answer, noise_alone
from tests.survival.open_prompts import Prompt, prompts
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


@dataclass
class Alone:
    """What came of a stretch at all prompts.

    `told`: a line for each thing taken, and for each false "stop". `busy_s`: processor seconds;
    `asked` and `remembered`: how often samples were to be judged, and how often they had been.
    """

    seen: Counter[str] = field(default_factory=Counter)
    told: list[str] = field(default_factory=list)
    busy_s: float = 0.0
    asked: int = 0
    remembered: int = 0


class _Played:
    """Sound that goes by: what came while nobody listened is not kept."""

    def __init__(self, sound: bytes) -> None:
        self._frames = cut_into_frames(sound)

    def frames(self) -> Iterator[bytes]:
        return self._frames

    def flush(self) -> None:
        """Listening begins again at once, so nothing went by."""

    def close(self) -> None:
        """Nothing to let go of."""


def heard_under(prompt: Prompt, sound: bytes, recogniser: Recogniser) -> Iterator[Event]:
    """What comes of a stretch of sound while this prompt stays open."""
    ears = StreamEars(_Played(sound), recogniser, parts.endpoint_settings(recogniser.name))
    room = Room(ears, SilentVoice(), MemoryLog(), None, Screen(quiet=True))
    try:
        while True:
            yield listen(room, parts.grammar(), prompt.state, prompt.listen)
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
    sounds_at = sound_at(stretch, folder)
    for number in range(len(prompts())) if at is None else at:
        prompt = prompts()[number]
        alone.seen[f"{stretch.sort}: seconds"] += round(stretch.seconds)
        for event in heard_under(prompt, sounds_at(number), recogniser):
            kind = f"{stretch.sort}: {kind_of(event)}"
            alone.seen[kind] += 1
            if isinstance(event, Heard):
                line = f"stretch {stretch.number}, {prompt.name!r}: {kind} {event.how.words!r}"
                alone.told.append(line)
    alone.busy_s = time.process_time() - began_s
    alone.asked, alone.remembered = account.asked - asked, account.remembered - remembered
    return alone


@lru_cache(maxsize=1)
def _ears() -> tuple[Recogniser, Account]:
    recogniser = parts.make_recogniser(parts.EarsChoice("own"))
    return recogniser, remember(recogniser)


def sound_at(stretch: Stretch, folder: Path) -> Callable[[int], bytes]:
    """How the stretch sounds at the prompt of a number."""
    random = Random(f"{stretch.sort} {stretch.number} nobody")
    if stretch.sort == "noise":
        noises = [noise for noise in read_noises(folder) if noise.half == "scoring"]
        sound = _cut(noise_alone(noises, random, stretch.seconds), stretch.seconds)
        return lambda number: sound
    clips, no_answers = _clips(folder), _no_answers(folder)
    people = People(clips, frozenset.intersection(*no_answers), random, stretch.seconds)
    return lambda number: _cut(people.heard_where(no_answers[number]), stretch.seconds)


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
