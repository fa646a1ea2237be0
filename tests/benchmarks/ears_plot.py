"""One picture of how the ears compare: right and wrong of what people said, against the noise."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from xml.sax.saxutils import escape

LEVELS = ("clean", "20", "10", "5", "0")
_COLOURS = ("#0b5fa5", "#b5481d", "#3b7d3b", "#7a4fa3", "#a98600", "#3a8f98", "#9a3b62", "#555555")
_DASHES = ("", "7 3", "2 3", "9 3 2 3")
_WIDTH, _HEIGHT = 860, 380
_LEFT, _TOP, _PANEL_WIDTH, _PANEL_HEIGHT, _GAP = 54, 46, 290, 250, 70
_MOST_WRONG = 10.0


def plot(recognisers: Mapping[str, Mapping[str, Any]]) -> str:
    """An SVG with two panels: percent right, and percent wrong with its 95 % bound."""
    panels = [
        _panel(recognisers, 0, "right, %", "right", 100.0),
        _panel(recognisers, 1, "wrong, % (thin line up: 95 % bound)", "wrong", _MOST_WRONG),
    ]
    x = _LEFT + 2 * _PANEL_WIDTH + _GAP + 22
    legend = [
        _line(x, _TOP + 14 + 20 * n, x + 24, _TOP + 14 + 20 * n, n)
        + _text(x + 30, _TOP + 18 + 20 * n, name, "start")
        for n, name in enumerate(recognisers)
    ]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
            'font-family="sans-serif" font-size="12" role="img">',
            "<title>How the ears compare in noise</title>",
            f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#ffffff"/>',
            *panels,
            *legend,
            _text(_LEFT, _HEIGHT - 22, "Speech over noise in dB; people's words only.", "start"),
            "</svg>",
            "",
        ]
    )


def _panel(
    recognisers: Mapping[str, Mapping[str, Any]], number: int, title: str, what: str, most: float
) -> str:
    left = _LEFT + number * (_PANEL_WIDTH + _GAP)
    drawn = [_text(left, _TOP - 14, title, "start")]
    for step in range(6):
        y = _y(most * step / 5, most)
        drawn.append(
            f'<line x1="{left}" y1="{y:.1f}" x2="{left + _PANEL_WIDTH}" y2="{y:.1f}" '
            'stroke="#d5d5d5"/>'
        )
        drawn.append(_text(left - 6, y + 4, f"{most * step / 5:g}", "end"))
    for place, level in enumerate(LEVELS):
        drawn.append(_text(_x(left, place), _TOP + _PANEL_HEIGHT + 18, level, "middle"))
    for colour, told in enumerate(recognisers.values()):
        cells = [told["people_all_kinds"][level] for level in LEVELS]
        heights = [100.0 * c[what] / c["n"] if c["n"] else 0.0 for c in cells]
        shift = 3.0 * (colour - (len(recognisers) - 1) / 2) if what == "wrong" else 0.0
        points = [(_x(left, p) + shift, _y(h, most)) for p, h in enumerate(heights)]
        drawn.append(_row(points, colour))
        for (x, y), cell in zip(points, cells, strict=True):
            drawn.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3" fill="{_colour(colour)}"/>')
            if what == "wrong" and cell["n"]:
                bound_y = _y(100.0 * cell["wrong_upper95"], most)
                drawn.append(
                    f'<line x1="{x:.1f}" y1="{y:.1f}" x2="{x:.1f}" y2="{bound_y:.1f}" '
                    f'stroke="{_colour(colour)}" stroke-width="0.7"/>'
                )
    return "\n".join(drawn)


def _x(left: int, place: int) -> float:
    return left + 20 + place * (_PANEL_WIDTH - 40) / (len(LEVELS) - 1)


def _y(value: float, most: float) -> float:
    return _TOP + _PANEL_HEIGHT * (1.0 - min(value, most) / most)


def _row(points: list[tuple[float, float]], number: int) -> str:
    joined = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return f'<polyline points="{joined}" fill="none" {_stroke(number)}/>'


def _line(x1: float, y1: float, x2: float, y2: float, number: int) -> str:
    return f'<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}" {_stroke(number)}/>'


def _stroke(number: int) -> str:
    dash = _DASHES[number % len(_DASHES)]
    return f'stroke="{_colour(number)}" stroke-width="2" stroke-dasharray="{dash}"'


def _colour(number: int) -> str:
    return _COLOURS[number % len(_COLOURS)]


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'
