"""Hearings made of sentences, as the search gives them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from companion.recognition.own.search import Hearing, Sentence
from companion.recognition.port import StepGrammarLike


def hearing_of(
    grammar: StepGrammarLike, sentences: Sequence[Sentence], free: float, share: float
) -> Hearing:
    """A hearing of these sentences, each with what it means."""
    meant = (replace(said, meaning=grammar.parse(" ".join(said.words))) for said in sentences)
    return Hearing(tuple(meant), free, share)
