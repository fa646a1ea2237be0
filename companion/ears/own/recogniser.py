"""Our own ears as a recogniser: encoder, head, and the step's grammar laid over both."""

from __future__ import annotations

import math
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soxr

from companion.ears.own.acceptor import Acceptor, make_acceptor
from companion.ears.own.encoder import Encoder, vectors_in
from companion.ears.own.follower import FollowSettings, HeadFollower, Outlook
from companion.ears.own.head import FOLLOW_FILE, WORDS_FILE, Head, Judged, packaged
from companion.ears.own.search import (
    Sentence,
    SoFar,
    free_log_probability,
    sentences,
    so_far,
)
from companion.ears.port import (
    FRAME_BYTES,
    SAMPLE_RATE_HZ,
    Expects,
    GrammarWithMeaning,
    Recognition,
    StepGrammarLike,
)
from companion.errors import EarsError

Samples = npt.NDArray[np.float32]

_KEPT_GRAMMARS = 64
_LISTED = 5
_MOST_ENDINGS = 8
"""Where a sentence can go on in more ways than these, it is not looked at what they mean."""
_LEAST_MARGIN = -20.0
_MOST_MARGIN = 12.0


@dataclass(frozen=True)
class OwnSettings:
    """The limits and the meaning of the confidence.

    Three natural-logarithm figures tell how well the best meaning fits: its probability given
    the sound (all its sentences together), that probability over the next meaning's, and over
    the single best way through the frames that any words at all give. All are means over
    hearings at several `speeds`. The confidence is the logistic function of `bias` plus their
    weighted sum: the share that was right among utterances like it in the set used for choosing,
    4,880 sounds of 50 speakers heard by heads that had not met them. `least_confidence` is the
    lowest limit at which at most 0.5 % of those utterances were taken wrongly at any level down
    to 0 dB and at most 1 % of other words and noise were taken for anything. Below
    `least_resemblance` nothing is told at all, not even for a weak "stop": above it, 1,980 sounds
    of noise alone never gave one.
    """

    bias: float = 1.658
    per_probability: float = 1.467
    per_runner_up: float = 0.183
    per_free: float = 0.765
    speeds: tuple[float, ...] = (1.0, 0.94, 1.06)
    least_confidence: float = 0.83
    least_resemblance: float = 0.2


@dataclass(frozen=True)
class Evidence:
    """What was heard and the figures that its confidence is made of, see `OwnSettings`."""

    words: str
    n_best: tuple[str, ...]
    probability: float
    runner_up: float
    free: float


class OwnRecogniser:
    """`Recogniser` with a Whisper encoder and two heads of our own; needs the extra `ears`.

    One head, with an encoder trained on, listens along and finds where utterances begin and end;
    the other, over the encoder as it is, has the final word: it is wrong less often about people
    it never met. `head_file`: another head than the packaged one for the final word. Not for use
    from several threads at once. Raises `EarsError` where encoder or head are missing.
    """

    name = "own"

    def __init__(
        self,
        settings: OwnSettings | None = None,
        head_file: Path | None = None,
        following: FollowSettings | None = None,
    ) -> None:
        self._settings = settings or OwnSettings()
        self._following = following
        self.least_confidence = self._settings.least_confidence
        self.least_resemblance = self._settings.least_resemblance
        self._words = _Hearing(head_file or packaged(WORDS_FILE))
        self._along = _Hearing(packaged(FOLLOW_FILE))
        self._acceptors: OrderedDict[str, tuple[Acceptor, Acceptor]] = OrderedDict()
        self._acceptor: tuple[Acceptor, Acceptor] | None = None
        self._grammar: StepGrammarLike | None = None

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """The words that the head was not trained on."""
        return frozenset(
            word
            for word in words
            if not (self._words.head.knows(word) and self._along.head.knows(word))
        )

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        if missing := self.missing_words(grammar.words()):
            raise EarsError(
                f"the grammar holds words that these ears cannot hear: "
                f"{', '.join(sorted(missing))}; wanted other words or a head trained on them"
            )
        jsgf = grammar.jsgf()
        if jsgf not in self._acceptors:
            self._acceptors[jsgf] = (
                make_acceptor(jsgf, self._words.head.token),
                make_acceptor(jsgf, self._along.head.token),
            )
            if len(self._acceptors) > _KEPT_GRAMMARS:
                self._acceptors.popitem(last=False)
        self._acceptors.move_to_end(jsgf)
        self._acceptor = self._acceptors[jsgf]
        self._grammar = grammar

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`; the confidence is explained at `OwnSettings`."""
        return self._told(self.evidence(sound))

    def recognise_if_sure(self, sound: bytes) -> Recognition | None:
        """What `recognise` makes of it where that is to be believed, else None.

        Where the first hearing resembles nothing, the others are spared.
        """
        samples = _samples_of(sound)
        hearings = [self._heard(samples, self._settings.speeds[0])]
        if not self._told(self._weighed(hearings)).words:
            return None
        hearings += [self._heard(samples, speed) for speed in self._settings.speeds[1:]]
        told = self._told(self._weighed(hearings))
        return told if told.words and told.confidence >= self.least_confidence else None

    def _told(self, found: Evidence | None) -> Recognition:
        if found is None:
            return Recognition("", 0.0, (), "nothing in the grammar fits the sound")
        told = (
            f"log probability {found.probability:.2f}, {found.runner_up:.2f} over the next "
            f"meaning, {found.free:.2f} over anything"
        )
        confidence = self.confidence(found)
        if confidence < self.least_resemblance:
            return Recognition("", confidence, (), f"{told}: none of the grammar's words")
        return Recognition(found.words, confidence, found.n_best, told)

    def confidence(self, found: Evidence) -> float:
        """From 0 to 1, see `OwnSettings`."""
        settings = self._settings
        evidence = (
            settings.bias
            + settings.per_probability * found.probability
            + settings.per_runner_up * found.runner_up
            + settings.per_free * found.free
        )
        return 1.0 / (1.0 + math.exp(-min(max(evidence, -50.0), 50.0)))

    def evidence(self, sound: bytes) -> Evidence | None:
        """What the sound says in the loaded grammar; None where nothing in it fits."""
        self._loaded()
        if len(sound) < FRAME_BYTES:
            return None
        samples = _samples_of(sound)
        return self._weighed([self._heard(samples, speed) for speed in self._settings.speeds])

    def _heard(self, samples: Samples, speed: float) -> _Heard:
        (acceptor, _), _ = self._loaded()
        tokens = self._words.judge(_at_speed(samples, speed)).tokens
        return _Heard(sentences(tokens, acceptor), free_log_probability(tokens))

    def _weighed(self, hearings: list[_Heard]) -> Evidence | None:
        _, grammar = self._loaded()
        meanings = _by_meaning(grammar, [heard.sentences for heard in hearings])
        if not meanings:
            return None
        best = meanings[0]
        second = meanings[1].log_probability if len(meanings) > 1 else -math.inf
        free = sum(heard.free for heard in hearings) / len(hearings)
        return Evidence(
            words=" ".join(best.words),
            n_best=tuple(" ".join(sentence.words) for sentence in meanings[:_LISTED]),
            probability=max(_LEAST_MARGIN, best.log_probability),
            runner_up=min(_MOST_MARGIN, best.log_probability - second),
            free=max(_LEAST_MARGIN, best.log_probability - free),
        )

    def follower(self) -> HeadFollower:
        """See `FollowingRecogniser.follower`."""
        return HeadFollower(self, self._following)

    def judge(self, samples: Samples) -> Judged:
        """What the head that listens along makes of a stretch of sound."""
        return self._along.judge(samples)

    def so_far(self, tokens: npt.NDArray[np.float32]) -> SoFar:
        """What the loaded grammar makes of the head's tokens."""
        return so_far(tokens, self._loaded()[0][1])

    def outlook(self, so_far: SoFar, expects: Expects | None) -> Outlook:
        """See `Listener.outlook`; "stop" may go on with "now" and is over all the same."""
        (_, acceptor), grammar = self._loaded()
        if not so_far.whole or so_far.best_whole <= so_far.unfinished:
            return "unfinished"
        if not acceptor.steps[so_far.state]:
            return "over"
        if not isinstance(grammar, GrammarWithMeaning):
            return "whole"
        words = so_far.whole[0].words
        meaning = grammar.parse(" ".join(words))
        if meaning is None:
            return "whole"
        if all(
            number < _MOST_ENDINGS and grammar.parse(" ".join((*words, *more))) == meaning
            for number, more in enumerate(acceptor.endings(so_far.state))
        ):
            return "over"
        return "whole" if expects is None or expects(meaning) else "unfinished"

    def _loaded(self) -> tuple[tuple[Acceptor, Acceptor], StepGrammarLike]:
        if self._acceptor is None or self._grammar is None:
            raise EarsError("own ears: no grammar is loaded; wanted one before recognising")
        return self._acceptor, self._grammar


@dataclass(frozen=True)
class _Heard:
    """Of one hearing: the sentences, and how probable the best way through the frames is."""

    sentences: tuple[Sentence, ...]
    free: float


class _Hearing:
    """A head with the encoder as it wants it."""

    def __init__(self, file: Path) -> None:
        self.head = Head(file)
        self._encoder = Encoder(self.head.additions)

    def judge(self, samples: Samples) -> Judged:
        """What the head makes of a stretch of sound.

        Its words may stand anywhere behind where they are said, even in the filling-up at the
        end; where somebody speaks is told without that.
        """
        judged = self.head.judge(self._encoder.encode(samples))
        return Judged(judged.tokens, judged.speech[: vectors_in(len(samples))])


def _by_meaning(grammar: StepGrammarLike, hearings: list[tuple[Sentence, ...]]) -> list[Sentence]:
    """The best sentence of each meaning, with the mean over the hearings of its probability."""
    first: dict[object, Sentence] = {}
    sums: dict[object, float] = {}
    for sentence in (sentence for found in hearings for sentence in found):
        words = " ".join(sentence.words)
        meaning: object = words
        if isinstance(grammar, GrammarWithMeaning):
            meaning = grammar.parse(words)
            if meaning is None:
                continue
        first.setdefault(meaning, sentence)
        sums[meaning] = sums.get(meaning, 0.0) + math.exp(sentence.log_probability)
    summed = [
        Sentence(sentence.words, math.log(sums[meaning] / len(hearings)))
        for meaning, sentence in first.items()
        if sums[meaning] > 0.0
    ]
    return sorted(summed, key=lambda sentence: -sentence.log_probability)


def _samples_of(sound: bytes) -> Samples:
    return np.frombuffer(sound[: len(sound) // 2 * 2], "<i2").astype(np.float32) / 32768.0


def _at_speed(samples: Samples, factor: float) -> Samples:
    """The sound played `factor` times as fast; pitch and formants move with it."""
    if factor == 1.0:
        return samples
    changed = soxr.resample(samples, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ / factor)
    return np.asarray(changed, dtype=np.float32)


__all__ = ["Evidence", "OwnRecogniser", "OwnSettings"]
