"""From events to what the report shows. Nothing is looked up elsewhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from companion.facts.aim import AimDecided, ScrewPlan
from companion.facts.answers import Accepted, NotAllowed, TakenBack
from companion.facts.ending import WORKED_ON, Finished, Stopped
from companion.facts.opening import Opened, Stage
from companion.facts.workings import Computed, Decided
from companion.record import StoredEvent
from companion.report.view import Kept, SessionView

_Fact = TypeVar("_Fact", Accepted, Computed, Decided)
NO_WHY = "–"
"""What stands for a reason that an older record does not give."""


@dataclass
class _Folding:
    """Where the fold stands while it walks the events."""

    stage: str = ""
    stage_of: Mapping[str, str] = field(default_factory=dict)
    stopped_why: str = ""
    opened: Opened = field(default_factory=Opened)
    finished: Finished | None = None
    readings: list[Kept[Accepted]] = field(default_factory=list)
    computations: list[Kept[Computed]] = field(default_factory=list)
    decisions: list[Kept[Decided]] = field(default_factory=list)
    aim_verdicts: list[AimDecided] = field(default_factory=list)
    screw_plans: list[ScrewPlan] = field(default_factory=list)

    def take(self, event: StoredEvent) -> None:
        if event.kind in WORKED_ON:
            self.stopped_why = ""
        match event.fact:
            case Opened() as opened:
                self.opened = opened
                self.stage_of = dict(_stages(opened.job))
            case Stage() as stage:
                self.stage = stage.title
            case Accepted() as accepted:
                self.readings.append(Kept(event, self._stage(accepted.reading_id), accepted))
            case Computed() as computed:
                self.computations.append(Kept(event, self._stage(computed.step_id), computed))
            case Decided() as decided:
                self.decisions.append(Kept(event, self._stage(decided.step_id), decided))
            case AimDecided() as verdict:
                self.aim_verdicts.append(verdict)
            case ScrewPlan() as plan:
                self.screw_plans.append(plan)
            case TakenBack() as back:
                self._take_back(back)
            case NotAllowed(step_id, why):
                # True, but it stopped the work: it is read again once that was put right.
                _mark_latest(self.readings, step_id, why or NO_WHY, withdrawn=False)
            case Stopped(why):
                self.stopped_why = why
            case Finished() as finished:
                self.finished = finished
            case _:
                pass

    def _stage(self, step_id: str) -> str:
        """The stage that the job file has the step in; else the one that was begun last.

        What was taken over is decided anew without its stage being begun.
        """
        return self.stage_of.get(step_id, self.stage)

    def _take_back(self, back: TakenBack) -> None:
        withdrawn = back.withdrawn
        why = back.why or NO_WHY
        for step_id in back.step_ids:
            _mark_latest(self.readings, step_id, why, withdrawn)
            _mark_latest(self.computations, step_id, why, withdrawn)
            _mark_latest(self.decisions, step_id, why, withdrawn)


def _stages(job: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Each step of the job file by its id, with its stage's title."""
    for stage in job.get("stages") or ():
        for step in stage.get("steps") or ():
            if "id" in step and "title" in stage:
                yield step["id"], stage["title"]


def _mark_latest(kept: list[Kept[_Fact]], step_id: str, why: str, withdrawn: bool) -> None:
    """Mark the newest standing entry of a step; earlier rounds of it were marked before."""
    for place in range(len(kept) - 1, -1, -1):
        entry = kept[place]
        if entry.stands and _step_of(entry.fact) == step_id:
            kept[place] = (
                replace(entry, taken_back=why) if withdrawn else replace(entry, measured_again=why)
            )
            return


def _step_of(fact: Accepted | Computed | Decided) -> str:
    return fact.reading_id if isinstance(fact, Accepted) else fact.step_id


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
        finished=folding.finished,
        stopped_why=folding.stopped_why,
        readings=tuple(folding.readings),
        computations=tuple(folding.computations),
        decisions=tuple(folding.decisions),
        aim_verdicts=tuple(folding.aim_verdicts),
        screw_plans=tuple(folding.screw_plans),
    )
