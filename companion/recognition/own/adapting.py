"""Learns a voice: from labelled features of what a person said to additions to the last layer.

First each take is laid over its words by the heads as they ship: how probable each word, or none,
is in each frame, given that all of them were said in this order (the forward-backward algorithm
over CTC's states; Graves et al. 2006, "Connectionist temporal classification"). Then the last
layer is fitted to these shares, held near where it was: the largest a-posteriori estimate under a
normal prior around the shipped weights, and few steps towards it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from companion.recognition.own.adaptation import Adaptation, Added, Array
from companion.recognition.own.head import Head, log_softmax
from companion.recognition.own.search import BLANK

_PRIOR = 10.0
_STEPS = 80
_SURELY_NOTHING = 0.995
"""Frames where a take's words surely are not teach nothing, unless the head hears a word there."""
_HEARS_A_WORD = math.log(0.98)


@dataclass(frozen=True)
class Frames:
    """Some frames of a take as one head has them, and what is said in each.

    `features`: shape (n, 256). `tokens`: the m tokens of its words, the blank first, each once.
    `shares`: shape (n, m), how probable each of them is in each frame; rows sum to one.
    """

    features: Array
    tokens: tuple[int, ...]
    shares: Array


@dataclass(frozen=True)
class Take:
    """One take of some words by one person, as both heads have it; no sound can be made of it."""

    words: str
    along: Frames
    other: Frames


def take_of(
    words: str, along: Head, other: Head, along_features: Array, other_features: Sequence[Array]
) -> Take | None:
    """What can be learned from features of a sound in which these words are said.

    `other_features`: by the head for words, at each of its speeds. None where a head holds for
    impossible that these words were said there.
    """
    first = _frames(words, along, (along_features,))
    second = _frames(words, other, other_features)
    return None if first is None or second is None else Take(words, first, second)


def _frames(words: str, head: Head, hearings: Sequence[Array]) -> Frames | None:
    said = [head.token(word) for word in words.split()]
    tokens = (BLANK, *dict.fromkeys(said))
    features, shares = [], []
    for hearing in hearings:
        heard = head.judge_features(hearing).tokens
        of_tokens = laid_over(heard, said, tokens)
        if of_tokens is None:
            return None
        telling = (of_tokens[:, 0] < _SURELY_NOTHING) | (heard[:, BLANK] < _HEARS_A_WORD)
        features.append(hearing[telling])
        shares.append(of_tokens[telling])
    return Frames(np.concatenate(features), tokens, np.concatenate(shares))


def laid_over(heard: Array, said: Sequence[int], tokens: Sequence[int]) -> Array | None:
    """How probable each of `tokens` is in each frame, given that `said` was said in this order.

    `heard`: natural log probabilities of shape (frames, all tokens). None where `said` has no
    place in the frames.
    """
    states = np.full(2 * len(said) + 1, BLANK)
    states[1::2] = said
    may_skip = np.zeros(len(states), bool)
    may_skip[3::2] = states[3::2] != states[1:-2:2]
    of_states = heard[:, states].astype(np.float64)
    forward = _run(of_states, may_skip)
    backward = _run(of_states[::-1, ::-1], _seen_backwards(may_skip))[::-1, ::-1]
    whole = np.logaddexp(forward[-1, -1], forward[-1, -2])
    if not math.isfinite(whole):
        return None
    with np.errstate(invalid="ignore"):
        in_state = np.exp(forward + backward - of_states - whole)
    in_state = np.nan_to_num(in_state)
    return np.stack([in_state[:, states == token].sum(axis=1) for token in tokens], axis=1).astype(
        np.float32
    )


def _seen_backwards(may_skip: npt.NDArray[np.bool_]) -> npt.NDArray[np.bool_]:
    """Whether a state may be reached from the one behind the next, going back in time."""
    turned = np.zeros(len(may_skip), bool)
    turned[2:] = may_skip[::-1][:-2]
    return turned


def _run(
    of_states: npt.NDArray[np.float64], may_skip: npt.NDArray[np.bool_]
) -> npt.NDArray[np.float64]:
    """Log probability of being in each state at each frame, that frame's own included."""
    nothing = -math.inf
    found = np.full(of_states.shape, nothing)
    found[0, :2] = of_states[0, :2]
    for number in range(1, len(of_states)):
        here = found[number - 1]
        one_on = np.concatenate(([nothing], here[:-1]))
        two_on = np.where(may_skip, np.concatenate(([nothing, nothing], here[:-2])), nothing)
        found[number] = np.logaddexp(np.logaddexp(here, one_on), two_on) + of_states[number]
    return found


def learned(takes: Sequence[Take], along: Head, other: Head, heads: str) -> Adaptation:
    """The adaptation that these takes teach heads with this fingerprint; wanted: one take at least.

    Computed anew from all of them each time, so it never drifts away from what was said.
    """
    return Adaptation.of(
        _fitted(along, [take.along for take in takes]),
        _fitted(other, [take.other for take in takes]),
        heads,
    )


def _fitted(head: Head, takes: Sequence[Frames]) -> Added:
    """Accelerated gradient descent (Nesterov 1983) from the shipped weights."""
    weight, bias = head.last_layer
    features = np.concatenate([take.features for take in takes])
    wanted = np.zeros((len(features), len(bias)), np.float32)
    row = 0
    for take in takes:
        wanted[row : row + len(take.features), list(take.tokens)] = take.shares
        row += len(take.features)
    # The bias is the weight of one more feature, which is always 1.
    seen = np.concatenate([features, np.ones((len(features), 1), np.float32)], axis=1)
    shipped = np.concatenate([weight, bias[:, np.newaxis]], axis=1)
    added = ahead = np.zeros_like(shipped)
    # Half the largest eigenvalue bounds the curvature of the cross-entropy.
    pace = np.float32(1.0 / (0.5 * float(np.linalg.norm(seen, 2)) ** 2 + _PRIOR))
    momentum = 1.0
    for _ in range(_STEPS):
        error = np.exp(log_softmax(seen @ (shipped + ahead).T)) - wanted
        further = ahead - pace * (error.T @ seen + np.float32(_PRIOR) * ahead)
        following = (1.0 + math.sqrt(1.0 + 4.0 * momentum**2)) / 2.0
        ahead = further + np.float32((momentum - 1.0) / following) * (further - added)
        added, momentum = further, following
    return Added(added[:, :-1], added[:, -1])
