"""What an instrument of the simulated bay shows, to be read off: for a page, and in letters."""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup

from companion.display.moment import InstrumentShown
from companion.language.words import Words
from companion.report.pictures import svg

WIDTH, HEIGHT = 800.0, 700.0
MIDDLE = WIDTH / 2
TITLE_Y, TITLE_HEIGHT, LOWEST_Y = 110.0, 50.0, 580.0
_SHOWN_STEPS = 15
"""So many steps of a tape to each side of the reading."""
_EVERY_HALF, _EVERY_WHOLE = 5, 10
_FULL_BUBBLE = 2.0
"""mm per m at which the bubble lies at the end of its glass."""


def is_tape(shown: InstrumentShown) -> bool:
    """Whether it is read off whole marks, as a tape or a scale is, and not off figures."""
    return shown.unit == "mm" and shown.resolution == 1


def instruments_picture(shown: Sequence[InstrumentShown], words: Words) -> Markup:
    """The instruments with their readings; no figure is written out where a tape is read."""
    titles = ", ".join(one.title for one in shown)
    drawn = [
        svg.element(
            "g",
            svg.label((MIDDLE, TITLE_Y), one.title, "figure long", "middle"),
            *(_tape(one, words) if is_tape(one) else _figures(one, words)),
            transform=_place(number, len(shown)),
        )
        for number, one in enumerate(shown)
    ]
    return svg.picture(
        "instrument",
        WIDTH,
        HEIGHT,
        words("picture-instrument", title=titles),
        ", ".join(reading_of(one, words) for one in shown),
        svg.label((MIDDLE, 34), words("picture-in-practice"), "seen", "middle"),
        *drawn,
    )


def _place(number: int, of: int) -> str:
    """One below the other, each as large as there is room."""
    room = (HEIGHT - TITLE_Y + TITLE_HEIGHT) / of
    scale = min(1.0, room / (LOWEST_Y - TITLE_Y + TITLE_HEIGHT))
    down = TITLE_Y - TITLE_HEIGHT + number * room - (TITLE_Y - TITLE_HEIGHT) * scale
    return f"translate({MIDDLE * (1 - scale):.1f} {down:.1f}) scale({scale:.3f})"


def reading_of(shown: InstrumentShown, words: Words) -> str:
    """The reading in figures and words, for those who cannot see the picture."""
    return words.amount(format(abs(shown.value), "f"), shown.unit, shown.direction)


def in_letters(shown: InstrumentShown, words: Words) -> list[str]:
    """The same for a terminal: lines of one width."""
    if not is_tape(shown):
        lines = [f"[ {reading_of(shown, words)} ]"]
        return [_bubble_in_letters(shown), *lines] if _has_bubble(shown) else lines
    first, at, last = _window(shown)
    marks, figures = "", ""
    for place in range(first, last + 1):
        mark = "┼" if place % _EVERY_WHOLE == 0 else "┴" if place % _EVERY_HALF == 0 else "─"
        marks += mark
    for place in range(first, last + 1):
        if place % _EVERY_WHOLE == 0 and len(figures) <= place - first:
            figures = figures.ljust(place - first) + str(abs(place))
    ends = _ends(shown, words)
    lines = [" " * (at - first) + "▼", marks, figures]
    if ends is not None:
        lines.append(f"← {ends[0]}".ljust(len(marks) - len(ends[1]) - 2) + f"{ends[1]} →")
    return lines


def _window(shown: InstrumentShown) -> tuple[int, int, int]:
    """The first mark, where the reading is, the last mark; what has a left side has it left."""
    at = round(shown.value)
    if _ends_of(shown) is not None:
        at = -at
    return at - _SHOWN_STEPS, at, at + _SHOWN_STEPS


def _ends_of(shown: InstrumentShown) -> tuple[str, str] | None:
    """The directions at the left and right end of a scale with its nought in the middle."""
    return (shown.directions[0], shown.directions[1]) if shown.directions else None


def _ends(shown: InstrumentShown, words: Words) -> tuple[str, str] | None:
    ends = _ends_of(shown)
    if ends is None:
        return None
    say = words.language.speaker.direction_word
    return say(ends[0]), say(ends[1])


def _tape(shown: InstrumentShown, words: Words) -> list[Markup]:
    first, at, last = _window(shown)
    axis = svg.Axis(first - 0.5, last + 0.5, 40.0, WIDTH - 40.0)
    top, bottom = 300.0, 470.0
    drawn = [svg.rectangle((30, top), WIDTH - 60, bottom - top, "tape", 8)]
    for place in range(first, last + 1):
        x = axis.at(place)
        long = 90.0 if place % _EVERY_WHOLE == 0 else 62.0 if place % _EVERY_HALF == 0 else 40.0
        drawn.append(svg.line((x, top), (x, top + long), "mark"))
        if place % _EVERY_WHOLE == 0 and first + 1 < place < last - 1:
            drawn.append(svg.label((x, top + 146), str(abs(place)), "figure long", "middle"))
    x = axis.at(at)
    drawn.append(svg.path([(x, top - 4), (x - 24, top - 70), (x + 24, top - 70)], "arrow", True))
    drawn.append(svg.line((x, top - 10), (x, top + 40), "pointer"))
    ends = _ends(shown, words)
    if ends is not None:
        drawn.append(svg.label((40, 560), f"← {ends[0]}", "figure long"))
        drawn.append(svg.label((WIDTH - 40, 560), f"{ends[1]} →", "figure long", "end"))
    return drawn


def _figures(shown: InstrumentShown, words: Words) -> list[Markup]:
    """A display with figures; a level has its glass above it."""
    drawn = [
        svg.rectangle((60, 330), WIDTH - 120, 190, "tape", 20),
        svg.label((MIDDLE, 455), reading_of(shown, words), "figure", "middle"),
    ]
    if _has_bubble(shown):
        x = MIDDLE + 220.0 * _bubble(shown)
        drawn += [
            svg.rectangle((120, 190), 560, 80, "glass", 40),
            svg.line((MIDDLE - 60, 182), (MIDDLE - 60, 278), "mark"),
            svg.line((MIDDLE + 60, 182), (MIDDLE + 60, 278), "mark"),
            svg.element("ellipse", cx=x, cy=230.0, rx=52.0, ry=30.0, class_="bubble"),
        ]
    return drawn


def _has_bubble(shown: InstrumentShown) -> bool:
    return shown.unit == "mm_per_m" and shown.directions == ("up", "down")


def _bubble(shown: InstrumentShown) -> float:
    """Where the bubble lies, -1 at the left end: it goes to the higher one, up is the left's."""
    return -math.tanh(float(shown.value) / _FULL_BUBBLE)


def _bubble_in_letters(shown: InstrumentShown) -> str:
    places = 21
    at = round((places - 1) / 2 * (1 + _bubble(shown)))
    glass = [" "] * places
    glass[places // 2 - 3] = glass[places // 2 + 3] = "│"
    glass[at] = "●"
    return f"({''.join(glass)})"
