"""The page can be read: contrast is measured, and no colour stands alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import companion.report

STYLE = (Path(companion.report.__file__).parent / "templates" / "report.css").read_text("utf-8")
COLOURS = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", STYLE))
TEXT = ("ink", "soft", "inside", "outside", "open", "companion", "technician")


def luminance(colour: str) -> float:
    """Relative luminance by the definition in WCAG 2 (from memory)."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_the_measure_of_contrast_itself() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@pytest.mark.parametrize("text", TEXT)
@pytest.mark.parametrize("ground", ["#ffffff", COLOURS["paper"], COLOURS["sheet"]])
def test_text_stands_out_from_its_ground(text: str, ground: str) -> None:
    assert contrast(COLOURS[text], ground) >= 4.5


@pytest.mark.parametrize("tone", ["inside", "outside", "open"])
def test_answers_stand_out_from_their_own_tint(tone: str) -> None:
    assert contrast(COLOURS[tone], COLOURS[f"{tone}-soft"]) >= 4.5
    assert contrast(COLOURS["ink"], COLOURS[f"{tone}-soft"]) >= 4.5


def test_text_in_pictures_stands_out_from_white_and_from_the_limits() -> None:
    colours = re.findall(r"svg (?:text|\.small) \{[^}]*fill: (#[0-9a-f]{6})", STYLE)
    assert len(colours) == 2
    for colour in colours:
        assert contrast(colour, "#ffffff") >= 4.5
        assert contrast(colour, "#dcebe7") >= 4.5


def test_nothing_is_fetched_by_the_style() -> None:
    assert "url(" not in STYLE
    assert "@import" not in STYLE
