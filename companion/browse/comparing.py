"""Two sessions or more, side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import reduce
from itertools import combinations

from markupsafe import Markup
from starlette.requests import Request

from companion.archive.digest import Digest, digested
from companion.browse import asked
from companion.browse.port import PageSource, Reading
from companion.browse.units import unit_and_way
from companion.facts.answers import Answered
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
OF_OTHER_SENSORS = (
    "board_offset_left_mm",
    "board_distance_error_mm",
    "board_height_error_mm",
    "camera_yaw_deg",
    "camera_elevation_deg",
    "facing_deg",
    "sideways_error_mm",
    "away_error_mm",
    "reflector_height_error_mm",
    "corner_angle_deg",
    "front_turned_deg",
    "front_sideways_error_mm",
    "front_distance_error_mm",
    "rear_turned_deg",
    "rear_sideways_error_mm",
    "rear_distance_error_mm",
    "field_skew_deg",
)
"""Of these both stand there: as found, and as left."""
CODES = ("faults_before", "faults_after")
"""The questions of a job about fault codes, by their ids."""


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


def compared(source: PageSource, request: Request) -> str:
    """The sessions asked for beside each other; a sentence where there are too few or too many."""
    wording = source.wording
    title = wording("page-compare")
    wanted = list(dict.fromkeys(request.query_params.getlist("session")))
    if not 2 <= len(wanted) <= MOST:
        told = wording("compare-choose", most=MOST, chosen=len(wanted))
        return source.page(
            "compare.html.j2", title=title, told=told, columns=(), rows=(), pictures=()
        )
    with source.reading() as reading:
        columns = columns_of(reading, wanted)
    return source.page(
        "compare.html.j2",
        title=title,
        told="",
        columns=columns,
        rows=rows_of(columns, wording),
        pictures=_pictures(columns, wording),
    )


def columns_of(reading: Reading, sessions: Sequence[str]) -> list[Column]:
    """The sessions to be compared, in this order. Raises `CompanionError` for what is not there."""
    return [_column(reading, letter, id_) for letter, id_ in zip(LETTERS, sessions, strict=False)]


def _column(reading: Reading, letter: str, session_id: str) -> Column:
    told = reading.told(session_id[: asked.LONGEST])
    digest = Digest(told.session_id, told.opened_utc)
    for event in told.events:
        digest = digested(digest, event)
    view = fold(told.session_id, told.events)
    return Column(letter, told.session_id, told.opened_utc, digest, view)


def rows_of(columns: list[Column], wording: Wording) -> list[ComparedRow]:
    """What stands side by side; rows of which no session says anything are left out."""
    told = [
        ("column-result", [wording.ending(column.digest.result) for column in columns]),
        ("column-technician", [column.digest.technician for column in columns]),
        ("column-vehicle", [column.digest.vehicle for column in columns]),
        ("column-bay", [column.digest.bay for column in columns]),
        ("compare-screws", [_rounds(column.view, wording) for column in columns]),
    ]
    rows = [ComparedRow(wording(id_), values, len(set(values)) > 1) for id_, values in told]
    for question in CODES:
        answers = [_answer(column.view, question, wording) for column in columns]
        title = wording(f"hand-over-answer-{question}")
        rows.append(ComparedRow(title, answers, len(set(answers)) > 1))
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
        found = [_standing(column.view, name, 0) for column in columns]
        if any(value is not None for value in found):
            rows.append(_measured_row(wording.title_of(name), name, found, wording))
    for name in OF_OTHER_SENSORS:
        for when, place in (("compare-as-found", 0), ("compare-as-left", -1)):
            found = [_standing(column.view, name, place) for column in columns]
            if any(value is not None for value in found):
                title = wording(when, title=wording.title_of(name))
                rows.append(_measured_row(title, name, found, wording))
    return [row for row in rows if any(row.values)]


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


def _standing(view: SessionView, name: str, place: int) -> Quantity | None:
    found = view.outputs_named(name)
    return found[place] if found and found[place].value is not None else None


def _answer(view: SessionView, question: str, wording: Wording) -> str:
    """The last answer to a question of the job."""
    facts = (event.fact for event in view.events)
    told = [f.choice for f in facts if isinstance(f, Answered) and f.step_id == question]
    return wording.words.choice(told[-1]) if told else ""


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
    return _standing(view, name, 0)


def _row(letter: str, quantity: Quantity, wording: Wording) -> Row:
    value, spread = quantity.value or 0.0, 2 * (quantity.u or 0.0)
    return Row(letter, value - spread, value, value + spread, wording.number(value, 3))
