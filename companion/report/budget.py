"""The whole budget of the final aim as rows: what, how spread, how much, who entered it."""

from __future__ import annotations

from companion.facts.ending import Finished, Term
from companion.facts.figures import Quantity
from companion.facts.shown import Table
from companion.report.tables import input_title
from companion.report.view import SessionView
from companion.report.wording import COVERAGE_FACTOR, Wording

_COLUMNS = (
    "budget-what",
    "budget-distribution",
    "budget-u",
    "budget-sensitivity",
    "budget-freedom",
    "budget-sideways",
    "budget-up-or-down",
    "budget-entered",
)
_PLACES = 4
_NOTHING = "–"
_FILES = ("bay", "vehicle", "mount")


def budget_table(view: SessionView, wording: Wording) -> Table:
    """Every line, and at the end the combined and the expanded uncertainty; no rows without one."""
    told = view.finished
    title = wording("budget-title")
    columns = tuple(map(wording, _COLUMNS))
    if told is None or not told.terms:
        return Table(title, columns, ())
    rows = [_row(term, view, wording) for term in told.terms]
    rows += _totals(told, wording)
    return Table(title, columns, tuple(rows), wording("budget-note"))


def _row(term: Term, view: SessionView, wording: Wording) -> tuple[str, ...]:
    return (
        _what(term, view, wording),
        wording(f"distribution-{term.distribution}"),
        wording.uncertainty(Quantity(0.0, term.u, term.unit)),
        " · ".join(_figure(item, wording) for item in term.sensitivity),
        _freedom(term.degrees_of_freedom, wording),
        *(_degrees(item, wording) for item in term.contribution),
        _entered(term, wording),
    )


def _what(term: Term, view: SessionView, wording: Wording) -> str:
    if term.part != "entered":
        name, part = input_title(term.source, view, wording), wording(f"part-{term.part}")
        return wording("budget-line", name=name, part=part, takes=term.takes)
    known = f"term-{term.entered_in.rpartition('.')[2]}"
    told = wording(known) if wording.words.has(known) else wording.title_of(term.entered_in)
    at = input_title(term.at or term.source, view, wording)
    # Several steps use one reading, or one figure of a file.
    at = wording("budget-at-step", step=wording.step(term.source.partition(".")[0]), at=at)
    return wording("budget-line-entered", term=told, at=at)


def _entered(term: Term, wording: Wording) -> str:
    """The file that says so, with its field; or that it was worked out from other figures."""
    if term.entered_in == "job":
        return wording("entered-job")
    file, dot, field = term.entered_in.partition(".")
    if dot and file in _FILES:
        return wording(f"entered-{file}", field=field.rpartition(".")[2])
    return wording("entered-worked-out")


def _totals(told: Finished, wording: Wording) -> list[tuple[str, ...]]:
    us = [axis.u for axis in (told.yaw, told.elevation) if axis is not None]
    if len(us) != 2:
        return []
    freedoms = " · ".join(_freedom(item, wording) for item in told.degrees_of_freedom)
    k = COVERAGE_FACTOR
    return [
        (wording("budget-combined"), "", "", "", freedoms, *(_degrees(u, wording) for u in us), ""),
        (
            wording("budget-expanded", k=k),
            "",
            "",
            "",
            "",
            *(_degrees(None if u is None else k * u, wording) for u in us),
            "",
        ),
    ]


def _figure(value: float, wording: Wording) -> str:
    """How strongly, not which way: no sign."""
    return wording.number(abs(value), 3 if abs(value) < 1.0 else 2)


def _degrees(value: float | None, wording: Wording) -> str:
    if value is None:
        return wording.not_recorded
    told = wording.number(abs(value), _PLACES)
    return _NOTHING if float(f"{value:.{_PLACES}f}") == 0.0 else wording.with_unit(told, "deg")


def _freedom(value: float | None, wording: Wording) -> str:
    return "∞" if value is None else wording.number(value, 0)
