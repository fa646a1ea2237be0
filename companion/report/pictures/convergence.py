"""The aim round by round, with its doubt and the entered limits."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from companion.facts.figures import Quantity
from companion.report.pictures import svg
from companion.report.view import SessionView
from companion.report.wording import NAMES, amount, plain_number

WIDTH, PANEL_WIDTH, HEIGHT = 760.0, 380.0, 226.0
AXES = ("aim_yaw_deg", "aim_elevation_deg")


def convergence(view: SessionView) -> Markup | None:
    """Two panels, sideways and up or down; None when no aim was worked out."""
    panels, told = [], []
    for place, name in enumerate(AXES):
        known = [entry for entry in view.aim_history(name) if entry[1].value is not None]
        if known:
            panels.append(_panel(view, name, known, place * PANEL_WIDTH))
            rounds = ", ".join(f"{amount(aim, name)} {when}" for when, aim in known)
            told.append(f"{NAMES[name].title}: {rounds}")
    if not panels:
        return None
    note = "Bars: two standard uncertainties either way. Shaded: the entered limits."
    return svg.picture(
        "rounds",
        WIDTH,
        HEIGHT,
        "The aim round by round",
        "; ".join(told) + ". " + note,
        *panels,
        svg.label((16, HEIGHT - 10), note, "small"),
    )


def _panel(
    view: SessionView, name: str, aims: Sequence[tuple[str, Quantity]], left: float
) -> Markup:
    known = NAMES[name]
    low, high = view.aim_limits(name)
    reach = [abs(aim.value or 0) + 2 * (aim.u or 0) for _, aim in aims]
    reach += [abs(limit) for limit in (low, high) if limit is not None]
    most = max(max(reach) * 1.15, 0.01)
    up = svg.Axis(-most, most, HEIGHT - 64, 44)
    across = svg.Axis(0.5, len(aims) + 0.5, left + 64, left + PANEL_WIDTH - 20)
    return svg.element(
        "g",
        svg.label((left + 16, 24), known.title, "strong"),
        _limits_band(across, up, low, high),
        _scale(across, up, left),
        svg.label((across.end_px - 6, up.end_px + 12), known.positive, "small halo", "end"),
        svg.label((across.end_px - 6, up.start_px - 5), known.negative, "small halo", "end"),
        svg.path(
            [(across.at(n), up.at(a.value or 0)) for n, (_, a) in enumerate(aims, 1)], "trend"
        ),
        *(_aim(across.at(n), when, aim, up, name, n) for n, (when, aim) in enumerate(aims, 1)),
    )


def _limits_band(
    across: svg.Axis, up: svg.Axis, low: float | None, high: float | None
) -> Markup | str:
    if low is None or high is None:
        return ""
    top, bottom = up.at(high), up.at(low)
    width = across.end_px - across.start_px
    return svg.rectangle((across.start_px, top), width, bottom - top, "limits")


def _scale(across: svg.Axis, up: svg.Axis, left: float) -> Markup:
    lines = []
    for tick in up.ticks(7):
        y = up.at(tick)
        places = 0 if up.high >= 5 else 1 if up.high >= 0.5 else 2
        class_ = "axis" if tick == 0 else "grid"
        lines.append(svg.line((across.start_px, y), (across.end_px, y), class_))
        told = plain_number(abs(tick), places) + "°"
        lines.append(svg.label((left + 56, y + 4), told, "small", "end"))
    return svg.element("g", *lines)


def _aim(x: float, when: str, aim: Quantity, up: svg.Axis, name: str, number: int) -> Markup:
    """One look at the aim; figures stand by turns above and below, so that they do not meet."""
    value, spread = aim.value or 0.0, 2 * (aim.u or 0.0)
    y = up.at(value)
    top, bottom = up.at(value + spread), up.at(value - spread)
    figure_y = bottom + 16 if number % 2 == 0 else top - 8
    return svg.element(
        "g",
        svg.line((x, top), (x, bottom), "bar"),
        svg.line((x - 6, top), (x + 6, top), "bar"),
        svg.line((x - 6, bottom), (x + 6, bottom), "bar"),
        svg.dot((x, y), 5, "reading"),
        svg.label((x, figure_y), amount(aim, name), "small halo", "middle"),
        svg.label((x, up.start_px + 18), when.removeprefix("after "), "small", "middle"),
    )
