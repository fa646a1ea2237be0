"""The card for the wall: what may be said, on one printed page, made from a language folder."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from companion.display.page import TEMPLATES
from companion.facts.meanings import COMMAND_NAMES
from companion.language.words import Words
from companion.web.templates import page_templates

TONES = ("listening", "heard", "refused")
PRESSES = ("once", "twice", "held")
LOST = ("say-in-full", "digits", "nearer", "type")
"""What to do when one is not heard, the easiest first."""
_PAIR = ((78, "right"), (2, "right"))
BEGINS = b"<!DOCTYPE html>"
MARK = b'class="wall-card"'
_PAGES = page_templates(TEMPLATES)


def wall_card(language: str) -> str:
    """The page in this language: commands, answers, numbers, tones, pedal, help."""
    words = Words(language)
    grammar, speaker = words.language.grammar, words.language.speaker
    numbers = (
        speaker.say_figure(Decimal(420)),
        speaker.say_figure(Decimal("12.9"), "volt"),
        speaker.say_figure(Decimal("0.25"), "deg", "left"),
        speaker.say_figure(Fraction(7, 4), "turns", "clockwise"),
    )
    pair = " ".join(speaker.say_figure(Decimal(mm), None, way) for mm, way in _PAIR)
    return _PAGES.get_template("card.html.j2").render(
        t=words,
        code=words.code,
        commands=[
            (speaker.in_writing(grammar.command_phrase(n)), words(f"card-does-{n}"))
            for n in COMMAND_NAMES
        ],
        answers=[
            (grammar.answer_phrases(name), words(f"card-means-{name}"))
            for name in ("yes", "no", "done")
        ],
        numbers=numbers,
        pair=pair,
        tones=TONES,
        presses=PRESSES,
        lost=LOST,
    )


def is_card(first: bytes) -> bool:
    """Whether a file that begins like this is such a card."""
    return first.startswith(BEGINS) and MARK in first
