"""The rows of the report's tables, each with the words that stand in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Any, TypeVar

from companion.facts.aim import AimDecided
from companion.facts.answers import Accepted
from companion.facts.figures import Quantity
from companion.facts.plain import flat_rows
from companion.facts.workings import Computed, Decided
from companion.report.view import Kept, SessionView
from companion.report.wording import MINUS, Wording

_Staged = TypeVar("_Staged", Accepted, Decided)
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
    readings: tuple[Kept[Accepted], ...]
    decisions: tuple[Decided, ...]


def aim_looks(view: SessionView, wording: Wording) -> tuple[AimLook, ...]:
    """Before, after each round, and the result, in this order."""
    if view.aim_verdicts:
        return tuple(
            AimLook(
                _when_judged(verdict, wording),
                verdict.yaw.quantity,
                verdict.elevation.quantity,
                verdict.probability_inside,
                verdict.answer,
                verdict.confirmed,
            )
            for verdict in view.aim_verdicts
        )
    return tuple(
        AimLook(when(place, wording), _output(aim, AXES[0]), _output(aim, AXES[1]))
        for place, aim in enumerate(view.aims)
    )


def _when_judged(verdict: AimDecided, wording: Wording) -> str:
    told = when(verdict.round, wording, verdict.sets)
    if verdict.levels is None:
        return told
    # A first look spends no look; a short set is one.
    kind = "look-first" if verdict.look is None else "look-short"
    return wording(kind, when=told, levels=verdict.levels)


def _output(aim: Computed, name: str) -> Quantity:
    found = aim.outputs.get(name)
    return Quantity(None, None, "deg") if found is None else found.quantity


def when(round_number: int, wording: Wording, sets: int = 1) -> str:
    """Before the first round on the screws, or after which."""
    told = wording("look-before")
    if round_number:
        told = wording("look-after", round=round_number)
    return told if sets == 1 else wording("look-of-sets", when=told, sets=sets)


def standing_stages(view: SessionView, wording: Wording) -> tuple[StandingStage, ...]:
    """The readings and decisions that count in the end, under the stages they belong to."""
    begun = [(kept.event.seq, kept.stage) for kept in view.readings]
    begun += [(kept.event.seq, kept.stage) for kept in view.decisions]
    titles = dict.fromkeys(stage for _, stage in sorted(begun))
    latest = _latest([kept for kept in view.decisions if kept.stands])
    stages = (
        StandingStage(
            title,
            _numbered(
                [kept for kept in view.readings if kept.stands and kept.stage == title], wording
            ),
            tuple(kept.fact for kept in latest if kept.stage == title),
        )
        for title in titles
    )
    return tuple(stage for stage in stages if stage.readings or stage.decisions)


def _numbered(readings: list[Kept[Accepted]], wording: Wording) -> tuple[Kept[Accepted], ...]:
    """Readings that all count under one title, as sets that are averaged do, say which is which."""
    often = Counter(kept.fact.title for kept in readings)
    seen: Counter[str] = Counter()
    told = []
    for kept in readings:
        title = kept.fact.title
        seen[title] += 1
        if often[title] > 1:
            named = wording("reading-of-set", title=title, number=seen[title])
            kept = replace(kept, fact=replace(kept.fact, title=named))
        told.append(kept)
    return tuple(told)


def _latest(decisions: Iterable[Kept[Decided]]) -> list[Kept[Decided]]:
    """Of decisions asked again without being taken back, the last."""
    last = {(kept.fact.title, kept.fact.result): kept for kept in decisions}
    return sorted(last.values(), key=lambda kept: kept.event.seq)


def by_stage(items: Iterable[Kept[_Staged]]) -> list[tuple[str, list[Kept[_Staged]]]]:
    """The items under their stages, in the order in which the stages came."""
    return [(stage, list(kept)) for stage, kept in groupby(items, key=lambda kept: kept.stage)]


def reading_value(reading: Accepted, wording: Wording) -> str:
    """The kept value with a word for its direction instead of a sign."""
    return value_with_way(reading.value, reading.unit, reading.direction, wording)


def value_with_way(value: str, unit: str, direction: str | None, wording: Wording) -> str:
    """A value's decimal text as figures, with its unit and the word for its direction."""
    way = wording.words.direction(direction) if direction else ""
    return f"{wording.with_unit(_figures(value, direction, wording), unit)} {way}".strip()


def reading_with_uncertainty(reading: Accepted, wording: Wording) -> str:
    """The kept value with its expanded uncertainty (k = 2), unit and direction."""
    if reading.u is None:
        return reading_value(reading, wording)
    spread = wording.expanded(Quantity(None, reading.u, reading.unit))
    return f"{_digits(reading, wording)} ±\u00a0{spread} {_way(reading, wording)}".strip()


def _digits(reading: Accepted, wording: Wording) -> str:
    return _figures(reading.value, reading.direction, wording)


def _figures(value: str, direction: str | None, wording: Wording) -> str:
    """The value as it was said, without a sign where a direction says the same."""
    told = value.lstrip("+-") if direction else value
    return wording.words.decimals(told).replace("-", MINUS)


def _way(reading: Accepted, wording: Wording) -> str:
    return wording.words.direction(reading.direction) if reading.direction else ""


def limits_of(reading: Kept[Accepted], view: SessionView, wording: Wording) -> str:
    """The limits that a decision held the reading itself against."""
    decided = view.decision_on(reading)
    if decided is None:
        return ""
    return wording.limits(decided.low, decided.high, reading.fact.unit, decided.result)


def input_title(name: str, view: SessionView, wording: Wording) -> str:
    """What a share of an uncertainty comes from: a reading's title, or an entered figure in words.

    Names are reading ids, with " #2" for a second take, or "step.input" for entered figures.
    """
    reading_id = name.split("#")[0].strip()
    for ending in (" digits ", " scale and method", " doubt"):
        reading_id = reading_id.partition(ending)[0]
    for kept in view.readings:
        if kept.fact.reading_id == reading_id:
            return kept.fact.title
    return wording.title_of(reading_id.rpartition(".")[2])


def figure_title(name: str, view: SessionView, wording: Wording) -> str:
    """What a doubt rests on, as the budget calls it: a figure of a file, or an instrument."""
    known = f"term-{name.rpartition('.')[2]}"
    return wording(known) if wording.words.has(known) else input_title(name, view, wording)


def entered(view: SessionView, wording: Wording) -> list[tuple[str, list[tuple[str, str]]]]:
    """What the shop's files said, as rows; the job's steps are left to its file and hash."""
    files = (
        ("file-vehicle", view.opened.vehicle),
        ("file-mount", view.opened.mount),
        ("file-bay", view.opened.bay),
    )
    return [
        (wording(title), flat_rows(_named_only(file), word=wording))
        for title, file in files
        if file
    ]


def _named_only(file: Mapping[str, Any]) -> dict[str, Any]:
    """The fields that the file has: what no step of a job needs may be left out of it."""
    return {
        name: _named_only(value) if isinstance(value, Mapping) else value
        for name, value in file.items()
        if value is not None
    }
