"""Which sentences of a grammar the sound may hold, and how probable each is.

The head gives for every frame the probability of each token or of none (the blank); a sentence's
probability is the sum over all ways of laying its tokens over the frames. Sentences grow from
left to right, and at each frame only the most probable beginnings are kept.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from companion.recognition.own.acceptor import Acceptor
from companion.recognition.port import StepGrammarLike

BLANK = 0
_BEGINNINGS = 24
_LEAST = 1e-5
"""Tokens less probable than this in a frame do not begin there."""
_SURELY_NOTHING = 0.9995


@dataclass(frozen=True)
class Sentence:
    """Words, the natural logarithm of their probability given the sound, and what they mean."""

    words: tuple[str, ...]
    log_probability: float
    meaning: object | None = None


@dataclass(slots=True)
class _Beginning:
    """A row of tokens, and how probable the frames so far are with it.

    `in_blank` where the last frame is a blank, `in_token` where it is the last token.
    """

    words: tuple[str, ...]
    state: int
    last: int
    in_blank: float = 0.0
    in_token: float = 0.0
    new_in_blank: float = 0.0
    new_in_token: float = 0.0

    def grown(self) -> float:
        return self.new_in_blank + self.new_in_token


@dataclass(frozen=True)
class Hearing:
    """What a head hears in a stretch of sound, up to its end, as far as the grammar can tell.

    `whole`: the sentences, the most probable first. `free`: the log probability of the best way
    through the frames, whatever it says. `share`: how much it counts beside the other hearings of
    the same sound. `unfinished`: the log probability of the best beginning that is no sentence yet,
    minus infinity where there is none. `state`: the acceptor's behind the best sentence, 0 where
    there is none.
    """

    whole: tuple[Sentence, ...]
    free: float
    share: float
    unfinished: float = -math.inf
    state: int = 0

    @property
    def likeliest(self) -> float:
        """Log probability of the best of all."""
        return max(self.best_whole, self.unfinished)

    @property
    def best_whole(self) -> float:
        """Log probability of the best sentence, minus infinity where there is none."""
        return self.whole[0].log_probability if self.whole else -math.inf


def hearing(
    log_probabilities: npt.NDArray[np.float32],
    acceptor: Acceptor,
    grammar: StepGrammarLike,
    share: float = 1.0,
) -> Hearing:
    """What such figures say under a grammar; here alone words are given their meaning.

    `log_probabilities`: shape (frames, tokens), natural, token 0 the blank.
    """
    beginnings, log_scale = _beginnings(log_probabilities, acceptor)
    whole: list[tuple[Sentence, int]] = []
    unfinished = -math.inf
    for b in beginnings:
        total = b.in_blank + b.in_token
        if not b.words or total <= 0.0:
            continue
        log_probability = log_scale + math.log(total)
        if acceptor.ends[b.state]:
            meaning = grammar.parse(" ".join(b.words))
            whole.append((Sentence(b.words, log_probability, meaning), b.state))
        else:
            unfinished = max(unfinished, log_probability)
    whole.sort(key=lambda pair: -pair[0].log_probability)
    state = whole[0][1] if whole else 0
    free = float(np.sum(np.max(log_probabilities, axis=1)))
    return Hearing(tuple(sentence for sentence, _ in whole), free, share, unfinished, state)


def _beginnings(
    log_probabilities: npt.NDArray[np.float32], acceptor: Acceptor
) -> tuple[list[_Beginning], float]:
    """The beginnings that are left after all frames, and the scale of their probabilities."""
    frames = np.exp(log_probabilities.astype(np.float64))
    kept: dict[tuple[int, ...], _Beginning] = {(): _Beginning((), 0, -1, in_blank=1.0)}
    log_scale = 0.0
    for frame in frames:
        likely = np.flatnonzero(frame > _LEAST).tolist()
        kept = _advance(kept, frame.tolist(), likely, acceptor)
        total = max(beginning.grown() for beginning in kept.values())
        if total <= 0.0:
            return [], 0.0
        log_scale += math.log(total)
        for beginning in kept.values():
            beginning.in_blank = beginning.new_in_blank / total
            beginning.in_token = beginning.new_in_token / total
            beginning.new_in_blank = beginning.new_in_token = 0.0
    return list(kept.values()), log_scale


def _advance(
    kept: dict[tuple[int, ...], _Beginning],
    frame: list[float],
    likely: list[int],
    acceptor: Acceptor,
) -> dict[tuple[int, ...], _Beginning]:
    grown = dict(kept)
    blank = frame[BLANK]
    for tokens, beginning in kept.items():
        so_far = beginning.in_blank + beginning.in_token
        beginning.new_in_blank += so_far * blank
        if beginning.last >= 0:
            beginning.new_in_token += beginning.in_token * frame[beginning.last]
        if blank > _SURELY_NOTHING:
            continue
        steps = acceptor.steps[beginning.state]
        for token in likely:
            step = steps.get(token)
            if step is None:
                continue
            longer = (*tokens, token)
            after = grown.get(longer)
            if after is None:
                after = _Beginning((*beginning.words, step[1]), step[0], token)
                grown[longer] = after
            before = beginning.in_blank if token == beginning.last else so_far
            after.new_in_token += before * frame[token]
    if len(grown) <= _BEGINNINGS:
        return grown
    best = sorted(grown.items(), key=lambda pair: -pair[1].grown())[:_BEGINNINGS]
    return dict(best)
