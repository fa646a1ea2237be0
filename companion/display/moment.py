"""What is on the screen at one moment, as values: no events, no markup."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from companion.facts.figures import Quantity
from companion.facts.instructions import Direction, StandQuantity
from companion.facts.shown import Card

Condition = Literal[
    "no_job",
    "asking",
    "doing",
    "read_back",
    "note",
    "paused",
    "stopped",
    "ending",
    "resuming",
    "over",
]
"""What the companion waits for: an answer, a deed, a yes, a note, or a word to go on."""

AnswerState = Literal[
    "said_back", "taken", "not_taken", "unlikely", "not_understood", "nothing", "heard"
]
"""How far the last answer has come. Only "taken" counts."""


@dataclass(frozen=True)
class Instruction:
    """The one thing to do now. `before` was said in front of it, `reply` is what to say."""

    text: str
    before: str = ""
    reply: str = ""


@dataclass(frozen=True)
class Answer:
    """The last answer: what it is about, what it means, the words that were heard."""

    state: AnswerState
    shown: str
    title: str = ""
    words: str = ""
    why: str = ""


@dataclass(frozen=True)
class StageMark:
    """One stage on the scale of stages."""

    number: int
    title: str
    state: Literal["done", "now", "to_do"]


@dataclass(frozen=True)
class StandMove:
    """A move of the stand; `amount` with its unit, in the figures that were spoken."""

    kind: StandQuantity
    way: Direction
    amount: str


@dataclass(frozen=True)
class ScrewTurn:
    """One screw of this round: how far it is to be turned (clockwise counts positive)."""

    name: str
    turns: Fraction
    state: Literal["done", "now", "to_do"]


@dataclass(frozen=True)
class ScrewRound:
    """All turns of one round, in the order they are asked for; None for a turn of no round."""

    number: int | None
    turns: tuple[ScrewTurn, ...]


@dataclass(frozen=True)
class AimShown:
    """Where the aim is, with its limits."""

    yaw: Quantity
    elevation: Quantity
    yaw_tolerance_deg: float
    elevation_tolerance_deg: float


@dataclass(frozen=True)
class Cautions:
    """The cautions that are being spoken as the job begins."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class InstrumentShown:
    """In practice: an instrument with its reading, the first of `directions` positive."""

    title: str
    value: Decimal
    unit: str
    resolution: Decimal
    directions: tuple[str, ...] = ()
    direction: str = ""


@dataclass(frozen=True)
class InstrumentsShown:
    """In practice: the instruments that one answer is read off."""

    instruments: tuple[InstrumentShown, ...]


Picture = InstrumentsShown | StandMove | ScrewRound | AimShown | Cautions | Card


@dataclass(frozen=True)
class Moment:
    """Everything on the screen."""

    condition: Condition
    instruction: Instruction
    stages: tuple[StageMark, ...] = ()
    answer: Answer | None = None
    picture: Picture | None = None
    result: str = ""
    noisy: bool = False
    example: bool = False
    sound_stays: bool = False
    car_stays: bool = False
    about: str = ""
    step_title: str = ""
    companion_is_off: bool = False
    store_told: str = ""
    language: str = "en"
