"""The stand and the one move to make: seen from above, from the side, or from the car."""

from __future__ import annotations

from markupsafe import Markup

from companion.display.moment import StandMove
from companion.display.pictures import arrows
from companion.language.words import Words
from companion.report.pictures import svg

WIDTH, HEIGHT = 800.0, 700.0
MIDDLE = WIDTH / 2
FIGURE_Y = 662.0


def stand_picture(move: StandMove, words: Words) -> Markup:
    """The picture of the move, its figure below it. Not to scale: the figure counts."""
    match move.kind:
        case "turn" | "sideways" | "distance":
            seen, drawn = words("picture-from-above"), _from_above(move, words)
        case "height" | "plumb":
            seen, drawn = words("picture-from-the-side"), _from_the_side(move)
        case _:  # The level.
            seen, drawn = words("picture-from-the-car"), _from_the_car(move, words)
    end = move.kind.value if move.kind in ("level", "plumb") else "none"
    figure = words("picture-figure", amount=move.amount, end=end, way=move.way.value)
    return svg.picture(
        "move",
        WIDTH,
        HEIGHT,
        words("picture-move", figure=figure),
        words("picture-not-to-scale", seen=seen),
        svg.label((MIDDLE, 34), seen, "seen", "middle"),
        *drawn,
        svg.label(
            (MIDDLE, FIGURE_Y), figure, "figure long" if len(figure) > 22 else "figure", "middle"
        ),
    )


def _car_from_above(words: Words, top_y: float) -> tuple[Markup, ...]:
    return (
        svg.rectangle((MIDDLE - 130, top_y), 260, 260, "car", 60),
        svg.rectangle((MIDDLE - 94, top_y + 92), 188, 62, "glass", 20),
        svg.rectangle((MIDDLE - 150, top_y + 60), 26, 84, "wheel", 8),
        svg.rectangle((MIDDLE + 124, top_y + 60), 26, 84, "wheel", 8),
        svg.rectangle((MIDDLE - 22, top_y - 8), 44, 22, "sensor", 5),
        svg.label((MIDDLE - 190, top_y + 118), words("picture-left"), "side", "end"),
        svg.label((MIDDLE + 190, top_y + 118), words("picture-right"), "side"),
    )


def _bar(centre: svg.Point, class_: str, turn_deg: float = 0.0) -> tuple[Markup, ...]:
    """The stand's bar with its arms, and the plate in front of it, from above."""

    def at(x: float, y: float) -> svg.Point:
        return svg.turned((centre[0] + x, centre[1] + y), centre, turn_deg)

    ticks = [svg.line(at(x, -14), at(x, 14), f"bar {class_}") for x in (-230, -150, 150, 230)]
    return (
        svg.line(at(-250, 0), at(250, 0), f"bar {class_}"),
        *ticks,
        svg.line(at(-90, 30), at(90, 30), f"plate {class_}"),
        svg.line(at(0, 0), at(0, 30), f"bar {class_}"),
    )


def _from_above(move: StandMove, words: Words) -> list[Markup]:
    car = _car_from_above(words, 360)
    # The lowest part of the car makes room for the figure.
    cover = svg.rectangle((0, 590), WIDTH, 110, "cover")
    here = (MIDDLE, 190.0)
    if move.kind == "turn":
        # To the left is anticlockwise from above: the left end comes towards the car.
        turn = -9.0 if move.way == "left" else 9.0
        sweep = -26.0 if move.way == "left" else 26.0
        return [
            *car,
            cover,
            *_bar(here, "goal", turn),
            *_bar(here, "now"),
            arrows.round_about(here, 312, 90 - sweep / 3, sweep),
            arrows.round_about(here, 312, 270 - sweep / 3, sweep),
        ]
    if move.kind == "sideways":
        side = -1 if move.way == "left" else 1
        goal = (here[0] + side * 70, here[1])
        arrow = arrows.straight((MIDDLE - side * 60, 110), (MIDDLE + side * 190, 110))
        return [*car, cover, *_bar(goal, "goal"), *_bar(here, "now"), arrow]
    away = move.way == "away"
    goal = (here[0], here[1] - 70 if away else here[1] + 70)
    tail, tip = (250.0, 70.0) if away else (110.0, 300.0)
    pair = [arrows.straight((x, tail), (x, tip)) for x in (MIDDLE - 300, MIDDLE + 300)]
    return [*car, cover, *_bar(goal, "goal"), *_bar(here, "now"), *pair]


def _car_from_the_side() -> tuple[Markup, ...]:
    """The front of the car on the left, its nose to the right."""
    hood = [(0, 250), (90, 250), (170, 330), (300, 350), (330, 380), (330, 470), (0, 470)]
    return (
        svg.path(hood, "car", closed=True),
        svg.dot((215, 480), 62, "wheel"),
        svg.dot((215, 480), 26, "hub"),
        svg.rectangle((322, 400), 20, 40, "sensor", 5),
        svg.line((0, 546), (WIDTH, 546), "floor"),
    )


def _plate(foot: svg.Point, class_: str, lean_deg: float = 0.0, rise: float = 0.0) -> Markup:
    """Upright and plate from the side."""

    def at(x: float, y: float) -> svg.Point:
        return svg.turned((foot[0] + x, foot[1] + y), foot, lean_deg)

    return svg.element(
        "g",
        svg.line(at(0, 0), at(0, -400), f"bar {class_}"),
        svg.line(at(-26, -260 - rise), at(-26, -40 - rise), f"plate {class_}"),
        svg.line(at(-26, -150 - rise), at(0, -150 - rise), f"bar {class_}"),
    )


def _from_the_side(move: StandMove) -> list[Markup]:
    foot = (600.0, 520.0)
    base = svg.rectangle((520, 520), 160, 24, "base", 6)
    if move.kind == "height":
        rise = 60.0 if move.way == "up" else -60.0
        tail, tip = (450.0, 230.0) if move.way == "up" else (230.0, 450.0)
        return [
            *_car_from_the_side(),
            base,
            _plate(foot, "goal", rise=rise),
            _plate(foot, "now"),
            arrows.straight((480, tail), (480, tip)),
        ]
    towards = move.way == "towards"
    tail, tip = (620.0, 420.0) if towards else (520.0, 740.0)
    return [
        *_car_from_the_side(),
        base,
        _plate(foot, "goal", lean_deg=-9 if towards else 9),
        _plate(foot, "now"),
        arrows.straight((tail, 90), (tip, 90)),
    ]


def _from_the_car(move: StandMove, words: Words) -> list[Markup]:
    """Looking from the car at the stand, the car's left is on the left."""
    up = move.way == "up"
    centre = (MIDDLE, 300.0)
    tail, tip = (400.0, 190.0) if up else (200.0, 410.0)

    def bar(class_: str, turn_deg: float) -> Markup:
        ends = [svg.turned((centre[0] + x, centre[1]), centre, turn_deg) for x in (-250, 250)]
        return svg.line(ends[0], ends[1], f"bar {class_}")

    return [
        svg.line((0, 546), (WIDTH, 546), "floor"),
        svg.line(centre, (MIDDLE, 520), "bar now"),
        svg.rectangle((MIDDLE - 110, 520), 220, 24, "base", 6),
        svg.rectangle((MIDDLE - 90, 215), 180, 170, "front-plate", 6),
        bar("goal", 8 if up else -8),
        bar("now", 0),
        arrows.straight((90, tail), (90, tip)),
        svg.label((170, 500), words("picture-left-end"), "side", "middle"),
        svg.label((630, 500), words("picture-right-end"), "side", "middle"),
    ]
