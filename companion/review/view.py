"""What the report shows of a session, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from companion.facts.figures import Quantity
from companion.record import StoredEvent


@dataclass(frozen=True)
class Reading:
    """One accepted reading.

    `taken_back` says why the technician withdrew it, `measured_again` why it was read anew
    later (after a correction, say); both are empty while it stands.
    """

    seq: int
    stage: str
    step_ids: frozenset[str]
    title: str
    value: str
    unit: str
    direction: str
    spoken: str
    u: float | None
    tolerance: str
    attempts: int
    at_utc: str
    taken_back: str = ""
    measured_again: str = ""


@dataclass(frozen=True)
class Computation:
    """Results worked out by one formula at one step."""

    seq: int
    step_ids: frozenset[str]
    formula: str
    outputs: Mapping[str, Quantity]
    inputs: Mapping[str, Quantity]
    budgets: Mapping[str, tuple[tuple[str, float], ...]]
    source_text: str
    taken_back: str = ""
    measured_again: str = ""


@dataclass(frozen=True)
class Decision:
    """One pass or fail question and its answer."""

    seq: int
    stage: str
    step_ids: frozenset[str]
    title: str
    result_name: str
    quantity: Quantity
    low: float | None
    high: float | None
    level: float | None
    answer: str
    probability_inside: float | None
    times: int
    taken_back: str = ""
    measured_again: str = ""


@dataclass(frozen=True)
class AimVerdict:
    """One look at the aim: `round_number` counts the turns of the screws before it."""

    round_number: int
    sets: int
    yaw: Quantity
    elevation: Quantity
    yaw_tolerance_deg: float | None
    elevation_tolerance_deg: float | None
    level: float | None
    probability_inside: float | None
    answer: str
    confirmed: bool

    def of_axis(self, name: str) -> tuple[Quantity, float | None]:
        """The value and tolerance of `aim_yaw_deg` or `aim_elevation_deg`."""
        if name == "aim_yaw_deg":
            return self.yaw, self.yaw_tolerance_deg
        return self.elevation, self.elevation_tolerance_deg


@dataclass(frozen=True)
class ScrewPlan:
    """The turns asked for in one round (clockwise positive) and the aim predicted after them."""

    round_number: int
    turns: Mapping[str, Fraction]
    predicted_yaw_deg: float | None
    predicted_elevation_deg: float | None


@dataclass(frozen=True)
class Miss:
    """Where the beam's middle lies at a range: left and up positive, metres."""

    range_m: float | None
    sideways: Quantity
    height: Quantity


@dataclass(frozen=True)
class Result:
    """How the session ended; `outcome` is "" when it never did."""

    outcome: str
    why: str
    yaw: Quantity
    elevation: Quantity
    probability: float | None
    misses: tuple[Miss, ...]


@dataclass(frozen=True)
class SessionView:
    """Everything the report needs, folded from the events once."""

    session_id: str
    events: tuple[StoredEvent, ...]
    opened: Mapping[str, Any]
    result: Result
    readings: tuple[Reading, ...]
    computations: tuple[Computation, ...]
    decisions: tuple[Decision, ...]
    aim_verdicts: tuple[AimVerdict, ...]
    screw_plans: tuple[ScrewPlan, ...]
    screw_names: Mapping[str, str] = field(default_factory=dict)

    @property
    def aims(self) -> tuple[Computation, ...]:
        """The aim of each round that stands, in order."""
        return tuple(
            computation
            for computation in self.computations
            if "aim_yaw_deg" in computation.outputs and not computation.taken_back
        )

    @property
    def is_example(self) -> bool:
        """Whether any file of the job was an example."""
        files = (self.opened.get(name) for name in ("job", "vehicle", "mount", "bay"))
        return any(
            told.get("example") is True
            for told in (self.opened, *files)
            if isinstance(told, Mapping)
        )

    @property
    def clock_trusted(self) -> bool:
        """Whether every event was stamped by a clock that something vouched for."""
        return all(event.clock_trusted for event in self.events)

    def aim_history(self, name: str) -> tuple[tuple[str, Quantity], ...]:
        """When and what the aim was along one axis: as judged, or else as worked out."""
        if self.aim_verdicts:
            return tuple(
                (_when(verdict.round_number), verdict.of_axis(name)[0])
                for verdict in self.aim_verdicts
            )
        worked_out = (aim.outputs[name] for aim in self.aims if name in aim.outputs)
        return tuple((_when(place), quantity) for place, quantity in enumerate(worked_out))

    def aim_limits(self, name: str) -> tuple[float | None, float | None]:
        """The entered limits of one axis, as the last decision about it used them."""
        if self.aim_verdicts:
            tolerance = self.aim_verdicts[-1].of_axis(name)[1]
            return (None, None) if tolerance is None else (-tolerance, tolerance)
        decision = self.latest_decision(name)
        return (decision.low, decision.high) if decision else (None, None)

    def outputs_named(self, name: str) -> tuple[Quantity, ...]:
        """Every standing value of a named result, in order."""
        return tuple(
            computation.outputs[name]
            for computation in self.computations
            if name in computation.outputs and not computation.taken_back
        )

    def latest_decision(self, result_name: str) -> Decision | None:
        """The last standing decision about a named result."""
        for decision in reversed(self.decisions):
            if decision.result_name == result_name and not decision.taken_back:
                return decision
        return None


def _when(round_number: int) -> str:
    return "before" if round_number == 0 else f"after round {round_number}"
