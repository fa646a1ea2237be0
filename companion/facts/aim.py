"""The aim, the screws that set it, and what turning them did."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, ClassVar

from companion.facts.codec import LEFT_OUT, SPREAD
from companion.facts.figures import Budget, Grounds, Quantity, U
from companion.facts.workings import Answer, Chance, Level, ToSettle

Turns = Annotated[Fraction, 'turns of the head, clockwise positive, as text: "11/4"']
Matrix = tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Axis:
    """The aim along one axis in degrees: left and up positive."""

    value: float | None
    u: U
    budget: Budget = ()
    tolerance: Annotated[float | None, LEFT_OUT, "degrees to either side of zero"] = None

    @property
    def quantity(self) -> Quantity:
        """Value and doubt in degrees."""
        return Quantity(self.value, self.u, "deg")


@dataclass(frozen=True, slots=True)
class AimDecided:
    """One look at the aim; its figures are the mean of all sets of readings."""

    KIND: ClassVar[str] = "aim_decided"

    step_id: str
    title: str
    round: Annotated[int, "turns of the screws before it"]
    yaw: Axis
    elevation: Axis
    level: Level
    probability_inside: Chance
    answer: Answer
    confirmed: Annotated[bool, "inside on two independent grounds"]
    grounds: Annotated[Grounds, SPREAD]
    sets: Annotated[int, "sets of readings at this position of the screws"] = 1
    more_sets_to_settle: ToSettle = 0
    look: Annotated[
        int | None, LEFT_OUT, "sets measured at this position, those taken back as well"
    ] = None
    most_looks: Annotated[int | None, LEFT_OUT, "so many looks share the risk"] = None
    risk_spent: Annotated[float | None, LEFT_OUT, "of the whole risk, this look included"] = None
    scatter_ratio: Annotated[
        float | None, LEFT_OUT, "Birge ratio: scatter seen over scatter entered"
    ] = None
    if_wrong: Annotated[
        float | None, LEFT_OUT, "probability inside, were the doubt named beside it three times it"
    ] = None
    wrong: Annotated[str | None, LEFT_OUT, "the unchecked doubt that matters most"] = None
    levels: Annotated[
        int | None,
        LEFT_OUT,
        "of a first look: so few levels, that can only turn the screws; with a look beside it: of "
        "a short set, whose widths are those of a whole set before",
    ] = None

    @property
    def axes(self) -> Mapping[str, Axis]:
        """Both axes by their names."""
        return {"yaw": self.yaw, "elevation": self.elevation}


@dataclass(frozen=True, slots=True)
class ScrewStep:
    """One screw to be turned."""

    screw_id: str
    direction: Annotated[str, "clockwise or anticlockwise"]
    turns: Annotated[Fraction, 'never negative, as text: "11/4"']


@dataclass(frozen=True, slots=True)
class AimNow:
    """The aim that the plan starts from, degrees."""

    yaw_deg: float | None
    elevation_deg: float | None
    u_yaw: float | None
    u_elevation: float | None


@dataclass(frozen=True, slots=True)
class Predicted:
    """The aim that the plan foretells, degrees."""

    yaw_deg: float | None
    elevation_deg: float | None
    u_yaw: float | None
    u_elevation: float | None
    probability_inside: Chance

    @property
    def axes(self) -> Mapping[str, Quantity]:
        """Both axes by their names."""
        return {
            "yaw": Quantity(self.yaw_deg, self.u_yaw, "deg"),
            "elevation": Quantity(self.elevation_deg, self.u_elevation, "deg"),
        }


@dataclass(frozen=True, slots=True)
class ScrewPlan:
    """What to turn in this round, and what to expect of it."""

    KIND: ClassVar[str] = "screw_plan"

    step_id: str
    grounds: Annotated[Grounds, SPREAD]
    turns: Annotated[Mapping[str, Fraction], "by screw, clockwise positive"]
    steps: tuple[ScrewStep, ...]
    aim: AimNow
    predicted: Predicted
    reachable: bool
    why: Annotated[str, "why it cannot be reached; empty where it can"]
    round: int = 1


@dataclass(frozen=True, slots=True)
class Story:
    """What may have happened at the screws."""

    kind: Annotated[str, "as_planned, wrong_way, wrong_screw, twice_as_far and the like"]
    screw_ids: tuple[str, ...]
    instead_ids: tuple[str, ...]
    probability: float | None


@dataclass(frozen=True, slots=True)
class Moved:
    """Change of the aim, degrees."""

    yaw_deg: float | None
    elevation_deg: float | None

    @property
    def axes(self) -> Mapping[str, Quantity]:
        """Both axes by their names."""
        return {
            "yaw": Quantity(self.yaw_deg, None, "deg"),
            "elevation": Quantity(self.elevation_deg, None, "deg"),
        }


@dataclass(frozen=True, slots=True)
class ResponseThen:
    """Degrees per turn as they were known, and their covariance."""

    mean: Matrix
    covariance: Matrix


@dataclass(frozen=True, slots=True)
class AimThen:
    """The aim as it was measured at some moment, degrees."""

    yaw_deg: float | None
    elevation_deg: float | None


@dataclass(frozen=True, slots=True)
class Judgement:
    """All that a verdict on the screws rests on, so that it can be worked out again."""

    instead_ids: tuple[str, ...]
    names: Annotated[tuple[Story, ...], "what it can be called, the likeliest first"]
    moved: Moved
    turns: Annotated[tuple[Fraction, ...], "as planned, by screw"]
    really_turned: tuple[Fraction, ...]
    move_covariance: Matrix
    settled: Annotated[tuple[bool, ...], "by screw: turned before, so it lies against its thread"]
    turned_before: Annotated[tuple[Fraction, ...], "by screw, since the job began"]
    response: ResponseThen
    grounds: Annotated[Grounds, SPREAD]
    setting_u_turns: Annotated[
        float | None, LEFT_OUT, "how exactly a screw stands where it was turned to, locked"
    ] = None
    before: Annotated[AimThen | None, LEFT_OUT, "the aim before the screws were turned"] = None


@dataclass(frozen=True, slots=True)
class MoveJudged:
    """What a move really did; `judgement` is there for the screws, not for the stand."""

    KIND: ClassVar[str] = "move_judged"

    step_id: str
    kind: Annotated[str, "as_planned, wrong_way, ambiguous, unexplained and the like"]
    screw_ids: tuple[str, ...]
    probability: float | None
    judgement: Annotated[Judgement | None, SPREAD] = None

    @property
    def story(self) -> Story:
        """The likeliest story."""
        instead = () if self.judgement is None else self.judgement.instead_ids
        return Story(self.kind, self.screw_ids, instead, self.probability)
