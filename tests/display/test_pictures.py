"""The arrows on the screen point and wind the way that is meant: a real hand follows them."""

from __future__ import annotations

import math
from fractions import Fraction
from xml.etree import ElementTree

import pytest

from companion.display.moment import ScrewRound, ScrewTurn, StandMove
from companion.display.pictures.screws import screws_picture
from companion.display.pictures.stand import stand_picture
from companion.facts.instructions import Direction, StandQuantity
from companion.language.words import Words
from companion.report.pictures import svg
from tests.drawn import of_class, points, wound_turns

WORDS = Words("en")
TURNS = [Fraction(q, 4) for q in (1, 2, 3, 4, 5, 6, 9, 14)]


def head_of_screw(picture: object) -> svg.Point:
    (head,) = of_class(picture, "head")
    return float(head.get("cx", "nan")), float(head.get("cy", "nan"))


def one_screw(turns: Fraction) -> object:
    return screws_picture(ScrewRound(1, (ScrewTurn("left screw", turns, "now"),)), WORDS)


def tip_and_tail(arrow: ElementTree.Element) -> tuple[svg.Point, svg.Point]:
    """Of a fat arrow, whose outline begins and ends at its tail and has its tip in the middle."""
    outline = points(arrow)
    (x1, y1), (x2, y2) = outline[0], outline[-1]
    return outline[len(outline) // 2], ((x1 + x2) / 2, (y1 + y2) / 2)


@pytest.mark.parametrize("sense", [1, -1], ids=["clockwise", "anticlockwise"])
@pytest.mark.parametrize("turns", [t for t in TURNS if t > 1], ids=str)
def test_more_than_one_turn_winds_as_far_and_the_way_that_is_said(
    turns: Fraction, sense: int
) -> None:
    picture = one_screw(sense * turns)
    centre = head_of_screw(picture)
    for line in (*of_class(picture, "spiral"), *of_class(picture, "spiral-edge")):
        assert wound_turns(points(line), centre) == pytest.approx(float(sense * turns), abs=0.01)
    (arrow_head,) = of_class(picture, "arrow")
    tip, *barbs = points(arrow_head)
    for barb in barbs:
        assert wound_turns([barb, tip], centre) * sense > 0
    (way,) = of_class(picture, "way")
    assert way.text == ("clockwise" if sense > 0 else "anticlockwise")


@pytest.mark.parametrize("sense", [1, -1], ids=["clockwise", "anticlockwise"])
@pytest.mark.parametrize("turns", [t for t in TURNS if t <= 1], ids=str)
def test_up_to_one_turn_goes_round_as_far_and_the_way_that_is_said(
    turns: Fraction, sense: int
) -> None:
    picture = one_screw(sense * turns)
    centre = head_of_screw(picture)
    (arrow,) = of_class(picture, "arrow")
    outline = points(arrow)
    there = outline[: len(outline) // 2 + 1]
    # A whole turn is drawn with a gap between tail and head.
    wanted = float(min(turns, Fraction(335, 360)))
    assert wound_turns(there, centre) == pytest.approx(sense * wanted, abs=0.01)
    start = there[0]
    assert start[0] == pytest.approx(centre[0], abs=0.1)
    assert start[1] < centre[1], "it begins at twelve o'clock"


@pytest.mark.parametrize(
    ("turns", "sign"), [(Fraction(3, 4), "¾ ↻"), (Fraction(-5, 4), "1¼ ↺"), (Fraction(-2), "2 ↺")]
)
def test_the_list_beside_it_shows_the_same_way_and_amount(turns: Fraction, sign: str) -> None:
    (listed,) = of_class(one_screw(turns), "screw-turns")
    assert listed.text == sign


@pytest.mark.parametrize(
    ("kind", "way", "page"),
    [
        # From above with the car's front upwards: left is left, the car is below the stand.
        ("sideways", "left", (-1, 0)),
        ("sideways", "right", (1, 0)),
        ("distance", "towards", (0, 1)),
        ("distance", "away", (0, -1)),
        # From the side, the car on the left.
        ("height", "up", (0, -1)),
        ("height", "down", (0, 1)),
        ("plumb", "towards", (-1, 0)),
        ("plumb", "away", (1, 0)),
        # From the car, at the left end.
        ("level", "up", (0, -1)),
        ("level", "down", (0, 1)),
    ],
)
def test_a_move_of_the_stand_points_the_way_that_is_said(
    kind: str, way: str, page: tuple[int, int]
) -> None:
    move = StandMove(StandQuantity(kind), Direction(way), "4 mm")
    arrows = of_class(stand_picture(move, WORDS), "arrow")
    assert arrows
    for arrow in arrows:
        tip, tail = tip_and_tail(arrow)
        along = (tip[0] - tail[0]) * page[0] + (tip[1] - tail[1]) * page[1]
        across = (tip[0] - tail[0]) * page[1] - (tip[1] - tail[1]) * page[0]
        assert along > 50
        assert abs(across) < 1


@pytest.mark.parametrize(("way", "sense"), [("left", -1), ("right", 1)])
def test_a_stand_turned_to_the_left_goes_anticlockwise_seen_from_above(
    way: str, sense: int
) -> None:
    picture = stand_picture(StandMove(StandQuantity.TURN, Direction(way), "0.4°"), WORDS)
    middle = (400.0, 190.0)
    arrows = of_class(picture, "arrow")
    assert len(arrows) == 2
    for arrow in arrows:
        tip, tail = tip_and_tail(arrow)
        assert wound_turns([tail, tip], middle) * sense > 0.02
    now, goal = of_class(picture, "plate now")[0], of_class(picture, "plate goal")[0]
    assert (_slope(goal) - _slope(now)) * sense > 0.1


def _slope(line: ElementTree.Element) -> float:
    x1, y1, x2, y2 = (float(line.get(name, "nan")) for name in ("x1", "y1", "x2", "y2"))
    return math.atan2(y2 - y1, x2 - x1)
