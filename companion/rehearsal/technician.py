"""A technician who knows only what he hears, does it in the bay, and answers in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from random import Random
from typing import assert_never

from companion.procedure.models import Vehicle
from companion.rehearsal.acts import Act, SetLean, SetSwing, perform
from companion.rehearsal.answers import (
    DONE_WORDS,
    NO_WORDS,
    OUT_OF_GRAMMAR,
    YES_WORDS,
    choice_said_back,
    said_choice,
    said_number,
    says_the_same,
)
from companion.rehearsal.misdoing import misdone
from companion.rehearsal.misreading import misread
from companion.rehearsal.prompts_heard import (
    Prompt,
    Unclear,
    WantsCarryOn,
    WantsChoice,
    WantsDone,
    WantsLastAgain,
    WantsNote,
    WantsReading,
    WantsVoiceCheck,
    WantsWord,
    WantsYes,
)
from companion.rehearsal.scales import scale
from companion.rehearsal.scenario import Scenario
from companion.rehearsal.slips import TALKING_SLIPS, Slips, TalkingSlip
from companion.rehearsal.understanding import Understanding
from companion.rehearsal.world import World

_COMMANDS: dict[TalkingSlip, str] = {
    "says_wait": "wait",
    "says_repeat": "repeat",
    "says_go_back": "go back",
    "asks_where": "where are we",
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What is said, None for silence, and how long after the prompt it begins."""

    text: str | None
    delay_s: float


@dataclass(frozen=True, slots=True)
class _Read:
    """What was read off a scale and is meant from then on."""

    wanted: WantsReading
    value: Decimal


class Technician:
    """Hears prompts one after the other; what he remembers is the last reading and the last act."""

    def __init__(
        self,
        world: World,
        vehicle: Vehicle,
        screw_names: Sequence[str],
        scenario: Scenario,
        slips: Slips,
        random: Random,
    ) -> None:
        self._world = world
        self._vehicle = vehicle
        self._screw_names = tuple(name.lower() for name in screw_names)
        self._ear = Understanding(screw_names)
        self._scenario = scenario
        self._slips = slips
        self._random = random
        self._read: _Read | None = None
        self._chosen: str | None = None
        self._done: WantsDone | None = None
        self._withheld: str | None = None
        self._stops = 0
        self._by_digits = False

    @property
    def reading_meant(self) -> Decimal | None:
        """The newest reading while it is being asked for or said back, signed as its scale is."""
        return self._read.value if self._read is not None else None

    @property
    def choice_meant(self) -> str | None:
        """The newest choice while it is being asked for or said back."""
        return self._chosen

    def hear(self, text: str) -> Answer:
        """Act on the prompt and answer it, slips included."""
        delay_s = self._random.uniform(0.3, 1.5)
        if self._withheld is not None:
            late, self._withheld = self._withheld, None
            return Answer(late, delay_s)
        prompt = self._ear.prompt(text)
        self._by_digits = self._by_digits or "every number digit by digit" in text
        slip = self._talking_slip(prompt, text)
        if slip is not None and slip not in ("late", "says_it_twice"):
            return Answer(self._misspoken(slip), delay_s)
        answer = self._answer(prompt, text)
        if answer is not None and slip in ("late", "says_it_twice"):
            self._withheld = answer
            return Answer(None if slip == "late" else answer, delay_s)
        return Answer(answer, delay_s)

    def _answer(self, prompt: Prompt, text: str) -> str | None:
        match prompt.wanted:
            case WantsReading() as wanted:
                return self._reading(wanted, prompt, text)
            case WantsLastAgain():
                return self._again(prompt, text)
            case WantsChoice(about):
                self._forget()
                self._chosen = self._choice(about)
                return self._said_choice(self._chosen)
            case WantsDone() as wanted:
                return self._do(wanted, text)
            case WantsYes(words):
                return self._judge(words, text)
            case WantsCarryOn():
                return self._after_pause(text)
            case WantsNote():
                return "the left rear tyre is worn"
            case WantsVoiceCheck():
                return "yes"
            case WantsWord(word):
                return word
            case Unclear():
                return None
            case _:
                assert_never(prompt.wanted)

    def _reading(self, wanted: WantsReading, prompt: Prompt, text: str) -> str:
        """Do what comes first and read; when only asked to repeat, say the same again."""
        same = self._read is not None and self._read.wanted == wanted
        if not (prompt.repeated and same):
            self._forget()
            for act in wanted.before:
                if not (self._scenario.leaves_swing and _puts_swing_back(act, wanted)):
                    perform(act, self._world)
            value = misread(wanted, self._world, self._slips, text)
            self._read = _Read(wanted, value)
        assert self._read is not None  # noqa: S101  -- set just above
        return self._said_number(self._read, digit_by_digit=prompt.digit_by_digit)

    def _again(self, prompt: Prompt, text: str) -> str | None:
        if self._read is None:
            return None
        value = misread(self._read.wanted, self._world, self._slips, text)
        self._read = _Read(self._read.wanted, value)
        return self._said_number(self._read, digit_by_digit=prompt.digit_by_digit)

    def _choice(self, about: str) -> str:
        if about != "tool_verdict":
            return self._scenario.choice(about)
        limits = self._vehicle.aim
        inside = abs(self._world.read("tool_yaw")) <= Decimal(
            str(limits.yaw_tolerance_deg)
        ) and abs(self._world.read("tool_elevation")) <= Decimal(
            str(limits.elevation_tolerance_deg)
        )
        return "tool_inside" if inside else "tool_outside"

    def _do(self, wanted: WantsDone, text: str) -> str:
        """Do it once, however often the same instruction is said in a row."""
        if wanted.act is not None and wanted != self._done:
            for act in misdone(wanted.act, self._screw_names, self._slips, text):
                perform(act, self._world)
        self._forget()
        self._done = wanted
        return self._one_of(DONE_WORDS)

    def _judge(self, words: str, text: str) -> str:
        """Yes to what was said back only if it is what was meant."""
        if self._right(words):
            return self._one_of(YES_WORDS)
        if self._slips.strikes("confirms_wrong"):
            self._slips.note("confirms_wrong", text, "no", "yes", harmful=True)
            return self._one_of(YES_WORDS)
        return self._one_of(NO_WORDS)

    def _right(self, words: str) -> bool:
        if "end the job" in words:
            return self._stops > self._scenario.carries_on_at_most
        if self._read is not None:
            return says_the_same(words, self._read.value, scale(self._read.wanted.scale))
        return self._chosen is not None and choice_said_back(words) == self._chosen

    def _after_pause(self, text: str) -> str:
        if "end the job" in text.lower():
            self._stops += 1
            if self._stops > self._scenario.carries_on_at_most:
                return "end the job"
        return "continue"

    def _talking_slip(self, prompt: Prompt, text: str) -> TalkingSlip | None:
        """At most one, and none where it would only answer a pause."""
        if isinstance(
            prompt.wanted, WantsCarryOn | WantsNote | WantsVoiceCheck | WantsWord | Unclear
        ):
            return None
        for kind in TALKING_SLIPS:
            if self._slips.strikes(kind):
                self._slips.note(kind, text, "an answer", kind, harmful=False)
                return kind
        return None

    def _misspoken(self, slip: TalkingSlip) -> str | None:
        if slip == "silent":
            return None
        if slip == "out_of_grammar":
            return self._random.choice(OUT_OF_GRAMMAR)
        return _COMMANDS[slip]

    def _forget(self) -> None:
        self._read, self._chosen, self._done = None, None, None

    def _said_number(self, read: _Read, *, digit_by_digit: bool) -> str:
        return said_number(
            read.value,
            scale(read.wanted.scale),
            self._random,
            varied=self._scenario.varied_wording,
            digit_by_digit=digit_by_digit or self._by_digits,
        )

    def _said_choice(self, choice: str) -> str:
        return said_choice(choice, self._random, varied=self._scenario.varied_wording)

    def _one_of(self, words: Sequence[str]) -> str:
        return self._random.choice(words) if self._scenario.varied_wording else words[0]


def _puts_swing_back(act: Act, wanted: WantsReading) -> bool:
    return isinstance(act, SetSwing) and SetLean(1) in wanted.before
