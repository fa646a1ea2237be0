"""The questions asked of many sessions, answered from their summaries."""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from companion.statistics.proportion import wilson_interval
from companion.statistics.steadiness import Chart, PartTold, charts, parts_told
from companion.statistics.summary import MEASURES, NOISE_NOT_KEPT
from companion.statistics.variance_components import VarianceComponents, variance_components

By = Literal["technician", "bay"]


@dataclass(frozen=True)
class Choice:
    """Whose sessions are asked about; empty: everybody's."""

    bay: str = ""
    technician: str = ""


@dataclass(frozen=True)
class Repeatability:
    """One measure, split between and within technicians or bays."""

    measure: str
    by: By
    components: VarianceComponents


@dataclass(frozen=True)
class HearingRate:
    """Spoken answers at one step of noise; intervals are 95 %."""

    noise_low_dbfs: int | None
    answers: int
    refused: int
    denied: int
    refused_interval: tuple[float, float]
    denied_interval: tuple[float, float]


@dataclass(frozen=True)
class StageTime:
    """Seconds that a stage takes: quartiles over the sessions, and its part of the whole day."""

    title: str
    sessions: int
    low_s: float
    median_s: float
    high_s: float
    share: float


@dataclass(frozen=True)
class Steadiness:
    """Whether floors and stands are as they were: the `charts` of one bay, and `parts` of some.

    `bays_in_all` have two parts each; of those, `changed` changed and of `unknown` nothing can be
    told. `count` sessions are of the bay.
    """

    bays: tuple[str, ...]
    bay: str
    count: int
    charts: tuple[Chart, ...]
    parts: tuple[PartTold, ...]
    bays_in_all: int
    changed: int
    unknown: int


@dataclass(frozen=True)
class Together:
    """What many sessions of one bay say together.

    `count` sessions are asked about for `hearing` and `times`.
    """

    bays: tuple[str, ...]
    technicians: tuple[str, ...]
    bay: str
    technician: str
    count: int
    by_technician: tuple[Repeatability, ...]
    by_bay: tuple[Repeatability, ...]
    hearing: tuple[HearingRate, ...]
    times: tuple[StageTime, ...]


def steadiness(
    store: sqlite3.Connection, bay: str = "", skip: int = 0, most: int | None = None
) -> Steadiness:
    """That of one record: so many bays of the table from one on, those with a change first."""
    bays, _ = bays_and_technicians(store)
    bay = known_bay(bay, bays)
    found = charts(store)
    parts = parts_told(found)
    moved = {part.bay for part in parts if part.state == "changed"}
    told = sorted({part.bay for part in parts}, key=lambda name: (name not in moved, name))
    shown = told[skip : None if most is None else skip + most]
    states = [part.state for part in parts]
    return Steadiness(
        bays,
        bay,
        session_count(store, Choice(bay)),
        tuple(chart for chart in found if chart.bay == bay),
        tuple(part for name in shown for part in parts if part.bay == name),
        len(told),
        states.count("changed"),
        states.count("too few"),
    )


def known_bay(asked: str, bays: Sequence[str]) -> str:
    """The bay of that name, or the first whose name holds what was asked for, or the first."""
    if asked in bays:
        return asked
    held = (bay for bay in bays if asked.casefold() in bay.casefold())
    return next(held, bays[0] if bays else "")


def together(store: sqlite3.Connection, bay: str, technician: str) -> Together:
    """All of it out of one record's summaries."""
    bays, technicians = bays_and_technicians(store)
    bay = known_bay(bay, bays)
    choice = Choice(bay, technician)
    return Together(
        bays,
        technicians,
        bay,
        technician,
        session_count(store, choice),
        repeatability(store, "technician", Choice(bay=bay)),
        repeatability(store, "bay", Choice(technician=technician)),
        hearing_rates(store, choice),
        stage_times(store, choice),
    )


def bays_and_technicians(store: sqlite3.Connection) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names that occur."""
    bays, technicians = (
        tuple(row[0] for row in store.execute(f"SELECT DISTINCT {name} FROM session ORDER BY 1"))  # noqa: S608
        for name in ("bay", "technician")
    )
    return bays, technicians


def session_count(store: sqlite3.Connection, choice: Choice) -> int:
    """How many sessions are asked about."""
    where, values = _where(choice)
    found = store.execute(f"SELECT COUNT(*) FROM session WHERE {where}", values)  # noqa: S608
    return int(found.fetchone()[0])


def repeatability(store: sqlite3.Connection, by: By, choice: Choice) -> tuple[Repeatability, ...]:
    """Each measure split between and within technicians or bays, where there are repeats."""
    where, values = _where(choice)
    rows = store.execute(
        f"SELECT name, {by}, value FROM measure JOIN session USING (number) WHERE {where} "  # noqa: S608
        f"ORDER BY {by}, number",
        values,
    )
    return repeatability_of(rows, by)


def repeatability_of(rows: Iterable[tuple[str, str, float]], by: By) -> tuple[Repeatability, ...]:
    """The same out of (measure, group, value)."""
    groups: dict[str, dict[str, list[float]]] = defaultdict(lambda: defaultdict(list))
    for name, group, value in rows:
        groups[name][group].append(value)
    found = []
    for measure in MEASURES:
        components = variance_components(groups.get(measure, {}))
        if components is not None:
            found.append(Repeatability(measure, by, components))
    return tuple(found)


def hearing_rates(store: sqlite3.Connection, choice: Choice) -> tuple[HearingRate, ...]:
    """How often an answer was refused or denied, by noise, the quietest first."""
    where, values = _where(choice)
    rows = store.execute(
        f"SELECT noise, outcome, SUM(times) FROM heard JOIN session USING (number) WHERE {where} "  # noqa: S608
        "GROUP BY noise, outcome",
        values,
    )
    return hearing_rates_of(rows)


def hearing_rates_of(rows: Iterable[tuple[int, str, int]]) -> tuple[HearingRate, ...]:
    """The same out of (noise, outcome, times)."""
    counts: dict[int, dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for noise, outcome, times in rows:
        counts[noise][outcome] += times
    return tuple(_rate(noise, counts[noise]) for noise in sorted(counts) if _spoken(counts[noise]))


def _spoken(counts: dict[str, int]) -> int:
    """Silence is no answer: only what was spoken can be misheard."""
    return counts["taken"] + counts["misheard"] + counts["refused"]


def _rate(noise: int, counts: dict[str, int]) -> HearingRate:
    answers, refused, denied = _spoken(counts), counts["refused"], counts["misheard"]
    return HearingRate(
        None if noise == NOISE_NOT_KEPT else noise,
        answers,
        refused,
        denied,
        wilson_interval(refused, answers),
        wilson_interval(denied, answers - refused),
    )


def stage_times(store: sqlite3.Connection, choice: Choice) -> tuple[StageTime, ...]:
    """Where the day goes: each stage's quartiles, the longest first."""
    where, values = _where(choice)
    rows = store.execute(
        f"SELECT title, seconds FROM stage JOIN session USING (number) WHERE {where}",  # noqa: S608
        values,
    )
    return stage_times_of(rows)


def stage_times_of(rows: Iterable[tuple[str, float]]) -> tuple[StageTime, ...]:
    """The same out of (title, seconds)."""
    times: dict[str, list[float]] = defaultdict(list)
    for title, spent_s in rows:
        times[title].append(spent_s)
    whole = sum(map(sum, times.values())) or 1.0
    stages = [_stage_time(title, spent, whole) for title, spent in times.items()]
    return tuple(sorted(stages, key=lambda stage: -stage.share))


def _stage_time(title: str, spent_s: Sequence[float], whole_s: float) -> StageTime:
    low, median, high = (float(value) for value in np.percentile(spent_s, (25, 50, 75)))
    return StageTime(title, len(spent_s), low, median, high, sum(spent_s) / whole_s)


def _where(choice: Choice) -> tuple[str, tuple[str, ...]]:
    parts, values = ["1"], []
    for column, value in (("bay", choice.bay), ("technician", choice.technician)):
        if value:
            parts.append(f"{column} = ?")
            values.append(value)
    return " AND ".join(parts), tuple(values)
