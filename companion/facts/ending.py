"""How a job rests and ends."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, ClassVar

from companion.facts.aim import Axis
from companion.facts.answers import Accepted, Answered, Done
from companion.facts.codec import LEFT_OUT, SPREAD
from companion.facts.figures import Grounds, Quantity


@dataclass(frozen=True, slots=True)
class Stopped:
    """The work stopped, and why."""

    KIND: ClassVar[str] = "stopped"

    why: str


WORKED_ON = frozenset({Accepted.KIND, Answered.KIND, Done.KIND})
"""A job that stopped by itself may be gone on with: after any of these it is stopped no longer."""


@dataclass(frozen=True, slots=True)
class DriftNoticed:
    """After the job: with its figures the watch over its bay says that something has changed."""

    KIND: ClassVar[str] = "drift_noticed"

    part: Annotated[str, "floor or stand"]
    measure: str
    bay: str
    since_session: Annotated[str, "the first session after the likely change"]
    since_utc: str


@dataclass(frozen=True, slots=True)
class Miss:
    """Where the beam's middle lies at a range: left and up positive, metres."""

    range_m: float | None
    sideways_m: float | None
    u_sideways_m: float | None
    height_m: float | None
    u_height_m: float | None

    @property
    def sideways(self) -> Quantity:
        """To the left, with its doubt."""
        return Quantity(self.sideways_m, self.u_sideways_m, "m")

    @property
    def height(self) -> Quantity:
        """Up, with its doubt."""
        return Quantity(self.height_m, self.u_height_m, "m")


@dataclass(frozen=True, slots=True)
class Term:
    """One line of the final aim's budget; readings taken several times are one line."""

    source: Annotated[str, "a reading's id, or the step and input that it enters at"]
    part: Annotated[str, "scatter, rounding, scale, doubt, or entered"]
    distribution: Annotated[str, "normal, rectangular or u_shaped"]
    u: Annotated[float, "standard uncertainty of one take, in its unit"]
    unit: str
    takes: Annotated[int, "so many were averaged"]
    degrees_of_freedom: Annotated[float | None, "none: not limited by a count of readings"]
    sensitivity: Annotated[tuple[float, float], "degrees of yaw and of elevation for one unit"]
    contribution: Annotated[tuple[float, float], "to the standard uncertainty of both, degrees"]
    entered_in: Annotated[str, "the file's field or the result that says so, or job"]
    at: Annotated[str, LEFT_OUT, "the reading, result or field that an entered one doubts"] = ""


@dataclass(frozen=True, slots=True)
class Finished:
    """The job is over. Only a job that measured an aim has more than its result."""

    KIND: ClassVar[str] = "finished"

    result: Annotated[str, "inside, stopped, or another that the job file names"]
    yaw: Axis | None
    elevation: Axis | None
    misses_m: tuple[Miss, ...]
    step_id: Annotated[str, LEFT_OUT] = ""
    probability_inside: Annotated[float | None, LEFT_OUT, "probability that it is inside"] = None
    grounds: Annotated[Grounds | None, SPREAD] = None
    terms: Annotated[tuple[Term, ...], LEFT_OUT, "the whole budget, the largest first"] = ()
    degrees_of_freedom: Annotated[
        tuple[float | None, ...], LEFT_OUT, "effective, of yaw and of elevation; none: endless"
    ] = ()

    @property
    def axes(self) -> Mapping[str, Axis]:
        """The axes that were measured, by their names."""
        found = {"yaw": self.yaw, "elevation": self.elevation}
        return {name: axis for name, axis in found.items() if axis is not None}
