"""Two sessions or more, side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import reduce
from itertools import combinations

from markupsafe import Markup
from starlette.requests import Request

from companion.archive.digest import Digest, digested
from companion.browse import asked
from companion.browse.port import Reading, Shelf
from companion.browse.units import unit_and_way
from companion.facts.figures import Quantity
from companion.report.fold import fold
from companion.report.hearing import hearings, seconds
from companion.report.view import SessionView
from companion.report.wording import Wording
from companion.statistics.small_multiples import Row, rows_picture
from companion.statistics.summary import FLOOR_MEASURES, STAND_MEASURES

MOST = 6
LETTERS = "ABCDEF"
AIMS = (
    ("compare-before", "aim_yaw_deg", 0),
    ("compare-last", "aim_yaw_deg", -1),
    ("compare-before", "aim_elevation_deg", 0),
    ("compare-last", "aim_elevation_deg", -1),
)
AIM_NAMES = ("aim_yaw_deg", "aim_elevation_deg")
AS_FOUND = (
    "stand_offset_left_mm",
    "stand_turn_deg",
    "distance_error_mm",
    "height_error_mm",
    "thrust_direction_deg",
    *FLOOR_MEASURES,
    *STAND_MEASURES,
)


@dataclass(frozen=True)
class Column:
    """One of the sessions compared."""

    letter: str
    session_id: str
    opened_utc: str
    digest: Digest
    view: SessionView


@dataclass(frozen=True)
class ComparedRow:
    """One line of the comparison; `differs` where the sessions do not say the same."""

    name: str
    values: list[str]
    differs: bool


def compared(shelf: Shelf, request: Request) -> str:
    """The sessions asked for beside each other; a sentence where there are too few or too many."""
    wording = shelf.wording
    title = wording("page-compare")
    wanted = list(dict.fromkeys(request.query_params.getlist("session")))
    if not 2 <= len(wanted) <= MOST:
        told = wording("compare-choose", most=MOST, chosen=len(wanted))
        return shelf.page(
            "compare.html.j2", title=title, told=told, columns=(), rows=(), pictures=()
        )
    with shelf.reading() as reading:
        columns = [
            _column(reading, letter, id_) for letter, id_ in zip(LETTERS, wanted, strict=False)
        ]
    return shelf.page(
        "compare.html.j2",
        title=title,
        told="",
        columns=columns,
        rows=_rows(columns, wording),
        pictures=_pictures(columns, wording),
    )


def _column(reading: Reading, letter: str, session_id: str) -> Column:
    told = reading.told(session_id[: asked.LONGEST])
    digest = Digest(told.session_id, told.opened_utc)
    for event in told.events:
        digest = digested(digest, event)
    view = fold(told.session_id, told.events)
    return Column(letter, told.session_id, told.opened_utc, digest, view)


def _rows(columns: list[Column], wording: Wording) -> list[ComparedRow]:
    told = [
        ("column-result", [wording.ending(column.digest.result) for column in columns]),
        ("column-technician", [column.digest.technician for column in columns]),
        ("column-vehicle", [column.digest.vehicle for column in columns]),
        ("column-bay", [column.digest.bay for column in columns]),
        ("compare-screws", [_rounds(column.view, wording) for column in columns]),
    ]
    rows = [ComparedRow(wording(id_), values, len(set(values)) > 1) for id_, values in told]
    # Of these no two sessions are alike.
    rows += [
        ComparedRow(wording("compare-answers"), [_hearing(c.view) for c in columns], False),
        ComparedRow(wording("compare-events"), [str(c.digest.event_count) for c in columns], False),
        ComparedRow(wording("compare-lasted"), [_lasted(c.view, wording) for c in columns], False),
    ]
    for when, name, place in AIMS:
        found = [_aim(column.view, name, place) for column in columns]
        title = wording(when, title=wording.title_of(name))
        rows.append(_measured_row(title, name, found, wording))
    for name in AS_FOUND:
        found = [_first(column.view, name) for column in columns]
        if any(value is not None for value in found):
            rows.append(_measured_row(wording.title_of(name), name, found, wording))
    return rows


def _measured_row(
    title: str, name: str, found: list[Quantity | None], wording: Wording
) -> ComparedRow:
    shown = [
        "" if value is None else wording.amount_with_uncertainty(value, name) for value in found
    ]
    there = [value for value in found if value is not None and value.value is not None]
    return ComparedRow(title, shown, _apart(there))


def _apart(values: list[Quantity]) -> bool:
    """Whether any two lie further apart than twice the standard uncertainty of their difference."""
    return any(
        abs((one.value or 0.0) - (other.value or 0.0))
        > 2 * math.hypot(one.u or 0.0, other.u or 0.0)
        for one, other in combinations(values, 2)
    )


def _aim(view: SessionView, name: str, place: int) -> Quantity | None:
    history = view.aim_history(name)
    return history[place][1] if history else None


def _rounds(view: SessionView, wording: Wording) -> str:
    of_the_job = wording.of(view.opened)
    rounds = [
        ", ".join(
            f"{of_the_job.screw(screw_id)} {wording.turns(turns)}"
            for screw_id, turns in plan.turns.items()
        )
        for plan in view.screw_plans
    ]
    if not rounds:
        return wording("none")
    return reduce(lambda told, turns: wording("compare-then", before=told, turns=turns), rounds)


def _hearing(view: SessionView) -> str:
    answers = hearings(view.events)
    counts = [
        sum(answer.outcome == outcome for answer in answers)
        for outcome in ("taken", "misheard", "refused")
    ]
    return ", ".join(map(str, counts))


def _lasted(view: SessionView, wording: Wording) -> str:
    if not view.events:
        return ""
    lasted_s = seconds(view.events[-1].at_utc) - seconds(view.events[0].at_utc)
    return f"{wording.number(lasted_s / 60, 0)} min" if lasted_s >= 120 else f"{lasted_s:.0f} s"


def _first(view: SessionView, name: str) -> Quantity | None:
    found = view.outputs_named(name)
    return found[0] if found and found[0].value is not None else None


def _pictures(columns: list[Column], wording: Wording) -> list[Markup]:
    """One small chart a measure, one row a session."""
    drawn = []
    for name in (*AIM_NAMES, *AS_FOUND):
        rows = [
            _row(column.letter, quantity, wording)
            for column in columns
            if (quantity := _shown(column.view, name)) is not None
        ]
        if len(rows) < 2:
            continue
        when = "compare-last" if name in AIM_NAMES else "compare-as-found"
        drawn.append(
            rows_picture(
                f"compare-{name.replace('_', '-')}",
                wording(when, title=wording.title_of(name)),
                "; ".join(f"{row.name}: {row.told}" for row in rows),
                rows,
                wording=wording,
                unit=unit_and_way(name, wording),
                name_width=40.0,
                width=440.0,
            )
        )
    return drawn


def _shown(view: SessionView, name: str) -> Quantity | None:
    if name in AIM_NAMES:
        history = view.aim_history(name)
        return history[-1][1] if history and history[-1][1].value is not None else None
    return _first(view, name)


def _row(letter: str, quantity: Quantity, wording: Wording) -> Row:
    value, spread = quantity.value or 0.0, 2 * (quantity.u or 0.0)
    return Row(letter, value - spread, value, value + spread, wording.number(value, 3))
