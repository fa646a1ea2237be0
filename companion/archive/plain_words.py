"""Texts as single words, by the same rules as the word index: letters and digits, without case or
accents. Figures that are said one after the other are one number."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from itertools import groupby

from companion.archive.query import figure_of

LONGEST_WORD = 60


MOST_FIGURES = 8


def plain_words(text: str) -> Iterator[str]:
    """The words, and beside them each number that was said figure by figure.

    Where one number ends and the next begins is not told by words alone: every run of figures up
    to `MOST_FIGURES` counts as one.
    """
    words = list(split_words(text))
    yield from words
    for are_figures, run in groupby(words, key=lambda word: bool(figure_of(word))):
        figures = [figure_of(word) for word in run] if are_figures else []
        for begin in range(len(figures)):
            for end in range(begin + 1, min(len(figures), begin + MOST_FIGURES) + 1):
                # A point parts a number into words when it is written, too.
                yield from filter(None, "".join(figures[begin:end]).split("."))


def split_words(text: str) -> Iterator[str]:
    """The words alone, in order."""
    bare = "".join(
        sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign)
    ).casefold()
    for is_word, signs in groupby(bare, key=str.isalnum):
        if is_word:
            yield "".join(signs)[:LONGEST_WORD]
