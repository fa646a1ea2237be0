"""Two recognisers that must mean the same: then each may be less sure."""

from __future__ import annotations

from companion.recognition.port import Recogniser, Recognition, StepGrammarLike

ENOUGH_OF_ONE = 0.5
"""The first's confidence that is enough where the second agrees; not fitted to anything."""


class AgreeingRecogniser:
    """`Recogniser` of two: what the first heard, where the second means the same.

    The confidence is the first's where they agree, and less than `ENOUGH_OF_ONE` where not.
    """

    def __init__(self, first: Recogniser, second: Recogniser) -> None:
        self._first, self._second = first, second
        self.name = f"{first.name}+{second.name}"
        self.least_confidence = ENOUGH_OF_ONE
        self.least_resemblance = first.least_resemblance

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """What either could never hear."""
        return self._first.missing_words(words) | self._second.missing_words(words)

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        self._first.load(grammar)
        self._second.load(grammar)

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`."""
        first = self._first.recognise(sound)
        if not first.words or first.confidence < ENOUGH_OF_ONE:
            return first
        second = self._second.recognise(sound)
        near = second.confidence >= self._second.least_resemblance
        agree = near and first.meaning is not None and first.meaning == second.meaning
        confidence = first.confidence if agree else min(first.confidence, 0.9 * ENOUGH_OF_ONE)
        told = f"{first.detail}; {self._second.name}: {second.words!r} {second.confidence:.2f}"
        return Recognition(first.words, first.meaning, confidence, first.n_best, told)
