"""The model of a job file: stages of steps, with decisions and loops as part of the data.

Where a step needs a figure it names its source: a number, a field of a file
(`vehicle.wheelbase_mm`, `bay.stand.plate_distance_mm`), a reading's id or a result's id.
`{...}` in a text speaks the same kinds of source.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator, model_validator

from companion.facts.instructions import DIRECTIONS_OF, Direction, StandQuantity
from companion.measure.coupling import ORDER, Quantity
from companion.procedure.models import Float, Header, Identifier, Model, Sayable, Text

Source = Annotated[str, Field(pattern=r"^(minus )?[a-z][a-z0-9_]*(\.[a-z0-9_]+)*$", max_length=120)]
NumberOrSource = Annotated[
    Float | Source,
    Field(description="a number, or where it stands: a file's field, a reading, a result"),
]

MOST_DIGITS_OF_TURNS = 2
Reply = Annotated[
    Text | None, Field(description="how to answer: said after what is asked, shown beside it")
]
EachScrew = Annotated[
    bool, Field(strict=True, description="there for every screw of the mount, named {screw}")
]


class Condition(Model):
    """The step belongs to the job only when this question was answered so (or so)."""

    question: Identifier
    answered: Annotated[
        tuple[Identifier, ...], Field(min_length=1, description="one answer, or a list of them")
    ]

    @field_validator("answered", mode="before")
    @classmethod
    def _one_or_several(cls, value: object) -> object:
        return (value,) if isinstance(value, str) else value


class Step(Model):
    id: Identifier
    when: Condition | None = None


class Number(Model):
    """How a number is spoken at this step."""

    style: Literal["whole", "decimal", "quarters"]
    whole_digits: Annotated[int, Field(ge=1, le=5)] = 4
    decimals: Annotated[int, Field(ge=0, le=3)] = 0
    directions: tuple[Identifier, ...] = ()

    @model_validator(mode="after")
    def _paired(self) -> Number:
        if len(self.directions) not in (0, 2) or len(set(self.directions)) == 1:
            raise ValueError("directions must be a pair; the first one counts as positive")
        if (self.style == "decimal") != (self.decimals > 0):
            raise ValueError("style decimal needs decimals of 1 or more; other styles need none")
        return self


class Limits(Model):
    """A reading outside of these is true but stops the work: say why and ask for a new one."""

    low: NumberOrSource
    high: NumberOrSource
    otherwise: Text
    at_most: Annotated[int, Field(ge=1, le=20)] = 5


class Reading(Step):
    """One number that the technician reads off and says."""

    step: Literal["reading"]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    ask: Text
    reply: Reply = None
    unit: Identifier
    number: Number
    plausible: Annotated[
        tuple[Sayable, Sayable], Field(description="outside of it the hearing is doubted first")
    ]
    resolution: Annotated[Sayable, Field(gt=0)]
    doubt: Annotated[
        Float, Field(ge=0, description="standard uncertainty beside the resolution's")
    ] = 0.0
    far_from_last: Annotated[
        Float | None, Field(gt=0, description="a change since the last reading that is doubted")
    ] = None
    typical: Annotated[
        Float | None,
        Field(description="in a bay where all is right; without it the middle of plausible"),
    ] = None
    allowed: Limits | None = None
    each_screw: EachScrew = False

    @model_validator(mode="after")
    def _sensible(self) -> Reading:
        low, high = self.plausible
        if low >= high:
            raise ValueError("plausible must be from low to high")
        if self.typical is not None and not low <= self.typical <= high:
            raise ValueError("typical must be plausible")
        quarters = self.number.style == "quarters"
        if quarters != (self.unit == "turns"):
            raise ValueError("unit turns goes with style quarters, and with no other")
        if quarters and self.number.whole_digits > MOST_DIGITS_OF_TURNS:
            raise ValueError(f"style quarters has whole_digits of {MOST_DIGITS_OF_TURNS} at most")
        return self


class Again(Model):
    """Which readings and steps are stale now and are gone through again, at most so often."""

    say: Text
    wait: Annotated[bool, Field(description="true: the technician says done first")] = False
    steps: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    at_most: Annotated[int, Field(ge=1, le=20)]
    then_stop: Text


class Question(Step):
    """One of a few answers."""

    step: Literal["question"]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    ask: Text
    reply: Reply = None
    choices: Annotated[tuple[Identifier, ...], Field(min_length=2)]
    sound_is_kept_when: Annotated[
        Identifier | None, Field(description="the answer that allows recorded voices to be kept")
    ] = None
    blocked_by: Annotated[dict[Identifier, Text], Field(default_factory=dict)]
    again: Annotated[dict[Identifier, Again], Field(default_factory=dict)]

    @model_validator(mode="after")
    def _different(self) -> Question:
        if len(set(self.choices)) != len(self.choices):
            raise ValueError("choices must differ from each other")
        return self


class Instruction(Step):
    """One thing to do; the technician says when it is done.

    Where it is the turning of a screw, `turns` names the reading that says how far and which way,
    and `screw` the screw; a step for each screw has its own.
    """

    step: Literal["instruction"]
    say: Text
    each_screw: EachScrew = False
    turns: Annotated[
        Identifier | None, Field(description="the reading whose turns are to be made")
    ] = None
    screw: Annotated[Identifier | None, Field(description="the id of the screw to turn")] = None

    @model_validator(mode="after")
    def _whole(self) -> Instruction:
        if self.turns is not None and not self.each_screw and self.screw is None:
            raise ValueError("turns needs a screw, or each_screw: true")
        if self.screw is not None and self.turns is None:
            raise ValueError("screw needs turns, the reading that says how far")
        return self


class Checklist(Step):
    """Several things to do, asked for one at a time."""

    step: Literal["checklist"]
    items: Annotated[tuple[Text, ...], Field(min_length=1)]


class Computation(Step):
    """A formula of the catalogue, its inputs bound to sources, its outputs named."""

    step: Literal["computation"]
    formula: Identifier
    inputs: dict[Identifier, NumberOrSource]
    input_doubts: Annotated[
        dict[Identifier, NumberOrSource],
        Field(
            default_factory=dict,
            description="standard uncertainty that comes on top of what the source brings",
        ),
    ]
    outputs: Annotated[
        dict[Identifier, Identifier], Field(min_length=1, description="formula's name: result id")
    ]
    misread: Annotated[
        EchoLevels | None, Field(description="names the level that was misread when none fit")
    ] = None


AWAY_FROM = "away_from"
"""Said in front of what it is away from; the same way as "away"."""


class Move(Model):
    """How a result outside its limits is put right, in the person's own terms."""

    say: Annotated[Text, Field(description="{amount} and {direction} speak the size and the way")]
    amount: Literal["mm", "deg", "mm_per_m"]
    resolution: Annotated[Sayable, Field(gt=0, description="the amount is rounded to this")]
    direction_when_positive: Identifier
    direction_when_negative: Identifier
    quantity: Annotated[
        StandQuantity | None, Field(description="what of the stand it moves, for the screen")
    ] = None

    @field_validator("direction_when_positive", "direction_when_negative")
    @classmethod
    def _known(cls, value: str) -> str:
        if value != AWAY_FROM and value not in set(Direction):
            raise ValueError(f"wanted one of {', '.join((*Direction, AWAY_FROM))}")
        return value

    @model_validator(mode="after")
    def _of_its_quantity(self) -> Move:
        if self.ways[0] is self.ways[1]:
            raise ValueError("the two directions must differ")
        if self.quantity is not None:
            fit_quantity(self, self.quantity)
        return self

    @property
    def ways(self) -> tuple[Direction, Direction]:
        """The ways that take a positive error away, and a negative one."""
        return way_of(self.direction_when_positive), way_of(self.direction_when_negative)


def way_of(direction: str) -> Direction:
    """The way that a direction of a job file names."""
    return Direction.AWAY if direction == AWAY_FROM else Direction(direction)


def fit_quantity(move: Move, quantity: StandQuantity) -> None:
    """Raises ValueError when the stand cannot be moved so."""
    allowed = DIRECTIONS_OF[quantity]
    for way in move.ways:
        if way not in allowed:
            raise ValueError(f"{quantity} does not go {way}; wanted {' or '.join(sorted(allowed))}")


class Suspect(Model):
    """One cause that may be behind a disagreement: what was misread, if it was this."""

    name: Annotated[Text, Field(description="as spoken: the left spot")]
    readings: Annotated[tuple[Identifier, ...], Field(min_length=1)]
    likely_error: Annotated[
        Float, Field(gt=0, description="typical size of a misreading, in the readings' unit")
    ]
    also: Annotated[
        tuple[Identifier, ...], Field(description="gone through again with the readings")
    ] = ()


class Level(Model):
    """One echo level and the position of the plate that it belongs to."""

    name: Annotated[Text, Field(description="as spoken: the level at the upright plate")]
    reading: Identifier
    lean: NumberOrSource
    swing: NumberOrSource


class EchoLevels(Model):
    """Levels that judge each other, the widths of the beam being known."""

    beam_width_lean: NumberOrSource
    beam_width_swing: NumberOrSource
    before: Annotated[
        Text, Field(description="done first when single levels are read again, out of their order")
    ]
    levels: Annotated[tuple[Level, ...], Field(min_length=5)]


class Decision(Step):
    """Is a result inside its limits: go on, put right and measure again, or stop and say why."""

    step: Literal["decision"]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    result: Identifier
    low: NumberOrSource | None = None
    high: NumberOrSource | None = None
    within: Annotated[
        NumberOrSource | None, Field(description="instead of low and high: so far from the centre")
    ] = None
    within_is_a_fraction: Annotated[bool, Field(description="of the centre")] = False
    centre: NumberOrSource = 0.0
    rule: Annotated[
        Literal["probability", "plain"],
        Field(description="probability: inside with the wanted confidence; plain: a check"),
    ]
    confidence: Annotated[Float, Field(gt=0.5, lt=1)] = 0.95
    move: Move | None = None
    again: Again
    suspects: Annotated[
        tuple[Suspect, ...], Field(description="the likeliest is asked again, not all of `again`")
    ] = ()
    misread: EchoLevels | None = None

    @model_validator(mode="after")
    def _one_kind_of_limits(self) -> Decision:
        both = self.low is not None and self.high is not None
        neither = self.low is None and self.high is None
        if not (both and self.within is None) and not (neither and self.within is not None):
            raise ValueError("wanted: either low and high, or within")
        return self


class Part(Model):
    """One of the quantities that are put right together."""

    id: Identifier
    quantity: Quantity
    title: Annotated[str, Field(min_length=3, max_length=60)]
    result: Identifier
    within: NumberOrSource
    move: Move
    readings: Annotated[
        tuple[Identifier, ...],
        Field(min_length=1, description="what is read again when a move disturbs the quantity"),
    ]


class Moves(Step):
    """Where the stand stands: all of its moves in the order that ends inside in the fewest.

    One move disturbs other quantities; what a move has made stale is measured again.
    """

    step: Literal["moves"]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    parts: Annotated[tuple[Part, ...], Field(min_length=4, max_length=4)]
    foot_ahead_mm: Annotated[
        NumberOrSource, Field(description="the foot that the stand turns about, from its centre")
    ] = 0.0
    foot_left_mm: NumberOrSource = 0.0
    foot_doubt_mm: NumberOrSource = 300.0
    confidence: Annotated[Float, Field(gt=0.5, lt=1)] = 0.95
    at_most: Annotated[int, Field(ge=1, le=20)]
    then_stop: Text

    @model_validator(mode="after")
    def _each_once(self) -> Moves:
        if {part.quantity for part in self.parts} != set(ORDER):
            raise ValueError(f"wanted are the parts {', '.join(ORDER)}, each once")
        for part in self.parts:
            fit_quantity(part.move, StandQuantity(part.quantity))
        return self


class AimDecision(Step):
    """Both axes against the vehicle's tolerance; outside: a plan for the screws and a new round."""

    step: Literal["aim"]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    yaw: Identifier
    elevation: Identifier
    again: Again
    at_most_repeats: Annotated[int, Field(ge=1, le=10)] = 3


class Finish(Step):
    """Says the result and closes the record."""

    step: Literal["finish"]
    ranges_m: Annotated[tuple[Annotated[Sayable, Field(gt=0)], ...], Field(min_length=1)]
    say_signed: Text


class ShimSpot(Model):
    """One wheel's spot on the floor."""

    name: Annotated[Text, Field(description="as spoken: the rear left wheel")]
    reading: Identifier


class ShimAdvice(Step):
    """Twist out of the floor, where there is more than a car may stand on."""

    step: Literal["shims"]
    title: Annotated[str, Field(min_length=3, max_length=60)]
    twist: Identifier
    slope: Annotated[Identifier, Field(description="taken into account, and said so")]
    within: NumberOrSource
    shim_step_mm: NumberOrSource
    rear_left: ShimSpot
    rear_right: ShimSpot
    front_left: ShimSpot
    front_right: ShimSpot
    settled: Annotated[
        tuple[Identifier, ...],
        Field(description="checks of the bare floor: they are not made again on the shims"),
    ] = ()
    at_most: Annotated[int, Field(ge=1, le=20)]
    then_stop: Text


AnyStep = Annotated[
    Reading
    | Question
    | Instruction
    | Checklist
    | Computation
    | Decision
    | Moves
    | ShimAdvice
    | AimDecision
    | Finish,
    Field(discriminator="step"),
]


class Stage(Model):
    id: Identifier
    title: Annotated[str, Field(min_length=3, max_length=60)]
    steps: Annotated[tuple[AnyStep, ...], Field(min_length=1)]


class Caution(Model):
    """Spoken briefly, written in full in the report."""

    say: Text
    write: Text


class Job(Header):
    """A whole job: the cautions first, then its stages in order."""

    kind: Literal["job"]
    id: Identifier
    cautions: Annotated[tuple[Caution, ...], Field(min_length=1)]
    if_touched: Annotated[
        tuple[Identifier, ...],
        Field(description="steps to go through again when stand or car was touched in a break"),
    ] = ()
    stages: Annotated[tuple[Stage, ...], Field(min_length=1)]
