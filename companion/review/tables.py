"""The rows of the report's tables, each with the words that stand in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

from companion.facts.figures import Quantity
from companion.facts.plain import flat_rows
from companion.review import values, wording
from companion.review.view import Decision, Reading, SessionView

_Staged = TypeVar("_Staged", Reading, Decision)
ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")
AXES = ("aim_yaw_deg", "aim_elevation_deg")


@dataclass(frozen=True)
class AimLook:
    """One look at the aim along both axes; `answer` is "" where none was given."""

    when: str
    yaw: Quantity
    elevation: Quantity
    probability_inside: float | None = None
    answer: str = ""
    confirmed: bool = True


@dataclass(frozen=True)
class StandingStage:
    """What counts in the end of one stage: its readings and its decisions."""

    title: str
    readings: tuple[Reading, ...]
    decisions: tuple[Decision, ...]


def aim_looks(view: SessionView) -> tuple[AimLook, ...]:
    """Before, after each round, and the result, in this order."""
    if view.aim_verdicts:
        return tuple(
            AimLook(
                _when(verdict.round_number, verdict.sets),
                verdict.yaw,
                verdict.elevation,
                verdict.probability_inside,
                verdict.answer,
                verdict.confirmed,
            )
            for verdict in view.aim_verdicts
        )
    nothing = Quantity(None, None, "deg")
    return tuple(
        AimLook(
            _when(place, 1), aim.outputs.get(AXES[0], nothing), aim.outputs.get(AXES[1], nothing)
        )
        for place, aim in enumerate(view.aims)
    )


def _when(round_number: int, sets: int) -> str:
    told = "before" if round_number == 0 else f"after round {round_number}"
    return told if sets == 1 else f"{told}, mean of {sets} sets"


def standing_stages(view: SessionView) -> tuple[StandingStage, ...]:
    """The readings and decisions that count in the end, under the stages they belong to."""
    readings = [r for r in view.readings if not (r.taken_back or r.measured_again)]
    decisions = [d for d in view.decisions if not (d.taken_back or d.measured_again)]
    begun = [(reading.seq, reading.stage) for reading in view.readings]
    begun += [(decision.seq, decision.stage) for decision in view.decisions]
    titles = dict.fromkeys(stage for _, stage in sorted(begun))
    latest = _latest(decisions)
    stages = (
        StandingStage(
            title,
            _numbered([reading for reading in readings if reading.stage == title]),
            tuple(decision for decision in latest if decision.stage == title),
        )
        for title in titles
    )
    return tuple(stage for stage in stages if stage.readings or stage.decisions)


def _numbered(readings: list[Reading]) -> tuple[Reading, ...]:
    """Readings that all count under one title, as sets that are averaged do, say which is which."""
    often = Counter(reading.title for reading in readings)
    seen: Counter[str] = Counter()
    told = []
    for reading in readings:
        seen[reading.title] += 1
        title = reading.title
        if often[title] > 1:
            title = f"{title}, {_ordinal(seen[title])} set"
        told.append(replace(reading, title=title))
    return tuple(told)


def _ordinal(number: int) -> str:
    return ORDINALS[number - 1] if number <= len(ORDINALS) else f"{number}th"


def _latest(decisions: Iterable[Decision]) -> list[Decision]:
    """Of decisions asked again without being taken back, the last."""
    last = {(decision.title, decision.result_name): decision for decision in decisions}
    return sorted(last.values(), key=lambda decision: decision.seq)


def by_stage(items: tuple[_Staged, ...]) -> list[tuple[str, list[_Staged]]]:
    """The items under their stages, in the order in which the stages came."""
    stages: list[tuple[str, list[_Staged]]] = []
    for item in items:
        if not stages or stages[-1][0] != item.stage:
            stages.append((item.stage, []))
        stages[-1][1].append(item)
    return stages


def reading_value(reading: Reading) -> str:
    """The kept value with a word for its direction instead of a sign."""
    value = reading.value
    if reading.direction and value[:1] in ("-", "+"):
        value = value[1:]
    told = wording.with_unit(value.replace("-", wording.MINUS), reading.unit)
    return f"{told} {reading.direction.replace('_', ' ')}".strip()


def reading_with_doubt(reading: Reading) -> str:
    """The kept value with its standard uncertainty, unit and direction."""
    if reading.u is None:
        return reading_value(reading)
    bare = replace(reading, unit="", direction="")
    value = reading_value(bare)
    if reading.direction:
        value = value.lstrip(f"+{wording.MINUS}")
    spread = wording.with_unit(
        wording.plain_number(reading.u, wording.decimals_for(reading.u)), reading.unit
    )
    return f"{value}\u00a0±\u00a0{spread} {reading.direction.replace('_', ' ')}".strip()


def limits_of(reading: Reading, view: SessionView) -> str:
    """The reading's own tolerance, or the limits that a decision held it against."""
    if reading.tolerance:
        return reading.tolerance
    for decision in view.decisions:
        if decision.result_name in reading.step_ids and decision.seq > reading.seq:
            return wording.limits(decision.low, decision.high, reading.unit, decision.result_name)
    return ""


def input_title(name: str, view: SessionView) -> str:
    """What a share of a doubt comes from: a reading's title, or an entered figure in words.

    Names are reading ids, with " #2" for a second take, or "step.input" for entered figures.
    """
    reading_id = name.split("#")[0].strip()
    for reading in view.readings:
        if reading_id in reading.step_ids:
            return reading.title
    return wording.title_of(reading_id.rpartition(".")[2])


def entered(view: SessionView) -> list[tuple[str, list[tuple[str, str]]]]:
    """What the shop's files said, as rows; the job's steps are left to its file and hash."""
    return [
        (title, flat_rows(view.opened[name]))
        for title, name in (("Vehicle", "vehicle"), ("Sensor mount", "mount"), ("Bay", "bay"))
        if values.mapping(view.opened.get(name))
    ]
