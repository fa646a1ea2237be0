"""What the hearings of one utterance come to: the best meaning, how sure it is, the best guess."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from companion.recognition.own.head import LIMITS_FILE, packaged
from companion.recognition.own.search import Hearing, Sentence

_LEAST_MARGIN = -20.0
_MOST_MARGIN = 12.0
_LISTED = 5
_LEAST_WORDS, _LEAST_TOGETHER, _LEAST_AHEAD = 3, -2.0, 2.0
"""Where the heads hold different rows of words for likeliest, one of so many words at least is
believed all the same if the mean of the logarithms of its probability is at least this, so far
ahead of the next, and if neither head's own is longer: words left out are the common error.
Chosen on strings of the tuning half, by heads that never met the speakers (MODEL_CARD.md)."""


@dataclass(frozen=True)
class OwnSettings:
    """The limits and the meaning of the confidence; they belong to the heads of a language.

    Three natural-logarithm figures tell how well the best meaning fits: its probability given
    the sound (all its sentences together), that probability over the next meaning's, and over
    the single best way through the frames that any words at all give. All are means over the
    hearings: half by the head that listens along, half by the other at two `speeds`. The
    confidence is the logistic function of `bias` plus their weighted sum: the share that was right
    among utterances like it in the set used for choosing, where both heads held the same meaning
    for likeliest; where they do not, nothing is believed but a row of words that both together are
    sure of (`Evidence.together`). A sound below `least_resemblance` counts as something else
    altogether.

    Where `least_confidence` is not reached, the best guess is what both heads together hold for
    likeliest: the mean of the logarithms of its probability. Below `least_guess` none is told, not
    even for a weak "stop". A single word counts as not agreed on where that mean is below
    `least_of_both`, except yes and no at a read-back: with few other words to choose from one
    hearing alone could carry it. A lone number at a read-back needs `least_alone`. The probability
    over the next meaning's counts up to `most_runner_up`. How each language's were chosen stands in
    MODEL_CARD.md.
    """

    bias: float
    per_probability: float
    per_runner_up: float
    per_free: float
    least_confidence: float
    least_guess: float
    speeds: tuple[float, ...] = (0.94, 1.06)
    least_resemblance: float = 0.2
    most_runner_up: float = _MOST_MARGIN
    least_of_both: float = -math.inf
    least_alone: float = -math.inf

    @classmethod
    def of(cls, language: str) -> OwnSettings:
        """Those of the packaged heads of a language, by its code; raises `EarsError` without."""
        told = json.loads(packaged(LIMITS_FILE, language).read_text(encoding="utf-8"))
        return cls(**told)

    def confidence(self, found: Evidence) -> float:
        """The confidence, from 0 to 1; too little to be believed where the heads do not agree."""
        evidence = (
            self.bias
            + self.per_probability * found.probability
            + self.per_runner_up * min(found.runner_up, self.most_runner_up)
            + self.per_free * found.free
        )
        confidence = 1.0 / (1.0 + math.exp(-min(max(evidence, -50.0), 50.0)))
        if found.together:
            return max(confidence, self.least_confidence)
        return confidence if found.agreed else min(confidence, self.least_resemblance)


@dataclass(frozen=True)
class Evidence:
    """What was heard and the figures that its confidence is made of, see `OwnSettings`.

    `together`: a row of words on which the heads do not agree, but that is far likelier than any
    other to both together. `of_both`: the mean of the logarithms of its probability to the two
    heads, 0 where only one was asked.
    """

    words: str
    meaning: object
    n_best: tuple[str, ...]
    probability: float
    runner_up: float
    free: float
    agreed: bool
    together: bool = False
    of_both: float = 0.0


def weigh(along: Hearing, words: Sequence[Hearing] = ()) -> Evidence | None:
    """The evidence of both heads' hearings of one sound; None where nothing in the grammar fits.

    They agree where the same meaning is the likeliest to each.
    """
    hearings = [along, *words]
    found = by_meaning(hearings)
    if not found:
        return None
    meanings = sorted(found.values(), key=lambda said: -said.log_probability)
    best = meanings[0]
    second = meanings[1].log_probability if len(meanings) > 1 else -math.inf
    free = sum(h.share * h.free for h in hearings) / sum(h.share for h in hearings)
    agreed = not words or _likeliest([along]) == _likeliest(words)
    return Evidence(
        words=" ".join(best.words),
        meaning=best.meaning,
        n_best=tuple(" ".join(sentence.words) for sentence in meanings[:_LISTED]),
        probability=max(_LEAST_MARGIN, best.log_probability),
        runner_up=min(_MOST_MARGIN, best.log_probability - second),
        free=max(_LEAST_MARGIN, best.log_probability - free),
        agreed=agreed,
        together=not agreed and _sure_together(_likeliest(hearings), along, words),
        of_both=_of_both(_likeliest(hearings), along, words) if words else 0.0,
    )


def _of_both(best: object, along: Hearing, words: Sequence[Hearing]) -> float:
    """The mean of the logarithms of a meaning's probability to both heads."""
    found = [said.log_probability for said in guesses(along, words) if said.meaning == best]
    return max(_LEAST_MARGIN, *found) if found else _LEAST_MARGIN


def _likeliest(hearings: Sequence[Hearing]) -> object:
    found = by_meaning(hearings)
    return max(found, key=lambda meaning: found[meaning].log_probability, default=None)


def _sure_together(best: object, along: Hearing, words: Sequence[Hearing]) -> bool:
    """Whether the best meaning is a long row, likely to both heads and far ahead of the next."""
    likely = guesses(along, words)
    if not likely or likely[0].meaning != best or len(likely[0].words) < _LEAST_WORDS:
        return False
    first, *others = (said.log_probability for said in likely)
    if first < _LEAST_TOGETHER or first - max(others, default=-math.inf) < _LEAST_AHEAD:
        return False
    return all(
        len(max(by_meaning(heard).values(), key=lambda said: said.log_probability).words)
        <= len(likely[0].words)
        for heard in ([along], words)
    )


def guess(along: Hearing, words: Sequence[Hearing]) -> Sentence | None:
    """What two heads together hold for likeliest, with the mean of both log probabilities."""
    return next(iter(guesses(along, words)), None)


def guesses(along: Hearing, words: Sequence[Hearing]) -> list[Sentence]:
    """What both heads hold for possible, a sentence for each meaning; the likeliest first.

    The mean of the logarithms of its probability to both counts.
    """
    first, second = by_meaning(words), by_meaning([along])
    found = [
        replace(said, log_probability=(said.log_probability + of_second.log_probability) / 2.0)
        for meaning, said in first.items()
        if (of_second := second.get(meaning)) is not None
    ]
    return sorted(found, key=lambda said: -said.log_probability)


def by_meaning(hearings: Sequence[Hearing]) -> dict[object, Sentence]:
    """The best sentence of each meaning, with the mean over the hearings of its probability."""
    first: dict[object, Sentence] = {}
    sums: dict[object, float] = {}
    whole = sum(hearing.share for hearing in hearings)
    for hearing in hearings:
        share = hearing.share / whole
        for said in hearing.whole:
            if said.meaning is not None:
                first.setdefault(said.meaning, said)
                probability = share * math.exp(said.log_probability)
                sums[said.meaning] = sums.get(said.meaning, 0.0) + probability
    return {
        meaning: replace(said, log_probability=math.log(sums[meaning]))
        for meaning, said in first.items()
        if sums[meaning] > 0.0
    }
