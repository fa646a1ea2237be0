"""What the report shows of a session, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any

from companion.record import StoredEvent
from companion.review.values import Quantity


@dataclass(frozen=True)
class Reading:
    """One accepted reading; `taken_back` says why it no longer counts (empty while it does)."""

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
        """Whether the job was run on the shipped example files."""
        return self.opened.get("example") is True

    @property
    def clock_trusted(self) -> bool:
        """Whether every event was stamped by a clock that something vouched for."""
        return all(event.clock_trusted for event in self.events)

    def latest_output(self, name: str) -> Quantity | None:
        """The last standing value of a named result."""
        found = self.outputs_named(name)
        return found[-1] if found else None

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
