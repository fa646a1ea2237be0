"""What the report shows of a session, as values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Generic, TypeVar

from companion.facts.aim import AimDecided, Axis, ScrewPlan
from companion.facts.answers import Accepted
from companion.facts.ending import Finished
from companion.facts.figures import Quantity
from companion.facts.opening import Opened
from companion.facts.workings import Computed, Decided
from companion.record import StoredEvent

FactT = TypeVar("FactT")


@dataclass(frozen=True)
class Kept(Generic[FactT]):
    """A fact, the stage it belongs to, and whether it still counts.

    `taken_back` says why the technician withdrew it, `measured_again` why it was read anew
    later (after a correction, say); both are empty while it stands.
    """

    event: StoredEvent
    stage: str
    fact: FactT
    taken_back: str = ""
    measured_again: str = ""

    @property
    def stands(self) -> bool:
        """Whether it counts in the end."""
        return not (self.taken_back or self.measured_again)


@dataclass(frozen=True)
class SessionView:
    """Everything the report needs, folded from the events once."""

    session_id: str
    events: tuple[StoredEvent, ...]
    opened: Opened
    finished: Finished | None
    stopped_why: str
    readings: tuple[Kept[Accepted], ...]
    computations: tuple[Kept[Computed], ...]
    decisions: tuple[Kept[Decided], ...]
    aim_verdicts: tuple[AimDecided, ...]
    screw_plans: tuple[ScrewPlan, ...]

    @property
    def outcome(self) -> str:
        """How the session ended; "" when it never did."""
        told = self.finished.result if self.finished is not None else ""
        return told or ("stopped" if self.stopped_why else "")

    @property
    def result(self) -> Mapping[str, Axis]:
        """The aim at the end, by axis; empty where it was not measured."""
        return self.finished.axes if self.finished is not None else {}

    @property
    def aims(self) -> tuple[Computed, ...]:
        """The aim of each round that stands, in order."""
        return tuple(
            kept.fact
            for kept in self.computations
            if "aim_yaw_deg" in kept.fact.outputs and not kept.taken_back
        )

    @property
    def clock_trusted(self) -> bool:
        """Whether every event was stamped by a clock that something vouched for."""
        return all(event.clock_trusted for event in self.events)

    def aim_history(self, name: str) -> tuple[tuple[int, Quantity], ...]:
        """What the aim was along one axis after each round: as judged, or else as worked out."""
        if self.aim_verdicts:
            return tuple(
                (verdict.round, _axis(verdict, name).quantity) for verdict in self.aim_verdicts
            )
        worked_out = (aim.outputs[name] for aim in self.aims if name in aim.outputs)
        return tuple((place, output.quantity) for place, output in enumerate(worked_out))

    def aim_limits(self, name: str) -> tuple[float | None, float | None]:
        """The entered limits of one axis, as the last decision about it used them."""
        if self.aim_verdicts:
            tolerance = _axis(self.aim_verdicts[-1], name).tolerance
            return (None, None) if tolerance is None else (-tolerance, tolerance)
        decision = self.latest_decision(name)
        return (decision.low, decision.high) if decision else (None, None)

    def outputs_named(self, name: str) -> tuple[Quantity, ...]:
        """Every standing value of a named result, in order."""
        return tuple(
            kept.fact.outputs[name].quantity
            for kept in self.computations
            if name in kept.fact.outputs and not kept.taken_back
        )

    def decision_on(self, reading: Kept[Accepted]) -> Decided | None:
        """The decision that held the reading itself against limits, before it was taken again."""
        name, seq = reading.fact.reading_id, reading.event.seq
        again = (kept.event.seq for kept in self.readings if kept.fact.reading_id == name)
        until = min((later for later in again if later > seq), default=None)
        for kept in self.decisions:
            if kept.fact.result == name and kept.event.seq > seq:
                return kept.fact if until is None or kept.event.seq < until else None
        return None

    def latest_decision(self, result_name: str) -> Decided | None:
        """The last standing decision about a named result."""
        for kept in reversed(self.decisions):
            if kept.fact.result == result_name and not kept.taken_back:
                return kept.fact
        return None


def _axis(verdict: AimDecided, name: str) -> Axis:
    """The axis of `aim_yaw_deg` or `aim_elevation_deg`."""
    return verdict.yaw if name == "aim_yaw_deg" else verdict.elevation
