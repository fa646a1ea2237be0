"""Noise, refusals and stages over time, in one strip."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from markupsafe import Markup

from companion.facts.opening import Stage
from companion.record import StoredEvent
from companion.report.hearing import Hearing, hearings, seconds
from companion.report.pictures import svg
from companion.report.view import SessionView
from companion.report.wording import Wording

WIDTH = 760.0
LEFT, RIGHT = 108.0, 748.0
ROWS = ("taken", "misheard", "refused", "silent")
ROW_HEIGHT, ROWS_TOP = 19.0, 62.0
NOISE_HEIGHT = 74.0


def hearing_strip(view: SessionView, wording: Wording) -> Markup | None:
    """Stages as bands, answers as marks in four rows, and the noise where it was measured."""
    answers = hearings(view.events)
    if not answers:
        return None
    began_s = seconds(view.events[0].at_utc)
    end_s = max(seconds(view.events[-1].at_utc) - began_s, answers[-1].at_s, 1.0)
    across = svg.Axis(0.0, end_s, LEFT, RIGHT)
    noisy = [answer for answer in answers if answer.noise_dbfs is not None]
    rows_end = ROWS_TOP + ROW_HEIGHT * len(ROWS)
    height = rows_end + 30 + (NOISE_HEIGHT + 18 if noisy else 0)
    counts = {outcome: sum(a.outcome == outcome for a in answers) for outcome in ROWS}
    lasted = _duration(end_s, wording)
    told = wording("strip-told", answers=len(answers), lasted=lasted, **counts)
    return svg.picture(
        "hearing",
        WIDTH,
        height,
        wording("strip-title"),
        f"{told} {_noise_words(noisy, wording)}",
        svg.label((16, 22), wording("strip-title"), "strong"),
        svg.label(
            (RIGHT, 22), wording("strip-count", answers=len(answers), lasted=lasted), "small", "end"
        ),
        _stages(view.events, began_s, across, rows_end, wording),
        _rows(answers, counts, across, wording),
        _noise(noisy, across, rows_end, wording) if noisy else "",
        _time_axis(across, height - 10, wording),
    )


def _stages(
    events: Sequence[StoredEvent], began_s: float, across: svg.Axis, end: float, wording: Wording
) -> Markup:
    starts = [
        (seconds(event.at_utc) - began_s, str(event.fact.number))
        for event in events
        if isinstance(event.fact, Stage)
    ]
    drawn: list[Markup] = []
    for place, ((start_s, number), (next_s, _)) in enumerate(
        pairwise([*starts, (across.high, "")])
    ):
        left, right = across.at(start_s), across.at(next_s)
        if place % 2 == 0:
            drawn.append(svg.rectangle((left, 34), max(right - left, 0.0), end - 34, "stage-band"))
        if right - left > 14:
            drawn.append(svg.label(((left + right) / 2, 48), number, "small", "middle"))
    drawn.append(svg.label((16, 48), wording("label-stage"), "small"))
    return svg.element("g", *drawn)


def _rows(
    answers: Sequence[Hearing], counts: dict[str, int], across: svg.Axis, wording: Wording
) -> Markup:
    drawn: list[Markup] = []
    for place, outcome in enumerate(ROWS):
        y = ROWS_TOP + ROW_HEIGHT * (place + 0.5)
        drawn.append(svg.line((LEFT, y), (RIGHT, y), "grid"))
        drawn.append(svg.label((16, y + 4), wording(f"strip-{outcome}"), "small"))
        drawn.append(svg.label((LEFT - 8, y + 4), str(counts[outcome]), "small", "end"))
        drawn += [
            _mark(outcome, across.at(answer.at_s), y)
            for answer in answers
            if answer.outcome == outcome
        ]
    return svg.element("g", *drawn)


def _mark(outcome: str, x: float, y: float) -> Markup:
    """Shapes tell the outcomes apart without their colours."""
    match outcome:
        case "taken":
            return svg.line((x, y - 5), (x, y + 5), "mark-taken")
        case "misheard":
            return svg.path([(x, y - 6), (x + 6, y), (x, y + 6), (x - 6, y)], "mark-denied", True)
        case "refused":
            down, rising = [(x - 4, y - 4), (x + 4, y + 4)], [(x - 4, y + 4), (x + 4, y - 4)]
            return svg.element("g", *(svg.path(line, "mark-refused") for line in (down, rising)))
        case _:
            return svg.dot((x, y), 4, "mark-silent")


def _noise(noisy: Sequence[Hearing], across: svg.Axis, rows_end: float, wording: Wording) -> Markup:
    levels = [answer.noise_dbfs or 0.0 for answer in noisy]
    low, high = min(levels), max(levels)
    room = max(3.0, 0.15 * (high - low))
    up = svg.Axis(low - room, high + room, rows_end + 12 + NOISE_HEIGHT, rows_end + 12)
    ticks = [
        part
        for tick in up.ticks(4)
        for part in (
            svg.line((LEFT, up.at(tick)), (RIGHT, up.at(tick)), "grid"),
            svg.label((LEFT - 8, up.at(tick) + 4), wording.number(tick, 0), "small", "end"),
        )
    ]
    points = [(across.at(a.at_s), up.at(a.noise_dbfs or 0.0)) for a in noisy]
    return svg.element(
        "g",
        svg.label((16, rows_end + 24), wording("strip-noise"), "small"),
        svg.label((16, rows_end + 39), "dBFS", "small"),
        *ticks,
        svg.path(points, "trend") if len(points) > 1 else "",
        *(svg.dot(point, 2.6, "noise-dot") for point in points),
    )


def _noise_words(noisy: Sequence[Hearing], wording: Wording) -> str:
    if not noisy:
        return wording("strip-no-noise")
    levels = sorted(abs(answer.noise_dbfs or 0.0) for answer in noisy)
    least, most, middle = levels[0], levels[-1], levels[len(levels) // 2]
    return wording(
        "strip-noise-told",
        least=wording.number(least, 0),
        most=wording.number(most, 0),
        middle=wording.number(middle, 0),
    )


def _time_axis(across: svg.Axis, y: float, wording: Wording) -> Markup:
    unit_s, unit = (60.0, "min") if across.high > 180 else (1.0, "s")
    ticks = svg.Axis(0, across.high / unit_s, across.start_px, across.end_px)
    return svg.element(
        "g",
        svg.label((16, y), unit, "small"),
        *(
            svg.label((ticks.at(tick), y), wording.number(tick, 0), "small", "middle")
            for tick in ticks.ticks(8)
            if tick == round(tick)
        ),
    )


def _duration(lasted_s: float, wording: Wording) -> str:
    if lasted_s > 180:
        return wording("lasted-minutes", minutes=round(lasted_s / 60))
    return wording("lasted-seconds", seconds=round(lasted_s))
