"""What training examples are drawn from, how often, and how far they go beyond the recordings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

OTHER = "<other>"

WITHOUT_PEOPLE: Mapping[str, int] = {"made": 78, "made row": 11, "nothing": 11}
"""For a language that nobody was recorded speaking."""

_KINDS: Mapping[str, int] = {
    "made": 9,
    "job": 30,
    "word": 18,
    "string": 17,
    "digits": 5,
    "pair": 6,
    "sentence": 5,
    "row": 2,
    "mixed": 2,
    "nothing": 7,
}


@dataclass(frozen=True)
class Variety:
    """How often each kind of example is drawn, and how far it goes beyond what was recorded.

    `changed_share`: so often a recorded word is taken from another mouth (`mouths.py`).
    `urgent`: words that are drawn once more for each time that they stand here.
    `lost_band_share`: so often noise or a microphone swallows a band of the speech altogether.
    `kinds`: the weight of each kind of example. `fastest`: rows of people's words are played so
    many times as fast at most. `joined_share`: so often a string goes on with another of the same
    person. `cheap_share`: so often a telephone or a cheap microphone took the speech.
    `second_share`: so often somebody else talks in the background (MODEL_CARD.md tells of 0.08).
    `noisy_share`: so often the noise is within 15 dB of the speech at least, beside what chance
    brings. `answered_share`: so often a person's row of readings has their "yes" before it, seldom
    their "no" or another word.
    """

    changed_share: float
    urgent: tuple[str, ...]
    lost_band_share: float
    kinds: Mapping[str, int] = field(default_factory=lambda: _KINDS)
    fastest: float = 1.14
    joined_share: float = 0.0
    cheap_share: float = 0.2
    second_share: float = 0.0
    noisy_share: float = 0.0
    answered_share: float = 0.0


_DIGITS = (
    *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"),
    *("four", "nine"),
)
_URGENT = ("stop", "no", "no", "yes", *_DIGITS)
WIDE = Variety(
    0.35,
    ("stop", "stop", *_URGENT, OTHER),
    0.2,
    fastest=1.25,
    joined_share=0.2,
    noisy_share=0.4,
    answered_share=0.3,
)
AS_RECORDED = Variety(
    0.0,
    (*_URGENT, OTHER),
    0.0,
    fastest=1.25,
    joined_share=0.2,
    noisy_share=0.4,
    answered_share=0.3,
)
"""`OTHER` stands for words of people that no prompt knows: drawn as one word of many they were
hardly ever drawn, and drawn five times as often they cost number strings."""
