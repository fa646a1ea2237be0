"""Everything the conversation knows at one moment. It is a fold over events, nothing more."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from typing import Protocol

from companion.dialogue.effects import Purpose
from companion.facts.instructions import Instruction
from companion.facts.meanings import Choice, Number
from companion.facts.message import Amount, Message, Told
from companion.facts.prompting import Prompted
from companion.job.plan import Plan
from companion.language.expectation import Expectation
from companion.language.vocabulary import VoiceCheckWords
from companion.uncertainty.measured import Measured


class Lexicon(Protocol):
    """What the conversation needs of its language."""

    @property
    def yes_and_next(self) -> bool:
        """Whether "yes" with the next answer behind it may be invited."""
        ...

    @property
    def voice_check(self) -> VoiceCheckWords:
        """What the voice check asks for."""
        ...

    def say(self, message: Message) -> str:
        """The words of a message."""
        ...

    def show(self, message: Message) -> str:
        """The same as it is shown, with figures and signs."""
        ...

    def read_back(self, number: Number) -> str:
        """A number as it is said back."""
        ...

    def choice_name(self, choice_id: str) -> str:
        """The choice in words, as it is said back."""
        ...

    def examples(self, expectation: Expectation, number: Number | None = None) -> tuple[str, ...]:
        """A few phrases that this expectation takes; `number`: a likely one of it."""
        ...


class Mode(StrEnum):
    """What kind of answer the open prompt waits for."""

    ASKING = "asking"
    CONFIRMING = "confirming"
    TAKING_NOTE = "taking_note"
    PAUSED = "paused"
    STOPPED = "stopped"
    ENDING = "ending"
    RESUMING = "resuming"
    GOING_BACK = "going_back"
    CHECKING_VOICE = "checking_voice"
    CLOSED = "closed"


@dataclass(frozen=True)
class Prompt:
    """The open prompt: only an answer that carries its id counts.

    A repetition says `ask` and `reply` again; `told` is what the record tells of it. `short`: what
    is enough for who knows it; `said_short`: that was all that was said. `before`: what was said in
    front of it, in the same breath. `announced`: what was told in the same go before it, each with
    what for. `counted`: what counts as told by all of that (`State.told`), `in_full`: the text that
    counts as heard in full, "" for none that did not before.
    """

    id: str
    step_id: str
    ask: Told
    expectation: Expectation
    reply: Told = ""
    told: Prompted = Prompted()  # noqa: RUF009 - frozen
    short: Told = ""
    said_short: bool = False
    before: Told = ""
    announced: tuple[tuple[Told, Purpose], ...] = ()
    counted: tuple[str, ...] = ()
    in_full: str = ""


@dataclass(frozen=True)
class TakenReading:
    """A reading that was said back and confirmed. `value` carries its sign by direction.

    `u`: its standard uncertainty by itself, in its unit; of it the step of its scale and what
    scatters from take to take (None: nobody has said how much does).
    """

    value: Decimal
    amount: Amount
    take: int
    u: float
    resolution: float
    scatters: float | None


@dataclass(frozen=True)
class Task:
    """Something to do now that the job file or the arithmetic asks for; answered by done.

    `text` says it, `short` is enough for who heard that in this job ("": all of it is said every
    time); `instruction` is the same as a value, None where it is no move that is known.
    `perhaps_done`: it was asked for before, and nobody knows whether it was done then: that is said
    each time, for what is turned twice is turned wrong. `if_begun` says it then, where a part of
    it may have been done and counts ("": `text` does).
    """

    step_id: str
    text: Told
    instruction: Instruction | None = None
    short: Told = ""
    if_begun: Told = ""
    perhaps_done: bool = False


@dataclass(frozen=True)
class Waiting:
    """A reading that was heard and waits for others of its set, to be said back with them."""

    step_id: str
    number: Number
    attempts: int = 1


@dataclass(frozen=True)
class LastMove:
    """What was to be corrected, to notice when it goes the wrong way."""

    value: float
    u: float


@dataclass(frozen=True)
class WordHeard:
    """One word of the voice check: what was asked for, what it was taken for ("" for nothing).

    `snr_db`: how far the voice stood above the noise, None where the ears do not tell.
    """

    asked: str
    taken: str = ""
    confidence: float = 0.0
    speech_dbfs: float | None = None
    snr_db: float | None = None


@dataclass(frozen=True)
class VoiceCheck:
    """The voice check as far as it has come; offered only, until it has `begun`."""

    begun: bool = False
    heard: tuple[WordHeard, ...] = ()
    silences: int = 0


@dataclass(frozen=True)
class State:
    """One moment of a job. Mappings are never changed in place.

    By step id: `readings`, `answers` and `results` are what counts now; `takes` how often a reading
    was taken, `last_values` what it last came to, also where that no longer counts; `last_moves`
    what was last asked to be corrected, by result; `targets` what a reading should come to by
    the moves that were asked for, until it is read; `rounds` how often a loop went round;
    `suspected` the readings that were already asked for again where results did not fit.
    `proposed`: the questions of which an answer was proposed, each once. `history`: the steps
    answered, the last of them the first that "go back" takes back. `tasks`: what is to be done
    before the next step, `tasks_done`: what was done of that since the last answer. `pending`: said
    back and not yet confirmed; `waiting`: what is said back together once it is whole, `one_by_one`
    what was said no to together and is said back by itself. `said_first`: instructions said in
    front of the open prompt, done with its answer. `doubted`: an unlikely number that is asked for
    once more. `interrupted`: the mode that a note broke into.
    `no_matches` and `silences` count hearings in a row that came to nothing; `misheard` those of
    the former that were not typed, and never more than them (`asking.misses`), and `denied` that
    one of them was said back and answered no. `result`: that of
    the `finished` fact, None until the job is over. `kept`: what a kind of step keeps for itself.

    `told`: how often what was said in full, and which units; `asked_last` the step whose prompt was
    opened last, and `in_full`: the next prompt is not to be shortened.
    `into_prompts`: known prompts may be answered before they end. `in_full_texts`: prompts that
    were said in full, as they were spoken. `unheard`: what "stop" was said into and was not heard
    to its end; it is told before the work goes on, and `unheard_before` in the breath in which it
    does.
    `digit_by_digit` and `least_confidence` are what the voice check asks of this person's answers:
    on top of what the ears demand by themselves, never instead of it. `is_loud`: so the room was
    found before the job.
    """

    plan: Plan = field(repr=False)
    lexicon: Lexicon = field(repr=False, compare=False)
    mode: Mode = Mode.ASKING
    prompt: Prompt | None = None
    prompt_count: int = 0
    stage_id: str | None = None
    stages_seen: frozenset[str] = frozenset()
    readings: Mapping[str, TakenReading] = field(default_factory=dict)
    takes: Mapping[str, int] = field(default_factory=dict)
    last_values: Mapping[str, TakenReading] = field(default_factory=dict)
    answers: Mapping[str, str] = field(default_factory=dict)
    done: frozenset[str] = frozenset()
    results: Mapping[str, Measured] = field(default_factory=dict)
    last_moves: Mapping[str, LastMove] = field(default_factory=dict)
    targets: Mapping[str, float] = field(default_factory=dict)
    rounds: Mapping[str, int] = field(default_factory=dict)
    suspected: Mapping[str, frozenset[str]] = field(default_factory=dict)
    tasks: tuple[Task, ...] = ()
    tasks_done: tuple[Task, ...] = ()
    pending: Number | Choice | None = None
    waiting: tuple[Waiting, ...] = ()
    one_by_one: Mapping[str, Number] = field(default_factory=dict)
    said_first: tuple[str, ...] = ()
    doubted: Number | None = None
    interrupted: Mode = Mode.ASKING
    asks_if_touched: bool = False
    no_matches: int = 0
    misheard: int = 0
    denied: bool = False
    silences: int = 0
    history: tuple[str, ...] = ()
    proposed: frozenset[str] = frozenset()
    kept: Mapping[str, object] = field(default_factory=dict)
    keep_sound: bool = False
    sound_goes: bool = False
    told: Mapping[str, int] = field(default_factory=dict)
    asked_last: str | None = None
    in_full: bool = False
    into_prompts: bool = False
    in_full_texts: frozenset[str] = frozenset()
    unheard: tuple[tuple[Told, Purpose], ...] = ()
    unheard_before: Told = ""
    voice_check: VoiceCheck | None = None
    digit_by_digit: bool = False
    least_confidence: float = 0.0
    is_loud: bool = False
    speed_percent: int = 100
    volume: float = 0.8
    result: str | None = None
