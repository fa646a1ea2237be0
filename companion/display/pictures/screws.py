"""The screws of this round as dials: the one to turn now is large, the others stand beside it."""

from __future__ import annotations

import math

from markupsafe import Markup

from companion.display.moment import ScrewRound, ScrewTurn
from companion.display.pictures import arrows
from companion.language.words import Words
from companion.report.pictures import svg

WIDTH, HEIGHT = 800.0, 700.0
LARGE, HEAD = 190.0, 84.0
LONGEST_NAME = 12
"""Letters that fit the list at its usual size."""


def screws_picture(due: ScrewRound, words: Words) -> Markup:
    """One dial a turn; a screw already turned has its tick, the next ones wait."""
    told = "; ".join(
        words(
            "picture-screw-now",
            screw=turn.name,
            turns=f"{words.turns(turn.turns)} {turn_way(words, turn)}",
            note=words(f"picture-note-{turn.state}"),
        )
        for turn in due.turns
    )
    now = next((turn for turn in due.turns if turn.state == "now"), None)
    column = [_small(words, turn, 70.0 + 175.0 * place) for place, turn in enumerate(due.turns[:4])]
    return svg.picture(
        "screws",
        WIDTH,
        HEIGHT,
        words("picture-screw") if due.number is None else words("picture-screws", round=due.number),
        f"{told}. {words('picture-facing')}",
        *(_large(words, now) if now is not None else ()),
        *column,
    )


def _large(words: Words, turn: ScrewTurn) -> list[Markup]:
    centre = (290.0, 280.0)
    turns = float(turn.turns)
    if abs(turns) > 1:
        arrow = [*arrows.spiral(centre, LARGE, HEAD + 26, turns)]
    else:
        # A whole turn leaves a gap, so that its head does not cover its tail.
        arrow = [arrows.round_about(centre, LARGE - 30, 0, max(-335.0, min(335.0, 360.0 * turns)))]
    return [
        svg.label((centre[0], 34), words("picture-facing-short"), "seen", "middle"),
        svg.dot(centre, HEAD, "head"),
        svg.rectangle((centre[0] - HEAD * 0.7, centre[1] - 12), HEAD * 1.4, 24, "slot", 4),
        *_quarters(centre, LARGE + 22),
        *arrow,
        svg.label((centre[0], 600), words.turns(turn.turns), "figure", "middle"),
        svg.label((centre[0], 668), turn_way(words, turn), "way", "middle"),
    ]


def turn_way(words: Words, turn: ScrewTurn) -> str:
    """Clockwise or anticlockwise."""
    way = "clockwise" if turn.turns > 0 else "anticlockwise"
    return words.language.speaker.direction_word(way)


def _quarters(centre: svg.Point, radius: float) -> list[Markup]:
    return [
        svg.line(
            svg.turned((centre[0], centre[1] - radius), centre, 90.0 * quarter),
            svg.turned((centre[0], centre[1] - radius - 14), centre, 90.0 * quarter),
            "tick",
        )
        for quarter in range(4)
    ]


def _small(words: Words, turn: ScrewTurn, y: float) -> Markup:
    """One row of the list: done, now or still to come."""
    x = 606.0
    return svg.element(
        "g",
        svg.rectangle((x - 34, y - 50), 220, 150, f"row {turn.state}", 14),
        svg.label(
            (x - 14, y - 8),
            turn.name,
            "screw-name" if len(turn.name) <= LONGEST_NAME else "screw-name long",
        ),
        svg.label((x - 14, y + 36), _with_arrow(turn), "screw-turns"),
        svg.label(
            (x - 14, y + 82), words(f"picture-note-{turn.state}"), f"screw-note {turn.state}"
        ),
        class_=f"screw {turn.state}",
    )


def _with_arrow(turn: ScrewTurn) -> str:
    """Turns with a round arrow for the way; the words stand beside the large dial."""
    sign = "↻" if turn.turns > 0 else "↺"
    whole, part = divmod(abs(turn.turns), 1)
    quarters = {0: "", 1: "¼", 2: "½", 3: "¾"}.get(math.floor(part * 4), "")
    return f"{whole if whole or not quarters else ''}{quarters} {sign}"
