"""Joins a person to the simulated bay: the job as it is, with instruments that exist on paper only.

Only the record differs from a job's: it also tells what each instrument showed. A single stage is
reached by the simulated technician, silently; then the person takes over.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from companion.dialogue.state import State
from companion.facts import talking
from companion.facts.answers import Accepted, Answered
from companion.facts.kinds import Fact
from companion.facts.meanings import Done
from companion.facts.opening import Opened, Stage
from companion.facts.watching import Watcher
from companion.job.loader import LoadedJob
from companion.language.language import Language
from companion.recognition.port import Ears, Heard, Listening, SoundEnded
from companion.record.port import Log
from companion.runtime.loop import Room, start_job
from companion.simulation.practice import PracticeBay
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.sources import TypedTechnician
from companion.speech.port import BRISK_PERCENT, DEFAULT_SPEED_WPM, Spoken, Voice

OWN_HANDS = "*"
"""What a line begins with that is about the hands, not an answer: *2 is twice as far."""
MOST_TIMES = 20


class StageOver(Exception):
    """The one stage that was to be practised is behind."""


@dataclass(frozen=True)
class Practised:
    """How it went. `state` is None where the practice ended before the job did.

    `stage_done`: the one stage to practise came to its end, at the stage `went_on_to`.
    `companion_s` is how long the companion spoke, `person_s` how long it waited for the person;
    `refused`: what was heard and not understood, by how often.
    """

    state: State | None
    stage_done: bool
    went_on_to: int
    bay: PracticeBay
    answers: int
    refused: Counter[str]
    silences: int
    companion_s: float
    person_s: float
    truly_inside: bool


class Practice:
    """One person's practice. `stage`: the number of the only one that is practised, from 1.

    `lines` are what the person types: one that begins with `OWN_HANDS` is about his hands and is
    never an answer; `told` hears whether it meant anything.
    """

    def __init__(self, rehearsal: Rehearsal, stage: int | None = None) -> None:
        setting = rehearsal.setting
        self._rehearsal = rehearsal
        self._stage = stage
        self._stage_now = 0
        self._was_there = stage is None
        self.bay = PracticeBay(
            rehearsal.world, setting.vehicle, setting.script, rehearsal.slips.random
        )

    @property
    def is_on(self) -> bool:
        """Whether it is the person's turn."""
        return self._stage is None or self._stage_now == self._stage

    def typed(self, lines: Iterable[str], told: Callable[[Decimal | None], None]) -> Iterator[str]:
        """The lines that are answers; `told` gets how far the hands will go, None if nowhere."""
        for line in lines:
            if not line.strip().startswith(OWN_HANDS):
                yield line
                continue
            times = _times(line.strip().removeprefix(OWN_HANDS))
            told(times if times is not None and self.bay.will_do(times) else None)

    def run(
        self,
        loaded: LoadedJob,
        language: Language,
        ears: Ears,
        voice: Voice,
        log: Log,
        *,
        watcher: Watcher,
        brisk_percent: int = BRISK_PERCENT,
    ) -> Practised:
        """The whole job or the stage; ends early where sound or lines end."""
        looking_on = _LookingOn(self, watcher)
        timed = _Timed(voice, self)
        hearing = _PracticeEars(self, self._rehearsal, looking_on, ears, log)
        room = Room(hearing, timed, log, None, looking_on, brisk_percent=brisk_percent)
        state: State | None = None
        stage_done = False
        try:
            state = start_job(room, loaded, language, rehearsal=True)
        except StageOver:
            stage_done = True
        except (SoundEnded, KeyboardInterrupt):
            pass
        return Practised(
            state,
            stage_done,
            self._stage_now,
            self.bay,
            hearing.answers,
            looking_on.refused,
            looking_on.silences,
            timed.spoken_s,
            hearing.waited_s,
            self._rehearsal.world.truly_inside(),
        )

    def stage_began(self, stage: Stage) -> None:
        """Whose turn it is follows from the stage."""
        self._stage_now = stage.number
        self._was_there = self._was_there or self.is_on

    def check_over(self) -> None:
        """Raises StageOver once the one stage to practise is behind."""
        if self._was_there and not self.is_on:
            raise StageOver


class _PracticeEars:
    """The person's ears and instruments; the simulated technician's until it is his turn."""

    def __init__(
        self,
        practice: Practice,
        rehearsal: Rehearsal,
        looking_on: _LookingOn,
        ears: Ears,
        log: Log,
    ) -> None:
        self._practice = practice
        self._rehearsal = rehearsal
        self._looking_on = looking_on
        self._person = ears
        self._before = TypedTechnician(rehearsal)
        self._log = log
        self.name = ears.name
        self.answers = 0
        self.waited_s = 0.0

    def hear(self, listening: Listening) -> Heard:
        """See `Ears.hear`."""
        practice, looking_on = self._practice, self._looking_on
        practice.check_over()
        if not practice.is_on:
            self._rehearsal.heard(looking_on.prompt)
            return self._before.hear(listening)
        for shows in practice.bay.asked(looking_on.prompt, looking_on.titles):
            self._log.append([shows])
            looking_on.fact(shows)
        began = time.monotonic()
        heard = self._person.hear(listening)
        self.waited_s += time.monotonic() - began
        self.answers += 1
        return heard

    def close(self) -> None:
        self._person.close()


class _LookingOn:
    """Knows the open prompt, tells the bay what came of it, and passes the person's part on."""

    def __init__(self, practice: Practice, watcher: Watcher) -> None:
        self._practice = practice
        self._watcher = watcher
        self.prompt = talking.Said(None, None, "", "", "", None)
        self.titles: dict[str, str] = {}
        self.refused: Counter[str] = Counter()
        self.silences = 0

    def fact(self, fact: Fact) -> None:
        match fact:
            case Opened() as opened:
                outline = opened.job_told
                self.titles = {
                    step.id: step.title for stage in outline.stages for step in stage.steps
                }
            case Stage() as stage:
                self._practice.stage_began(stage)
            case talking.Said(prompt_id=str()) as said:
                self.prompt = said
            case Answered() as answered:
                self._practice.bay.answered(answered)
            case _:
                pass
        if not self._practice.is_on and not isinstance(fact, Opened):
            return
        self._take(fact)
        self._watcher.fact(fact)

    def _take(self, fact: Fact) -> None:
        bay = self._practice.bay
        match fact:
            case talking.Heard(meaning=Done()):
                bay.done()
            case talking.Refused(how=how) as refused if not refused.is_note:
                self.refused[how.words] += 1
            case talking.Silent():
                self.silences += 1
            case Accepted() as accepted:
                bay.accepted(accepted)
            case _:
                pass


class _Timed:
    """The voice, silent until it is the person's turn, and how long it spoke."""

    def __init__(self, voice: Voice, practice: Practice) -> None:
        self._voice = voice
        self._practice = practice
        self.spoken_s = 0.0

    def prepare(self, texts: Iterable[str], speed: int = DEFAULT_SPEED_WPM) -> None:
        self._voice.prepare(texts, speed)

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        if not self._practice.is_on:
            return Spoken(0.0, None, "silent")
        began = time.monotonic()
        spoken = self._voice.say(text, speed, volume)
        took_s = time.monotonic() - began
        # What is spoken into a file takes no time now, and yet is talk.
        self.spoken_s += took_s if spoken.sound is None else max(took_s, spoken.duration_s)
        return spoken

    def hush(self) -> None:
        self._voice.hush()

    def close(self) -> None:
        self._voice.close()


def _times(told: str) -> Decimal | None:
    """How many times as far; None for what is no such number."""
    try:
        times = Decimal(told.strip().replace(",", "."))
    except InvalidOperation:
        return None
    return times if times.is_finite() and abs(times) <= MOST_TIMES else None
