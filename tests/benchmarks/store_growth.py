"""`python -m tests.benchmarks.store_growth FIGURES.json...` draws docs/store_growth.svg.

Each file ends with the line of `store --part pages --json`: what pages took, what the disk holds,
at each size that was looked at.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

OUT = Path(__file__).parents[2] / "docs" / "store_growth.svg"
PAGES = ("list", "search", "job", "drift", "worklist")
_COLOURS = ("#0b5fa5", "#b5481d", "#3b7d3b", "#7a4fa3", "#a98600")
_WIDTH, _HEIGHT, _LEFT, _TOP, _PANEL, _TALL, _GAP = 860, 330, 60, 46, 290, 210, 80


def plot(growth: Sequence[dict[str, Any]]) -> str:
    """Two panels over the events in the store: work of each page, and the disk."""
    events = [point["events"] / 1e6 for point in growth]
    work = {page: [float(point[f"{page}_work_ms"]) for point in growth] for page in PAGES}
    disk = {"disk": [point["disk_bytes"] / 1e9 for point in growth]}
    legend = [
        _text(_LEFT + 2 * _PANEL + _GAP + 20, _TOP + 16 + 20 * place, page, "start", colour)
        for place, (page, colour) in enumerate(zip(PAGES, _COLOURS, strict=True))
    ]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" '
            'font-family="sans-serif" font-size="12" role="img">',
            "<title>What pages and disk take as the store grows</title>",
            f'<rect width="{_WIDTH}" height="{_HEIGHT}" fill="#ffffff"/>',
            _panel(_LEFT, "a page: work of pages, engine and browser, ms", events, work),
            _panel(_LEFT + _PANEL + _GAP, "disk, GB", events, disk),
            *legend,
            _text(_LEFT, _HEIGHT - 14, "Millions of events in the store.", "start"),
            "</svg>",
            "",
        ]
    )


def _panel(left: int, title: str, events: Sequence[float], lines: dict[str, list[float]]) -> str:
    most = max(max(values) for values in lines.values()) * 1.15
    widest = max(events) * 1.05
    drawn = [_text(left, _TOP - 14, title, "start")]
    for step in range(5):
        y = _TOP + _TALL * (1 - step / 4)
        drawn.append(
            f'<line x1="{left}" y1="{y:.1f}" x2="{left + _PANEL}" y2="{y:.1f}" stroke="#d5d5d5"/>'
        )
        drawn.append(_text(left - 6, y + 4, f"{most * step / 4:.3g}", "end"))
        x = left + _PANEL * step / 4
        drawn.append(_text(x, _TOP + _TALL + 18, f"{widest * step / 4:.3g}", "middle"))
    for values, colour in zip(lines.values(), _COLOURS, strict=False):
        places = [
            (left + _PANEL * at / widest, _TOP + _TALL * (1 - value / most))
            for at, value in zip(events, values, strict=True)
        ]
        path = " ".join(f"{x:.1f},{y:.1f}" for x, y in places)
        drawn.append(f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>')
        drawn += [f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3.5" fill="{colour}"/>' for x, y in places]
    return "\n".join(drawn)


def _text(x: float, y: float, told: str, anchor: str, colour: str = "#1f2b30") -> str:
    where = f'x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" fill="{colour}"'
    return f"<text {where}>{escape(told)}</text>"


if __name__ == "__main__":
    figures = [Path(name).read_text("utf-8").strip().splitlines()[-1] for name in sys.argv[1:]]
    points = [point for told in figures for point in json.loads(told)["growth"]]
    looked_at = sorted((p for p in points if "list_ms" in p), key=lambda p: float(p["events"]))
    OUT.write_text(plot(looked_at), encoding="utf-8")
