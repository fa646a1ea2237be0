"""What a transcript of people is for the heads: the bay's words, and all else as other words."""

from __future__ import annotations

from functools import cache

from tests.ears_training.phrases import HELD_OUT_WORDS, OTHER, known_words

_SAME = {"o": "oh", "ok": "okay"}
_UNSURE = frozenset({"for", "won", "ate", "too", "aught", "ought", "tree", "a", "know"})
"""Written differently, said like one of the bay's: neither label would be right."""


def label_of(transcript: str, *, letters: bool) -> tuple[str, ...] | None:
    """The label of a clip, word by word; None where the clip is not for training.

    `letters`: single letters are spelled ("h i" is no greeting), and "o" is the digit.
    """
    words = transcript.split()
    if not words or any(w in HELD_OUT_WORDS or (w in _UNSURE and len(w) > 1) for w in words):
        return None
    return tuple(_token(word, letters=letters) for word in words)


def _token(word: str, *, letters: bool) -> str:
    word = _SAME.get(word, word)
    if letters and len(word) == 1:
        return "why" if word == "y" else OTHER
    return word if word in _known() else OTHER


@cache
def _known() -> frozenset[str]:
    return frozenset(known_words())
