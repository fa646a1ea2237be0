"""Long conversations with a technician who mostly does his job, and sometimes anything at all.

Most answers are a simulated technician's, so that a walk comes into every part of a job. Between
them come late and doubled answers, two answers at once, answers of another kind, noises, silences
of any length (the clock jumps), and restarts from the record.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from companion.dialogue.effects import Effect, Record
from companion.dialogue.events import Event, is_event
from companion.dialogue.machine import begin, replay, step
from companion.dialogue.state import Mode, State
from companion.dialogue.voice_check import expectation_in
from companion.facts.beforehand import HearingBefore, RoomNoise, VoiceChecked
from companion.facts.kinds import body_of, fact_of, kind_of
from companion.facts.meanings import (
    COMMAND_NAMES,
    Choice,
    Command,
    Done,
    Meaning,
    No,
    Number,
    Word,
    Yes,
)
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, How, Refused, Said, Silent
from companion.job.loader import JobPaths, LoadedJob
from companion.language.expectation import Expectation
from companion.language.grammar import Grammar
from companion.runtime import assembly
from companion.runtime.rehearsing import HARDER, choose_slips, make_rehearsal
from companion.simulation.scenario import Scenario
from tests.spoken import DIRECTIONS, UNITS
from tests.survival.broken import must
from tests.survival.invariants import Watch

VOICE_CHECK_SHARE = 0.25
WAITS_S = (0.0, 0.01, 30.0, 3600.0, 1e9, -5.0)
REASONS = ("unsure", "not_in_grammar", "too_loud", "clipped", "too_long", "sound_lost", "silence")


@dataclass
class Chaos:
    """Where the surprising events come from; `share` of all events are such."""

    random: Random
    share: float

    def event(self, state: State, grammar: Grammar, recent: list[Event]) -> Event:
        """Something that the technician did not mean to say now."""
        random = self.random
        open_id = state.prompt.id if state.prompt is not None else "p1"
        kind = random.randrange(10)
        if kind == 0 and recent:
            return random.choice(recent)
        if kind == 1:
            return Heard(f"p{random.randrange(1, 10_000)}", self.meaning(grammar))
        if kind in (2, 3):
            return Heard(open_id, self.meaning(grammar))
        if kind in (4, 5) and state.prompt is not None:
            return Heard(open_id, grammar.for_step(state.prompt.expectation).generate(random)[1])
        if kind == 6:
            return Refused(open_id, random.choice(REASONS), How("yes"))
        if kind == 7:
            return Silent(open_id, random.choice(WAITS_S))
        if kind == 8:
            return Heard(open_id, Command(random.choice(COMMAND_NAMES)))
        return Resumed() if random.random() < 0.9 else Opened()

    def meaning(self, grammar: Grammar) -> Meaning:
        """Any meaning there is."""
        random = self.random
        size = Decimal(random.randrange(0, 2_000_000)).scaleb(-random.randrange(0, 5))
        ways, units = [None, *DIRECTIONS], [None, *UNITS]
        return random.choice(
            [
                Yes(),
                No(),
                Done(),
                Number(size, random.choice(ways), random.choice(units)),
                Choice(random.choice(grammar.choice_ids())),
                Command(random.choice(COMMAND_NAMES)),
                Word(random.choice(expectation_in(assembly.language()).words)),
            ]
        )


@dataclass
class Walk:
    """One conversation, watched. `events` is what happened so far, for the replay."""

    loaded: LoadedJob
    grammar: Grammar
    seed: int
    share: float = 0.15
    events: list[Event] = field(default_factory=list)
    seen: Counter[str] = field(default_factory=Counter)

    def __post_init__(self) -> None:
        self.random = Random(f"{self.seed} walk")
        route = self.random.choice(("echo_levels", "echo_levels", "tool_angle", "tool_turns"))
        self.rehearsal = make_rehearsal(
            self.loaded,
            self.seed,
            slips=choose_slips(self.seed, self.random.randrange(4)),
            spread=HARDER if self.random.random() < 0.5 else None,
            scenario=Scenario(
                answers={"aim_route": route}, keeps_sound=self.random.choice((True, False))
            ),
        )
        self.chaos = Chaos(self.random, self.share)
        self.state = self.replayed = begin(self.loaded.plan, self.grammar)
        self.replayed_events = 0
        self.watch = Watch(self.loaded.plan, self._can_say_stop)
        self._stops: dict[Expectation, bool] = {}
        self.do(Opened(hearing=self._hearing()))

    def _hearing(self) -> HearingBefore:
        """What was found before the first word; a share of the jobs offers the voice check."""
        if self.random.random() >= VOICE_CHECK_SHARE:
            return HearingBefore()
        voice = self.random.choice(("reliable", "reliable", "uncertain", "unreliable"))
        noise = RoomNoise(-50.0, -40.0, voice, f"Your voice is {voice} here.")
        return HearingBefore(noise, True, False, self.random.choice((0.0, 0.9)))

    def _can_say_stop(self, state: State) -> bool:
        assert state.prompt is not None
        wanted = state.prompt.expectation
        if wanted not in self._stops:
            self._stops[wanted] = self.grammar.for_step(wanted).parse("stop") is not None
        return self._stops[wanted]

    def do(self, event: Event) -> None:
        """One event, checked."""
        before = self.state
        self.state, effects = step(before, event)
        self.events.append(event)
        self.watch.check(before, event, self.state, effects)
        self.seen[self.state.mode.value] += 1
        self._tell_the_technician(effects)

    def _tell_the_technician(self, effects: tuple[Effect, ...]) -> None:
        facts = [effect.fact for effect in effects if isinstance(effect, Record)]
        asked = [fact for fact in facts if isinstance(fact, Said) and fact.prompt_id is not None]
        for fact in facts:
            self.seen[f"fact {kind_of(fact)}"] += 1
            if isinstance(fact, VoiceChecked):
                self.seen[f"voice check {fact.outcome}"] += 1
        if asked:
            self.rehearsal.heard(asked[-1])

    def one(self) -> None:
        """The next event: mostly what the technician says, sometimes anything."""
        if self.random.random() < self.share:
            self.do(self.chaos.event(self.state, self.grammar, self.events[-20:]))
            return
        self.do(self.meant())

    def meant(self) -> Event:
        """What the technician says to the open prompt."""
        prompt = self.state.prompt
        assert prompt is not None
        words = self.rehearsal.answer_text()
        if words is None:
            return Silent(prompt.id, 30.0)
        meaning = self.grammar.for_step(prompt.expectation).parse(words)
        if meaning is None:
            # He answers what he took the prompt for; stopped or paused, he goes on.
            return Heard(prompt.id, Command("carry_on"))
        return Heard(prompt.id, meaning, How(words, confidence=round(self.random.random(), 2)))

    def run(self, most: int) -> int:
        """So many events at most, then the replay; how many there were."""
        while self.state.mode is not Mode.CLOSED and len(self.events) < most:
            self.one()
        self.do(Resumed())
        self.check_replay()
        return len(self.events)

    def check_replay(self) -> None:
        """The recorded events, through JSON and back, lead to the same state.

        What was replayed is kept: the next time, only what has happened since is replayed after it.
        """
        since = self.events[self.replayed_events :]
        self.replayed = replay(self.replayed, kept(since))
        self.replayed_events = len(self.events)
        must(self.replayed == self.state, "replay differs", self.seed)


def kept(events: list[Event]) -> Iterator[Event]:
    """The events as the record gives them back."""
    for event in events:
        back = fact_of(event.KIND, json.loads(json.dumps(body_of(event))))
        assert is_event(back)
        yield back


def walks(seed: int, events: int, most_in_a_walk: int = 600, share: float = 0.15) -> Counter[str]:
    """Conversations until so many events have happened; what was seen, and how often.

    Raises Broken, with the walk's seed, at the first invariant that does not hold.
    """
    loaded, grammar = assembly.load(JobPaths()), assembly.language()
    seen: Counter[str] = Counter()
    number = seed * 1_000_000
    while seen["events"] < events:
        number += 1
        walk = Walk(loaded, grammar, number, share)
        try:
            seen["events"] += walk.run(min(most_in_a_walk, events - seen["events"] + 2))
        except AssertionError as error:
            error.add_note(f"walk {number}, event {len(walk.events)}: {walk.events[-1]}")
            raise
        seen["walks"] += 1
        seen.update(walk.seen)
        if walk.state.result is not None:
            seen[f"result {walk.state.result}"] += 1
    return seen
