"""From events to what the report shows. Nothing is looked up elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from companion.facts.figures import Quantity
from companion.facts.plain import flat, number
from companion.record import StoredEvent
from companion.review.values import mapping, quantity, sequence, text
from companion.review.view import (
    AimVerdict,
    Computation,
    Decision,
    Miss,
    Reading,
    Result,
    ScrewPlan,
    SessionView,
)
from companion.review.wording import title_of, turns_of

_Kept = TypeVar("_Kept", Reading, Computation, Decision)
TECHNICIAN = "technician"
"""What a reason says when a person withdrew something, rather than the job measured it anew."""


@dataclass
class _Folding:
    """Where the fold stands while it walks the events."""

    stage: str = ""
    stopped_why: str = ""
    step_of_prompt: dict[str, str] = field(default_factory=dict)
    opened: dict[str, object] = field(default_factory=dict)
    finished: dict[str, object] = field(default_factory=dict)
    readings: list[Reading] = field(default_factory=list)
    computations: list[Computation] = field(default_factory=list)
    decisions: list[Decision] = field(default_factory=list)
    aim_verdicts: list[AimVerdict] = field(default_factory=list)
    screw_plans: list[ScrewPlan] = field(default_factory=list)

    def take(self, event: StoredEvent) -> None:
        body = event.body
        match event.kind:
            case "opened":
                self.opened = dict(body)
            case "stage":
                self.stage = text(body.get("title"))
            case "said":
                self.step_of_prompt[text(body.get("prompt_id"))] = text(body.get("step_id"))
            case "accepted":
                self.readings.append(self._reading(event))
            case "computed":
                self.computations.append(_computation(event))
            case "decided":
                self.decisions.append(self._decision(event))
            case "aim_decided":
                self.aim_verdicts.append(_aim_verdict(body))
            case "screw_plan":
                self.screw_plans.append(_screw_plan(event))
            case "taken_back":
                self._take_back(event)
            case "not_allowed":
                # True, but it stopped the work: it is read again once that was put right.
                why = text(body.get("why")) or "not allowed"
                _mark_latest(self.readings, text(body.get("step_id")), why, withdrawn=False)
            case "stopped":
                self.stopped_why = text(body.get("why"))
            case "finished":
                self.finished = dict(body)
            case _:
                pass

    def _reading(self, event: StoredEvent) -> Reading:
        body = event.body
        step_id = self.step_of_prompt.get(text(body.get("prompt_id")), "")
        return Reading(
            seq=event.seq,
            stage=self.stage,
            step_ids=frozenset({text(body.get("reading_id")), step_id} - {""}),
            title=text(body.get("title")) or title_of(text(body.get("reading_id"))),
            value=text(body.get("value")),
            unit=text(body.get("unit")),
            direction=text(body.get("direction")),
            spoken=text(body.get("spoken")),
            u=number(body.get("u")),
            tolerance=text(body.get("tolerance")),
            attempts=int(number(body.get("attempts")) or 1),
            at_utc=event.at_utc,
        )

    def _decision(self, event: StoredEvent) -> Decision:
        body = event.body
        result_name = text(body.get("result"))
        return Decision(
            seq=event.seq,
            stage=self.stage,
            step_ids=frozenset({text(body.get("step_id"))} - {""}),
            title=text(body.get("title")) or title_of(result_name),
            result_name=result_name,
            quantity=quantity(body, text(body.get("unit"))),
            low=number(body.get("low")),
            high=number(body.get("high")),
            level=number(body.get("level")),
            answer=text(body.get("answer")),
            probability_inside=number(body.get("probability_inside")),
            times=int(number(body.get("times")) or 1),
        )

    def _take_back(self, event: StoredEvent) -> None:
        why = text(event.body.get("why")) or "taken back"
        withdrawn = TECHNICIAN in why or not event.body.get("why")
        for step_id in map(text, sequence(event.body.get("step_ids"))):
            _mark_latest(self.readings, step_id, why, withdrawn)
            _mark_latest(self.computations, step_id, why, withdrawn)
            _mark_latest(self.decisions, step_id, why, withdrawn)


def _mark_latest(kept: list[_Kept], step_id: str, why: str, withdrawn: bool) -> None:
    """Mark the newest standing entry of a step; earlier rounds of it were marked before."""
    for place in range(len(kept) - 1, -1, -1):
        entry = kept[place]
        if step_id in entry.step_ids and not (entry.taken_back or entry.measured_again):
            kept[place] = (
                replace(entry, taken_back=why) if withdrawn else replace(entry, measured_again=why)
            )
            return


def fold(session_id: str, events: Iterable[StoredEvent]) -> SessionView:
    """The session as the report shows it; any events whatever give a view."""
    kept = tuple(events)
    folding = _Folding()
    for event in kept:
        folding.take(event)
    return SessionView(
        session_id=session_id,
        events=kept,
        opened=folding.opened,
        result=_result(folding),
        readings=tuple(folding.readings),
        computations=tuple(folding.computations),
        decisions=tuple(folding.decisions),
        aim_verdicts=tuple(folding.aim_verdicts),
        screw_plans=tuple(folding.screw_plans),
        screw_names={
            text(screw.get("id")): text(screw.get("name")) or text(screw.get("id"))
            for screw in map(mapping, sequence(mapping(folding.opened.get("mount")).get("screws")))
        },
    )


def _aim_verdict(body: Mapping[str, object]) -> AimVerdict:
    yaw, elevation = mapping(body.get("yaw")), mapping(body.get("elevation"))
    return AimVerdict(
        round_number=int(number(body.get("round")) or 0),
        sets=int(number(body.get("sets")) or 1),
        yaw=quantity(yaw, "deg"),
        elevation=quantity(elevation, "deg"),
        yaw_tolerance_deg=number(yaw.get("tolerance")),
        elevation_tolerance_deg=number(elevation.get("tolerance")),
        level=number(body.get("level")),
        probability_inside=number(body.get("probability_inside")),
        answer=text(body.get("answer")),
        confirmed=body.get("confirmed") is True,
    )


def _computation(event: StoredEvent) -> Computation:
    body = event.body
    outputs = mapping(body.get("outputs"))
    inputs = mapping(body.get("inputs"))
    sources = " ".join(text(mapping(item).get("source")) for item in inputs.values())
    return Computation(
        seq=event.seq,
        step_ids=frozenset({text(body.get("step_id"))} - {""}),
        formula=text(body.get("formula")),
        outputs={name: quantity(item) for name, item in outputs.items()},
        inputs={name: quantity(item) for name, item in inputs.items()},
        budgets={name: _budget(mapping(item).get("budget")) for name, item in outputs.items()},
        source_text=f"{flat(body.get('step_id'))} {sources} {' '.join(outputs)}".lower(),
    )


def _budget(rows: object) -> tuple[tuple[str, float], ...]:
    """Input names and their shares in percent, largest first."""
    pairs = [row for row in map(sequence, sequence(rows)) if len(row) == 2]
    shares = [(text(name), number(share) or 0.0) for name, share in pairs]
    return tuple(sorted(shares, key=lambda row: -row[1]))


def _screw_plan(event: StoredEvent) -> ScrewPlan:
    predicted = mapping(event.body.get("predicted"))
    return ScrewPlan(
        round_number=int(number(event.body.get("round")) or 0),
        turns={
            screw_id: turns_of(turns)
            for screw_id, turns in mapping(event.body.get("turns")).items()
        },
        predicted_yaw_deg=number(predicted.get("yaw_deg")),
        predicted_elevation_deg=number(predicted.get("elevation_deg")),
    )


def _result(folding: _Folding) -> Result:
    body = folding.finished
    outcome = text(body.get("result")) or ("stopped" if folding.stopped_why else "")
    return Result(
        outcome=outcome,
        why=folding.stopped_why,
        yaw=_axis(body, "yaw"),
        elevation=_axis(body, "elevation"),
        probability=number(body.get("probability_inside", body.get("probability"))),
        misses=tuple(_miss(item) for item in map(mapping, sequence(body.get("misses_m")))),
    )


def _axis(body: dict[str, object], axis: str) -> Quantity:
    """`{axis: {value, u}}`, or the flat `axis_deg` and `u_axis`."""
    if isinstance(body.get(axis), dict):
        return quantity(body[axis], "deg")
    flat_value = number(body.get(f"{axis}_deg", body.get(axis)))
    return Quantity(flat_value, number(body.get(f"u_{axis}")), "deg")


def _miss(item: object) -> Miss:
    body = mapping(item)
    return Miss(
        range_m=number(body.get("range_m")),
        sideways=Quantity(
            number(body.get("sideways_m")), number(body.get("u_sideways_m", body.get("u"))), "m"
        ),
        height=Quantity(
            number(body.get("height_m")), number(body.get("u_height_m", body.get("u_h"))), "m"
        ),
    )
