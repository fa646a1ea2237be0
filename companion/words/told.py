"""Sentences that are told in two ways from the same values: spoken, and written with figures.

A `Told` is its spoken text; what it looks like on a screen stands beside it. `tell` puts parts into
a sentence and keeps both; whatever joins texts otherwise keeps the spoken words alone.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction

from companion.words.speaking import say_cardinal, say_figure

_SIGNS = {
    "deg": "°",
    "mm": "\u00a0mm",
    "db": "\u00a0dB",
    "volt": "\u00a0V",
    "celsius": "\u00a0°C",
    "mm_per_m": "\u00a0mm/m",
    "bar": "\u00a0bar",
}
_QUARTERS = ("", "¼", "½", "¾")


class Told(str):
    """A text as it is spoken, with `written`, the same as it is shown."""

    __slots__ = ("written",)
    written: str

    def __new__(cls, spoken: str, written: str) -> Told:
        told = super().__new__(cls, spoken)
        told.written = written
        return told


def written(text: str) -> str:
    """The text as it is shown: with figures where it was told so."""
    return text.written if isinstance(text, Told) else text


def both(text: str, change: Callable[[str], str]) -> Told:
    """The text changed in the same way in both its forms."""
    return Told(change(str(text)), change(written(text)))


def tell(template: str, **parts: str) -> Told:
    """The sentence with its parts put in for `{name}`, spoken and written."""
    words, figures = template, template
    for name, part in parts.items():
        words = words.replace(f"{{{name}}}", str(part))
        figures = figures.replace(f"{{{name}}}", written(part))
    return Told(words, figures)


def joined(*parts: str) -> Told:
    """The parts one after the other, those left out that are empty."""
    kept = [part for part in parts if part]
    return Told(" ".join(kept), " ".join(map(written, kept)))


def figure(
    value: Decimal | int | Fraction, unit: str | None = None, direction: str | None = None
) -> Told:
    """An amount: "zero point one six degrees left", "0.16° left".

    Raises SpeakingError as `say_figure` does.
    """
    way = "" if direction is None else f" {direction}"
    return Told(say_figure(value, unit, direction), f"{_figure(value, unit)}{way}")


def cardinal(whole: int) -> Told:
    """A count: "three", "3". Raises SpeakingError as `say_cardinal` does."""
    return Told(say_cardinal(whole), str(whole))


def _figure(value: Decimal | int | Fraction, unit: str | None) -> str:
    if unit == "turns":
        whole, part = divmod(Fraction(value), 1)
        quarters = int(part * 4)
        told = f"{whole if whole or not quarters else ''}{_QUARTERS[quarters]}"
        return f"{told}\u00a0{'turns' if value > 1 else 'turn'}"
    plain = value if isinstance(value, Decimal) else Decimal(str(float(value)))
    digits = format(value, "d") if isinstance(value, int) else format(plain, "f")
    return digits + ("" if unit is None else _SIGNS.get(unit, f" {unit}"))
