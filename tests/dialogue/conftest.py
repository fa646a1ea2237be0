"""A bay to talk in: the shipped job or a small one, and the rules that hold after every event."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from textwrap import dedent, indent
from typing import Any

import pytest

from companion.dialogue import prompts
from companion.dialogue.effects import Close, Effect, Listen, Record, Say
from companion.dialogue.events import Event
from companion.dialogue.machine import begin, step
from companion.dialogue.state import Mode, State
from companion.facts import talking
from companion.facts.beforehand import HearingBefore, RoomNoise
from companion.facts.meanings import Confirmed, Number, Word, Yes
from companion.facts.opening import Opened, Resumed
from companion.facts.talking import Heard, How, Refused, Silent
from companion.job.loader import JobPaths, LoadedJob
from companion.language.grammar import Grammar
from companion.record import Entry
from companion.runtime import assembly
from companion.steps.reading.model import Reading
from tests.recorded import recorded
from tests.spoken import read_back, said

HEADER = """\
kind: job
id: small
name: A small job
example: true
cautions: [{say: Brakes on., write: Brakes on.}]
"""
FINISH = """
  - id: result
    title: Result
    steps:
      - {step: finish, id: finish, ranges_m: [100], say_signed: Sign off.}
"""


def check_what_always_holds(before: State, event: Event, after: State, effects: Any) -> None:
    """Never a digit or a sign in speech; always a prompt to listen under; only yes accepts."""
    for text in (e.text for e in effects if isinstance(e, Say)):
        assert not any(
            c.isdigit() or c in "+-−±{}_" for c in re.sub(r"(?<=[a-z])-(?=[a-z])", "", text)
        ), text
    listens = [e for e in effects if isinstance(e, Listen)]
    if after.mode is Mode.CLOSED:
        assert not listens
        assert before.mode is Mode.CLOSED or isinstance(effects[-1], Close)
    elif after.prompt is not None:
        assert len(listens) == 1
        assert effects[-1] is listens[0]
        assert listens[0].prompt_id == after.prompt.id
        assert listens[0].expectation == after.prompt.expectation
        told = after.prompt.told.said_back
        spoken = [e.text for e in effects if isinstance(e, Say) and e.prompt_id == after.prompt.id]
        if told is not None and told.choice is not None and spoken:
            # A yes takes what was named in the same breath.
            assert told.spoken in spoken[-1].lower()
    facts = recorded(effects)
    if any(before.readings.get(name) != taken for name, taken in after.readings.items()):
        wanted = max(1, len(before.waiting))
        assert [fact.kind for fact in facts].count("accepted") == wanted
    for fact in (fact for fact in facts if fact.kind in ("accepted", "answered")):
        assert isinstance(event, Heard)
        assert event.meaning == Yes() or isinstance(event.meaning, Confirmed)
        assert before.prompt is not None
        assert event.prompt_id == before.prompt.id
        if before.waiting:
            _check_said_back_together(before, fact)
            continue
        words = fact.body.get("spoken") or before.lexicon.choice_name(fact.body["choice"])
        back = f"{words[0].upper()}{words[1:]}."
        proposed = fact.body.get("proposed", False)
        # In front of what the files propose there may be something to do.
        asked = said(before.prompt.ask)
        assert asked.endswith(f"{back[:-1]}?") if proposed else asked == back
        assert before.prompt.reply == prompts.YES_OR_NO
        said_back = before.prompt.told.said_back
        assert said_back is not None
        if fact.kind == "answered":
            assert said_back.choice == fact.body["choice"]
        else:
            told = fact.body["value"].lstrip("-"), fact.body["unit"], fact.body["direction"]
            assert (said_back.value, said_back.unit, said_back.direction) == told


def _check_said_back_together(before: State, fact: Entry) -> None:
    assert before.prompt is not None
    assert before.prompt.reply == prompts.YES_OR_WHICH
    [told] = [
        each for each in before.prompt.told.together if each.step_id == fact.body["reading_id"]
    ]
    said_back = (told.value, told.unit, told.direction, told.spoken)
    body = fact.body
    assert said_back == (
        body["value"].lstrip("-"),
        body["unit"],
        body["direction"],
        body["spoken"],
    )
    assert 2 <= len(before.prompt.told.together) <= 3


@dataclass
class Talk:
    """One conversation; words go through the strict parser of the prompt that is open."""

    grammar: Grammar
    state: State
    answers: dict[str, str] = field(default_factory=dict)
    effects: tuple[Effect, ...] = ()
    events: list[Event] = field(default_factory=list)
    facts: list[Entry] = field(default_factory=list)

    def do(self, event: Event) -> Talk:
        before = self.state
        self.state, self.effects = step(before, event)
        self.events.append(event)
        self.facts += recorded(self.effects)
        check_what_always_holds(before, event, self.state, self.effects)
        return self

    def hear(self, *utterances: str) -> Talk:
        for words in utterances:
            assert self.state.prompt is not None, words
            meaning = self.grammar.for_step(self.state.prompt.expectation).parse(words)
            assert meaning is not None, f"{words!r} is no answer to {self.said[-1]!r}"
            self.do(Heard(self.prompt_id, meaning, How(words)))
        return self

    def mishear(self, reason: str = "unsure") -> Talk:
        return self.do(Refused(self.prompt_id, reason, How("mumble")))

    def silence(self) -> Talk:
        return self.do(Silent(self.prompt_id, 30.0))

    def resume(self) -> Talk:
        return self.do(Resumed())

    @property
    def prompt_id(self) -> str:
        assert self.state.prompt is not None
        return self.state.prompt.id

    @property
    def step_id(self) -> str:
        assert self.state.prompt is not None
        return self.state.prompt.step_id

    @property
    def said(self) -> list[str]:
        """What was said after the last event, each sentence in full."""
        facts = [e.fact for e in self.effects if isinstance(e, Record)]
        return [_in_full(fact) for fact in facts if isinstance(fact, talking.Said)]

    @property
    def spoken(self) -> list[str]:
        """The same as it was spoken: to who knows it, in short."""
        return [e.text for e in self.effects if isinstance(e, Say)]

    @property
    def asked(self) -> str:
        """The last thing said: what is answered next."""
        return self.said[-1]

    def can_hear(self, words: str) -> bool:
        assert self.state.prompt is not None
        return self.grammar.for_step(self.state.prompt.expectation).parse(words) is not None

    def fact(self, kind: str) -> Mapping[str, Any]:
        """The newest fact of this kind."""
        return self.every(kind)[-1]

    def every(self, kind: str) -> list[Mapping[str, Any]]:
        return [fact.body for fact in self.facts if fact.kind == kind]

    def now(self, kind: str) -> list[Mapping[str, Any]]:
        """The facts of this kind that follow from the last event."""
        return [fact.body for fact in recorded(self.effects) if fact.kind == kind]

    def value(self, step_id: str) -> Decimal:
        return self.state.readings[step_id].value

    def answer_once(self) -> Talk:
        """The answer that stands in `answers`, confirmed; done where something is to be done."""
        assert self.state.prompt is not None
        if self.state.prompt.expectation.done:
            return self.hear("done")
        self.hear(self.answers[self.step_id])
        if self.state.doubted is not None and self.state.mode is Mode.ASKING:
            # Unlikely, and so asked for once more.
            self.hear(self.answers[self.step_id])
        # One of a set waits for the others, and is said back with them.
        return self.hear("yes") if self.state.mode is Mode.CONFIRMING else self

    def go_on_to(self, step_id: str, *, doing: bool = False) -> Talk:
        """Answer everything until this step is asked (or, `doing`, a task of it stands open)."""
        for _ in range(300):
            assert self.state.mode is Mode.ASKING, self.said
            if self._is_asked(step_id, doing=doing):
                return self
            self.answer_once()
        raise AssertionError(f"{step_id} was never asked")

    def _is_asked(self, step_id: str, *, doing: bool) -> bool:
        """Whether the open prompt asks for it, or says it in front of what it asks for."""
        tasks = self.state.tasks
        if doing:
            return bool(tasks) and tasks[0].step_id == step_id
        assert self.state.prompt is not None
        asked = (self.step_id, *self.state.prompt.told.first)
        return step_id in asked and not tasks

    def spoil(self, **readings: str) -> Talk:
        self.answers |= readings
        return self


def _in_full(said: talking.Said) -> str:
    if said.ask is None:
        return said.text
    return " ".join(filter(None, (said.before, said.ask, said.reply)))


def words_for(plan: Any, step_id: str, value: str) -> str:
    """A reading as it is said: `-0.25` of a step with left and right is said with right."""
    reading = plan.step(step_id)
    assert isinstance(reading, Reading)
    number = Decimal(value)
    directions = reading.number.directions
    way = directions[0 if number > 0 else 1] if directions and number != 0 else None
    return read_back(Number(abs(number), way, reading.unit))


PERFECT_ANSWERS = {
    "consent": "words only",
    "reason": "bumper work",
    "fuel": "full tank",
    "faults_before": "no faults",
    "faults_after": "no faults",
    "road_test": "test complete",
    "toe_route": "degrees",
    "aim_route": "echo levels",
    "tool_verdict": "within limits",
}
PERFECT_READINGS = {
    **dict.fromkeys(("rule_rear_left_mm", "rule_rear_right_mm", "rule_front_left_mm"), "500"),
    **dict.fromkeys(("rule_front_right_mm", "rule_stand_mm"), "500"),
    **{f"ride_height_front_{side}_mm": "385" for side in ("left", "right")},
    **{f"ride_height_rear_{side}_mm": "390" for side in ("left", "right")},
    "battery_volt": "13.5",
    "temperature_celsius": "21",
    **{f"{s}_run_out_{a}_mm": "775" for s in ("left", "right") for a in (0, 90, 180, 270)},
    "toe_left_deg": "0.00",
    "toe_right_deg": "0.00",
    "toe_left_mm": "0.0",
    "toe_right_mm": "0.0",
    "toe_diameter_mm": "600",
    "level_mm_per_m": "0.0",
    "spot_left_mm": "0",
    "spot_right_mm": "0",
    "arm_left_mm": "775",
    "arm_right_mm": "775",
    "plate_distance_mm": "1200",
    "plate_height_mm": "520",
    "plumb_mm_per_m": "0.0",
    "tool_yaw_deg": "0.00",
    "tool_elevation_deg": "0.00",
    "tool_turns_left_screw": "0.50",
    "tool_turns_upper_screw": "-0.25",
}


def echo_levels_db(yaw_deg: float, elevation_deg: float) -> dict[str, str]:
    """What the scan tool shows of a radar with this aim, the plate being plumb and parallel.

    Two-way half-power pattern of the shipped vehicle's beam, off by lean and swing together; nearer
    by the cosine of the lean the plate is louder.
    """

    def level(lean: float, swing: float) -> str:
        off = ((lean - elevation_deg) / 12) ** 2 + ((swing - yaw_deg) / 10) ** 2
        nearer = math.cos(math.radians(lean)) * math.cos(math.radians(swing))
        return f"{60 - 24 * off - 20 * math.log10(nearer):.1f}"

    return {
        "echo_lean_towards_db": level(5, 0),
        "echo_lean_towards_near_db": level(2.5, 0),
        "echo_lean_upright_db": level(0, 0),
        "echo_lean_away_near_db": level(-2.5, 0),
        "echo_lean_away_db": level(-5, 0),
        "echo_swing_left_db": level(0, 5),
        "echo_swing_left_near_db": level(0, 2.5),
        "echo_swing_right_near_db": level(0, -2.5),
        "echo_swing_right_db": level(0, -5),
    }


@pytest.fixture(scope="session")
def grammar() -> Grammar:
    return assembly.language()


@pytest.fixture(scope="session")
def shipped() -> LoadedJob:
    return assembly.load(JobPaths())


@pytest.fixture(scope="session")
def in_words(shipped: LoadedJob) -> Callable[[Mapping[str, str]], dict[str, str]]:
    """Readings as figures, turned into what the technician says."""

    def make(readings: Mapping[str, str]) -> dict[str, str]:
        return {k: words_for(shipped.plan, k, v) for k, v in readings.items()}

    return make


@pytest.fixture(scope="session")
def aim_words(in_words: Any) -> Callable[[float, float], dict[str, str]]:
    """The nine echo levels, in words, of a radar that points so far left and so far up."""

    def make(yaw_deg: float, elevation_deg: float) -> dict[str, str]:
        return in_words(echo_levels_db(yaw_deg, elevation_deg))

    return make


@pytest.fixture(scope="session")
def open_bay(
    shipped: LoadedJob, grammar: Grammar, in_words: Any, aim_words: Any
) -> Callable[[], Talk]:
    """The shipped job, opened, in a bay where everything is as it should be."""
    answers = PERFECT_ANSWERS | in_words(PERFECT_READINGS) | aim_words(0.0, 0.0)

    def make() -> Talk:
        return Talk(grammar, begin(shipped.plan, grammar), dict(answers)).do(Opened())

    return make


@pytest.fixture
def bay(open_bay: Callable[[], Talk]) -> Talk:
    return open_bay()


@pytest.fixture(scope="session")
def always_holds() -> Callable[..., None]:
    return check_what_always_holds


@pytest.fixture(scope="session")
def moments(open_bay: Callable[[], Talk], in_words: Any, aim_words: Any) -> list[State]:
    """Every moment of three jobs by different routes, with corrections on the way."""
    unopened = open_bay().state
    found = [begin(unopened.plan, unopened.lexicon)]
    for route in ("echo levels", "tool angle", "screw turns"):
        talk = open_bay().spoil(aim_route=route, consent="keep the sound")
        talk.spoil(**aim_words(1.2, -0.8))
        talk.spoil(**in_words({"plate_distance_mm": "1224", "tool_yaw_deg": "1.20"}))
        put_right = {
            "stand_place": in_words({"plate_distance_mm": "1200"}),
            "aim_decision": aim_words(0.05, 0.0) | in_words({"tool_yaw_deg": "0.05"}),
        }
        while talk.state.mode is not Mode.CLOSED:
            found.append(talk.state)
            assert talk.state.prompt is not None
            if talk.state.tasks:
                talk.spoil(**put_right[talk.state.tasks[0].step_id])
            if talk.state.prompt.expectation.done:
                talk.hear("done")
            elif talk.state.mode is Mode.CONFIRMING:
                talk.hear("yes")
            else:
                talk.hear(talk.answers[talk.step_id])
        found.append(talk.state)
    return found + _moments_of_a_voice_check(unopened)


def _moments_of_a_voice_check(opened: State) -> list[State]:
    noise = RoomNoise(-58.0, -50.0, "reliable", "It is quiet enough to work by voice.")
    state, _ = step(begin(opened.plan, opened.lexicon), Opened(hearing=HearingBefore(noise, True)))
    found = [state]
    for meaning in (Yes(), Word("yes"), Word("five"), Word("fifteen")):
        assert state.prompt is not None
        state, _ = step(state, Heard(state.prompt.id, meaning))
        found.append(state)
    return found


@pytest.fixture
def small(tmp_path: Path, grammar: Grammar) -> Callable[..., Talk]:
    """A job of a few steps given as YAML, opened; `also` joins the job's header."""

    def make(steps: str, also: str = "", **answers: str) -> Talk:
        body = indent(dedent(steps).strip("\n"), " " * 6)
        text = f"{HEADER}{also}stages:\n  - id: first\n    title: First\n    steps:\n{body}{FINISH}"
        path = tmp_path / "small.yaml"
        path.write_text(text, encoding="utf-8")
        loaded = assembly.load(JobPaths(job=path))
        return Talk(grammar, begin(loaded.plan, grammar), answers).do(Opened())

    return make
