"""Two sessions or more, side by side."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from markupsafe import Markup
from starlette.requests import Request

from companion.archive.digest import Digest, digested
from companion.browse import asked
from companion.browse.rendering import page, result_words
from companion.browse.shelf import Shelf
from companion.facts.figures import Quantity
from companion.record import open_for_reading
from companion.report.fold import fold
from companion.report.hearing import hearings, seconds
from companion.report.view import SessionView
from companion.report.wording import (
    amount_with_doubt,
    name_of,
    plain_number,
    title_of,
    turns_words,
    unit_sign,
)
from companion.statistics.small_multiples import Row, rows_picture
from companion.statistics.summary import FLOOR_MEASURES, STAND_MEASURES

MOST = 6
LETTERS = "ABCDEF"
AIMS = (
    ("Aim sideways, before", "aim_yaw_deg", 0),
    ("Aim sideways, last", "aim_yaw_deg", -1),
    ("Aim up or down, before", "aim_elevation_deg", 0),
    ("Aim up or down, last", "aim_elevation_deg", -1),
)
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
    wanted = list(dict.fromkeys(request.query_params.getlist("session")))
    if not 2 <= len(wanted) <= MOST:
        told = f"Choose two to {MOST} sessions in the list to compare; {len(wanted)} were chosen."
        return page("compare.html.j2", title="Compare", told=told, columns=(), rows=(), pictures=())
    columns = [
        _column(shelf.record_path, letter, id_)
        for letter, id_ in zip(LETTERS, wanted, strict=False)
    ]
    return page(
        "compare.html.j2",
        title="Compare",
        told="",
        columns=columns,
        rows=_rows(columns),
        pictures=_pictures(columns),
    )


def _column(record_path: Path, letter: str, session_id: str) -> Column:
    with open_for_reading(record_path) as database:
        session = database.session(session_id[: asked.LONGEST])
        events = tuple(database.events(session.session_id))
    digest = Digest(session.session_id, session.opened_utc)
    for event in events:
        digest = digested(digest, event)
    view = fold(session.session_id, events)
    return Column(letter, session.session_id, session.opened_utc, digest, view)


def _rows(columns: list[Column]) -> list[ComparedRow]:
    told = [
        ("Result", [result_words(column.digest.result) for column in columns]),
        ("Technician", [column.digest.technician for column in columns]),
        ("Vehicle", [column.digest.vehicle for column in columns]),
        ("Bay", [column.digest.bay for column in columns]),
        ("Screws, round by round", [_rounds(column.view) for column in columns]),
    ]
    rows = [ComparedRow(name, values, len(set(values)) > 1) for name, values in told]
    # Of these no two sessions are alike.
    rows += [
        ComparedRow("Answers taken, denied, refused", [_hearing(c.view) for c in columns], False),
        ComparedRow("Events", [str(c.digest.event_count) for c in columns], False),
        ComparedRow("Lasted", [_lasted(c.view) for c in columns], False),
    ]
    for title, name, place in AIMS:
        found = [_aim(column.view, name, place) for column in columns]
        rows.append(_measured_row(title, name, found))
    for name in AS_FOUND:
        found = [_first(column.view, name) for column in columns]
        if any(value is not None for value in found):
            rows.append(_measured_row(title_of(name), name, found))
    return rows


def _measured_row(title: str, name: str, found: list[Quantity | None]) -> ComparedRow:
    shown = ["" if value is None else amount_with_doubt(value, name) for value in found]
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


def _rounds(view: SessionView) -> str:
    spoken = view.opened.screw_names
    rounds = (
        ", ".join(
            f"{spoken.get(screw_id) or screw_id.replace('_', ' ')} {turns_words(turns)}"
            for screw_id, turns in plan.turns.items()
        )
        for plan in view.screw_plans
    )
    return "; then ".join(rounds) or "none"


def _hearing(view: SessionView) -> str:
    answers = hearings(view.events)
    counts = [
        sum(answer.outcome == outcome for answer in answers)
        for outcome in ("taken", "misheard", "refused")
    ]
    return ", ".join(map(str, counts))


def _lasted(view: SessionView) -> str:
    if not view.events:
        return ""
    lasted_s = seconds(view.events[-1].at_utc) - seconds(view.events[0].at_utc)
    return f"{lasted_s / 60:.0f} min" if lasted_s >= 120 else f"{lasted_s:.0f} s"


def _first(view: SessionView, name: str) -> Quantity | None:
    found = view.outputs_named(name)
    return found[0] if found and found[0].value is not None else None


def _pictures(columns: list[Column]) -> list[Markup]:
    """One small chart a measure, one row a session."""
    drawn = []
    for name in ("aim_yaw_deg", "aim_elevation_deg", *AS_FOUND):
        rows = [
            _row(column.letter, quantity, name)
            for column in columns
            if (quantity := _shown(column.view, name)) is not None
        ]
        if len(rows) < 2:
            continue
        known = name_of(name)
        unit = unit_sign(next(iter(name.rsplit("_", 1)[1:]), ""))
        when = "last" if name.startswith("aim_") else "as found"
        towards = f", + is {known.positive}" if known.positive else ""
        drawn.append(
            rows_picture(
                f"compare-{name.replace('_', '-')}",
                f"{title_of(name)}, {when}",
                "; ".join(f"{row.name}: {row.told}" for row in rows),
                rows,
                unit=f"{unit}{towards}",
                name_width=40.0,
                width=440.0,
            )
        )
    return drawn


def _shown(view: SessionView, name: str) -> Quantity | None:
    if name.startswith("aim_"):
        history = view.aim_history(name)
        return history[-1][1] if history and history[-1][1].value is not None else None
    return _first(view, name)


def _row(letter: str, quantity: Quantity, name: str) -> Row:
    value, spread = quantity.value or 0.0, 2 * (quantity.u or 0.0)
    return Row(letter, value - spread, value, value + spread, plain_number(value, 3))
