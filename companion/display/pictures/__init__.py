"""The pictures beside the instruction: one move, one round of screws, one result."""

from __future__ import annotations

from typing import assert_never

from markupsafe import Markup

from companion.display.moment import (
    AimShown,
    Cautions,
    InstrumentsShown,
    Picture,
    ScrewRound,
    StandMove,
)
from companion.display.pictures.aim import aim_picture
from companion.display.pictures.instruments import instruments_picture
from companion.display.pictures.screws import screws_picture
from companion.display.pictures.stand import stand_picture
from companion.facts.shown import Card
from companion.language.words import Words


def draw(picture: Picture | None, words: Words) -> Markup:
    """The picture as SVG; empty where there is nothing to draw."""
    match picture:
        case None | Cautions() | Card():
            return Markup()
        case StandMove():
            return stand_picture(picture, words)
        case InstrumentsShown(instruments):
            return instruments_picture(instruments, words)
        case ScrewRound():
            return screws_picture(picture, words)
        case AimShown():
            return aim_picture(picture, words)
        case _:
            assert_never(picture)
