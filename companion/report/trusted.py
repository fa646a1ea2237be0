"""What the result rests on beside the readings: instruments, the bay's air and light, trials."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from companion.facts.codec import read
from companion.facts.opening import InstrumentOutline
from companion.facts.shown import Table
from companion.report.tables import reading_value
from companion.report.view import SessionView
from companion.report.wording import Wording

VALIDATION = Path(__file__).parent / "validation.json"
"""What trials found of this version, as `python -m tests.benchmarks.validation` writes it."""
_INSTRUMENTS = ("name", "measures", "serial", "certificate", "due")


@dataclass(frozen=True, slots=True)
class Trials:
    """What was tried in simulated bays: with which version, when, and what came of it."""

    job: str
    version: str
    day: str
    benchmark: str
    command: str
    decisions: int
    false_inside_worst_percent: float
    false_inside_worst_at: str
    false_inside_bound_percent: float
    coverage_least_percent: float
    coverage_most_percent: float
    jobs: int
    jobs_false_inside: int


def instruments_table(view: SessionView, wording: Wording) -> Table:
    """The shop's instruments with what shows that they can be trusted; no rows where none is."""
    late = {one.name for one in view.opened.overdue}
    rows = tuple(
        _instrument(one, wording, late=one.name in late) for one in view.opened.bay_told.instruments
    )
    columns = tuple(wording(f"instrument-{name}") for name in _INSTRUMENTS)
    return Table(wording("instruments-title"), columns, rows)


def _instrument(one: InstrumentOutline, wording: Wording, *, late: bool) -> tuple[str, ...]:
    told = [getattr(one, name) or wording("not-entered") for name in _INSTRUMENTS]
    if late:
        told[-1] = wording("instrument-was-due", due=told[-1])
    return tuple(told)


def stand_check(view: SessionView, wording: Wording) -> str:
    """How the stand's monthly check stood; nothing for a job that rests on none."""
    told = view.opened.stand_check
    if told is None:
        return ""
    return wording("stand-check-told", came_to=told.came_to, day=told.day, session=told.session)


def environment(view: SessionView, wording: Wording) -> list[str]:
    """Temperature as read, light and air as entered, and why the temperature does not act."""
    said = []
    for kept in view.readings:
        if kept.stands and kept.fact.unit == "celsius":
            said.append(
                wording(
                    "environment-read",
                    what=kept.fact.title,
                    value=reading_value(kept.fact, wording),
                )
            )
    entered = view.opened.bay_told.environment
    said += [
        wording(f"environment-{name}", told=told)
        for name, told in (("light", entered.light), ("air", entered.air))
        if told
    ]
    if not entered.light and not entered.air:
        said.append(wording("environment-not-entered"))
    said.append(wording("environment-temperature"))
    return said


def trials(job: object) -> Trials | None:
    """The trials of a job, by its id, that ship with this version; None where none were made."""
    found = _shipped()
    return found if found is not None and found.job == job else None


@lru_cache(maxsize=1)
def _shipped() -> Trials | None:
    if not VALIDATION.exists():
        return None
    return read(Trials, json.loads(VALIDATION.read_text(encoding="utf-8")))


def validation(wording: Wording, found: Trials | None) -> str:
    """Which trials, of which version, with which figures."""
    if found is None:
        return wording("validation-none")
    return wording(
        "validation-told",
        benchmark=found.benchmark,
        version=found.version,
        day=found.day,
        decisions=found.decisions,
        worst=wording.share(found.false_inside_worst_percent, 2),
        bound=wording.share(found.false_inside_bound_percent, 2),
        where=found.false_inside_worst_at,
        least=wording.share(found.coverage_least_percent, 1),
        most=wording.share(found.coverage_most_percent, 1),
        jobs=found.jobs,
        false=found.jobs_false_inside,
    )
