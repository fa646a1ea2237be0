"""Noise is not "stop": what a doubtful one must show, since it acts at once and is not read back.

A machine that revs up and is cut off may look like "stop" to both heads. A word that somebody said
stays that word when it is played a little faster; such a noise does not.
"""

from __future__ import annotations

from collections.abc import Sequence

from companion.recognition.own.evidence import Evidence, by_meaning
from companion.recognition.own.search import Hearing

SPEEDS = (0.94, 1.0, 1.06, 1.12, 1.18)
BEYOND_DOUBT = -0.35
"""Log probability to both heads, as `Evidence.probability`, from which on nothing more is asked."""
LEAST_AT_SPEEDS = -1.15
"""The mean over `SPEEDS` of its log probability to the head for words that a doubtful "stop" must
have. Both chosen on noise of the tuning half and on "stop" by people whom the heads had not met
(docs/ears.md, False stops); they belong to the English heads.
"""
_NOT_THERE = -20.0


def is_beyond_doubt(found: Evidence | None, words: str) -> bool:
    """Whether both heads agree on these very words and hardly anything else is possible."""
    return (
        found is not None
        and found.agreed
        and found.words == words
        and found.probability >= BEYOND_DOUBT
    )


def mean_at_speeds(meaning: object, hearings: Sequence[Hearing]) -> float:
    """The mean over hearings of one sound, one a speed, of a meaning's log probability."""
    found = [by_meaning([hearing]).get(meaning) for hearing in hearings]
    told = [max(_NOT_THERE, said.log_probability) if said else _NOT_THERE for said in found]
    return sum(told) / len(told)
