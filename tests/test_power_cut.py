"""The power goes in the middle of a job: what was heard to be kept is kept, and work goes on.

Each time a real process does a rehearsal with its record on the disk and is killed (SIGKILL) at a
random moment, which follows from a seed. POWER_CUTS sets how often (24).
"""

from __future__ import annotations

import json
import os
import signal
import time
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from random import Random
from typing import Any, BinaryIO

import pytest

from companion.dialogue.together import MOST_TOGETHER
from companion.facts.kinds import Fact, body_of, kind_of
from companion.facts.talking import Said
from companion.job.loader import JobPaths
from companion.recognition.port import Heard, Listening, SoundEnded
from companion.record import SqliteLog, StoredEvent, open_for_reading, open_record
from companion.record.audit.verify import verify
from companion.runtime import assembly
from companion.runtime.loop import Room, replay_record, resume_job
from companion.runtime.rehearsing import make_rehearsal, run_rehearsal
from companion.simulation.rehearsal import Rehearsal
from companion.simulation.scenario import Scenario
from companion.simulation.sources import TypedTechnician
from companion.speech.port import DEFAULT_SPEED_WPM, Spoken
from companion.speech.silent import SilentVoice
from companion.steps.aim.model import AimDecision
from companion.steps.computation.model import Computation
from companion.steps.decision.model import Decision
from companion.steps.reading.model import Reading
from companion.steps.shims.model import ShimAdvice
from companion.steps.stand_moves.model import Moves

POWER_CUTS = int(os.environ.get("POWER_CUTS", "24"))
MOST_READINGS_BEFORE = 42
"""No rehearsed job takes fewer readings than this before its end."""
PAUSE_S = 0.008
ANSWERS_AFTER_RESUMING = 8


class Telling:
    """Says down a pipe each fact that has been kept, then takes a breath, as a person would."""

    def __init__(self, pipe: int) -> None:
        self._pipe = pipe

    def fact(self, fact: Fact) -> None:
        kind = kind_of(fact)
        if kind in ("opened", "accepted"):
            told = {} if kind == "opened" else body_of(fact)
            os.write(self._pipe, json.dumps([kind, told]).encode() + b"\n")
        if kind == "heard":
            time.sleep(PAUSE_S)


def do_the_job(record: Path, pipe: int, seed: int) -> None:
    """What the child does: a whole typed rehearsal, its record on the disk."""
    loaded = assembly.load(JobPaths())
    with open_record(record) as database:
        log = SqliteLog(database, database.create_session())
        rehearsal = make_rehearsal(loaded, seed)
        run_rehearsal(
            loaded, assembly.language(), rehearsal, SilentVoice(), log, watcher=Telling(pipe)
        )


def start_child(record: Path, seed: int) -> tuple[int, BinaryIO]:
    """A child process at work; its id and what it tells."""
    reading_end, writing_end = os.pipe()
    child = os.fork()
    if child == 0:
        code = 1
        try:
            os.close(reading_end)
            do_the_job(record, writing_end, seed)
            code = 0
        finally:
            os._exit(code)
    os.close(writing_end)
    return child, os.fdopen(reading_end, "rb")


def cut_the_power(record: Path, seed: int, after: int, pause_s: float) -> list[dict[str, Any]]:
    """Kill the child so long after it told of so many readings; all that it told as accepted."""
    child, pipe = start_child(record, seed)
    try:
        told = [json.loads(pipe.readline()) for _ in range(1 + after)]
        time.sleep(pause_s)
    finally:
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
    with pipe:
        told += [json.loads(line) for line in pipe.read().splitlines()]
    assert told[0][0] == "opened"
    assert os.WIFSIGNALED(status), "the child had ended before the power was cut"
    return [body for kind, body in told if kind == "accepted"]


class RememberingVoice(SilentVoice):
    """Silent, and remembers what it was given to say."""

    def __init__(self) -> None:
        super().__init__()
        self.said: list[str] = []

    def say(self, text: str, speed: int = DEFAULT_SPEED_WPM, volume: float = 1.0) -> Spoken:
        self.said.append(text)
        return super().say(text, speed, volume)


class FewAnswers:
    """The technician's typed answers to what was asked last, so many of them; a watcher, too."""

    name = "typed technician"

    def __init__(self, rehearsal: Rehearsal, count: int) -> None:
        self._rehearsal, self._left = rehearsal, count
        self._asked: list[Said] = []
        self._typed = TypedTechnician(rehearsal)

    def hear(self, listening: Listening) -> Heard:
        if self._left == 0:
            raise SoundEnded("as many answers as the test wants have been given")
        self._left -= 1
        self._rehearsal.heard(self._asked[-1])
        return self._typed.hear(listening)

    def fact(self, fact: Fact) -> None:
        if isinstance(fact, Said) and fact.prompt_id is not None:
            self._asked.append(fact)

    def close(self) -> None:
        pass


def events_in(record: Path) -> list[StoredEvent]:
    with open_for_reading(record) as database:
        (session,) = database.sessions()
        return list(database.events(session.session_id))


def standing_readings(events: Iterable[StoredEvent]) -> set[str]:
    """The readings that count in this session, by a replay of its record."""
    return set(replay_record(assembly.load(JobPaths()), assembly.language(), events).readings)


def resume(record: Path, moved: str, seed: int) -> RememberingVoice:
    """Go on with the job for a few answers, with a technician who answers in a like bay."""
    loaded = assembly.load(JobPaths())
    voice = RememberingVoice()
    scenario = Scenario(moved="was_moved" if moved == "was_moved" else "not_touched")
    technician = make_rehearsal(loaded, seed, scenario=scenario)
    with open_record(record) as database:
        (session,) = database.sessions()
        log = SqliteLog(database, session.session_id)
        ears = FewAnswers(technician, ANSWERS_AFTER_RESUMING)
        with pytest.raises(SoundEnded):
            resume_job(
                Room(ears, voice, log, None, ears),
                loaded,
                assembly.language(),
                database.events(session.session_id),
            )
    return voice


def asked_again(events: Iterable[StoredEvent], standing: set[str]) -> set[str]:
    """The readings of `standing` that are asked for although nothing has taken them back."""
    reading_ids = {s.id for s in assembly.load(JobPaths()).plan.steps if isinstance(s, Reading)}
    kept, again = standing & reading_ids, set()
    for event in events:
        if event.kind == "taken_back":
            kept -= set(event.body["step_ids"])
        if event.kind == "said" and event.body["purpose"] == "ask":
            again |= {event.body["step_id"]} & kept
    return again


def last_asked(events: list[StoredEvent]) -> Mapping[str, Any]:
    """The prompt that stood open when the power went."""
    return next(
        event.body
        for event in reversed(events)
        if event.kind == "said" and event.body["purpose"] in ("ask", "read_back", "instruct")
    )


def says_where_it_was(
    voice: RememberingVoice, open_prompt: Mapping[str, Any], standing: Collection[str]
) -> bool:
    """Whether the open step is named, or the correction under way is asked for once more.

    Of readings that are said back together it is the first that has no yes yet.
    """
    loaded = assembly.load(JobPaths())
    step = loaded.plan.step(open_prompt["step_id"])
    together = getattr(step, "read_back_together", None)
    if together is not None:
        step = next(
            each
            for each in loaded.plan.steps
            if getattr(each, "read_back_together", None) == together and each.id not in standing
        )
    if isinstance(step, Decision | Moves | ShimAdvice | Computation | AimDecision):
        return any(open_prompt["ask"] in said for said in voice.said[1:])
    title = getattr(step, "title", loaded.plan.stage_of[step.id].title)
    return f"We were at {title.lower()}." in voice.said[0]


@pytest.mark.parametrize("number", range(POWER_CUTS))
def test_a_power_cut_loses_nothing_that_was_accepted(number: int, tmp_path: Path) -> None:
    random = Random(f"power cut {number}")
    record = tmp_path / "record.sqlite"
    accepted = cut_the_power(
        record,
        seed=number,
        after=random.randint(0, MOST_READINGS_BEFORE),
        pause_s=random.uniform(0.0, 4 * PAUSE_S),
    )

    assert verify(record) == []
    before = events_in(record)
    kept = [event.body for event in before if event.kind == "accepted"]
    assert kept[: len(accepted)] == accepted
    assert len(kept) <= len(accepted) + MOST_TOGETHER

    standing = standing_readings(before)
    voice = resume(record, "not_touched", seed=number)
    assert voice.said[0].startswith("I am back. We were at ")
    assert says_where_it_was(voice, last_asked(before), standing)
    assert ("Say not touched, or was moved." in voice.said[0]) == bool(standing)

    assert verify(record) == []
    after = events_in(record)
    assert after[: len(before)] == before
    assert after[len(before)].kind == "resumed"
    assert asked_again(after[len(before) :], standing) == set()
    assert Counter(e.kind for e in after[len(before) :])["heard"] == ANSWERS_AFTER_RESUMING


def test_when_the_stand_was_touched_what_hangs_on_it_is_read_again(tmp_path: Path) -> None:
    record = tmp_path / "record.sqlite"
    cut_the_power(record, seed=1, after=MOST_READINGS_BEFORE, pause_s=0.0)
    before = events_in(record)
    standing = standing_readings(before)
    touched = set(assembly.load(JobPaths()).plan.files.job.if_touched)
    assert standing & touched, "the cut has to come after the stand was read"

    resume(record, "was_moved", seed=1)
    assert standing - touched <= standing_readings(events_in(record))
    since = events_in(record)[len(before) :]
    answers = [event.body["choice"] for event in since if event.kind == "answered"]
    assert answers == ["was_moved"]
    taken_back = next(event.body for event in since if event.kind == "taken_back")
    assert taken_back["why"] == "touched while the companion was off"
    assert standing & touched <= set(taken_back["step_ids"])
