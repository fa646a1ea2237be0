"""At a read-back "no" is never a number: what a lone number must show there to be believed.

"No" is said there to stop an error, and sounds like "nought", a little like "nine" and "zero". A
new reading that is a single word is rare there, so it needs more evidence than "no" could give.
"""

from __future__ import annotations

from collections.abc import Sequence

from companion.recognition.own.evidence import Evidence, Hearing
from companion.recognition.port import GrammarWithMeaning, StepGrammarLike

_YES, _NO = "yes", "no"
_NEVER_ALONE = frozenset({"nought", "oh"})
_NUMBERS = frozenset(
    (
        *("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "niner"),
        *(
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
            "seventeen",
            "eighteen",
        ),
        *("nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"),
    )
)
MOST_OF_NO = -6.0
"""A lone number is doubted where any hearing holds "no" for more probable than this (natural
logarithm). Of 480 hearings of "no" by 30 people of the tuning half 16 came out as a number, one
of them sure of itself ("nought"); with this limit none, and 9 in 10 lone numbers pass."""


def may_be_no(grammar: StepGrammarLike, found: Evidence, hearings: Sequence[Hearing]) -> bool:
    """Whether a lone number, heard where yes, no or a number may be said, may have been "no"."""
    word = found.words
    if word not in _NEVER_ALONE | _NUMBERS or not isinstance(grammar, GrammarWithMeaning):
        return False
    no = grammar.parse(_NO)
    if no is None or grammar.parse(_YES) is None:
        return False
    if word in _NEVER_ALONE:
        return True
    return any(
        meaning == no and sentence.log_probability > MOST_OF_NO
        for hearing in hearings
        for meaning, sentence in hearing.meant
    )
