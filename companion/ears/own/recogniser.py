"""Our own ears as a recogniser: encoder, head, and the step's grammar laid over both."""

from __future__ import annotations

from collections import OrderedDict
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soxr

from companion.ears.own.acceptor import Acceptor, make_acceptor
from companion.ears.own.encoder import Encoder, vectors_in
from companion.ears.own.evidence import Evidence, Hearing, OwnSettings, guess, weigh
from companion.ears.own.follower import FollowSettings, HeadFollower, Outlook
from companion.ears.own.head import FOLLOW_FILE, WORDS_FILE, Head, Judged, packaged
from companion.ears.own.search import (
    SoFar,
    free_log_probability,
    sentences,
    so_far,
)
from companion.ears.port import (
    FRAME_BYTES,
    SAMPLE_BYTES,
    SAMPLE_RATE_HZ,
    Expects,
    GrammarWithMeaning,
    Recognition,
    StepGrammarLike,
)
from companion.errors import EarsError

Samples = npt.NDArray[np.float32]

_KEPT_GRAMMARS = 64
_MOST_ENDINGS = 8
"""Where a sentence can go on in more ways than these, it is not looked at what they mean."""


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
        self._words = _Listening(head_file or packaged(WORDS_FILE))
        self._along = _Listening(packaged(FOLLOW_FILE))
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
        """See `Recogniser.recognise`; confidence and guess are explained at `OwnSettings`."""
        samples = _samples_of(sound)
        hearings = self._hearings(samples)
        told = self._told(self._weighed(hearings))
        if not hearings or told.confidence >= self.least_confidence:
            return told
        return self._guessed(samples, hearings, told)

    def recognise_if_sure(self, sound: bytes) -> Recognition | None:
        """What `recognise` makes of it where that is to be believed, else None.

        Where the first hearing resembles nothing, the others are spared.
        """
        samples = _samples_of(sound)
        hearings = [self._heard(samples, self._settings.speeds[0])]
        if self._told(self._weighed(hearings)).confidence < self.least_resemblance:
            return None
        hearings += [self._heard(samples, speed) for speed in self._settings.speeds[1:]]
        told = self._told(self._weighed(hearings))
        return told if told.confidence >= self.least_confidence else None

    def _told(self, found: Evidence | None) -> Recognition:
        if found is None:
            return Recognition("", 0.0, (), "nothing in the grammar fits the sound")
        told = (
            f"log probability {found.probability:.2f}, {found.runner_up:.2f} over the next "
            f"meaning, {found.free:.2f} over anything"
        )
        return Recognition(found.words, self._settings.confidence(found), found.n_best, told)

    def _guessed(self, samples: Samples, hearings: list[Hearing], told: Recognition) -> Recognition:
        """The best guess of both heads, for what may act on weak evidence; or none."""
        (_, acceptor), grammar = self._loaded()
        along = [_heard(self._along, acceptor, samples)]
        best = guess(grammar, hearings, along)
        if best is None or best.log_probability < self._settings.least_guess:
            detail = f"{told.detail}: none of the grammar's words"
            return Recognition("", told.confidence, (), detail)
        detail = f"{told.detail}; both heads {best.log_probability:.2f}"
        return Recognition(" ".join(best.words), told.confidence, told.n_best, detail)

    def evidence(self, sound: bytes) -> Evidence | None:
        """What the sound says in the loaded grammar; None where nothing in it fits."""
        return self._weighed(self._hearings(_samples_of(sound)))

    def _hearings(self, samples: Samples) -> list[Hearing]:
        """What is heard at each speed; nothing where the sound is too short for anything."""
        self._loaded()
        if len(samples) * SAMPLE_BYTES < FRAME_BYTES:
            return []
        return [self._heard(samples, speed) for speed in self._settings.speeds]

    def _heard(self, samples: Samples, speed: float) -> Hearing:
        (acceptor, _), _ = self._loaded()
        return _heard(self._words, acceptor, _at_speed(samples, speed))

    def _weighed(self, hearings: list[Hearing]) -> Evidence | None:
        return weigh(self._loaded()[1], hearings)

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


class _Listening:
    """A head with the encoder as it wants it."""

    def __init__(self, file: Path) -> None:
        self.head = Head(file)
        self._encoder = Encoder(self.head.additions)
        self._last: tuple[Samples, Judged] | None = None

    def judge(self, samples: Samples) -> Judged:
        """What the head makes of a stretch of sound.

        Its words may stand anywhere behind where they are said, even in the filling-up at the
        end; where somebody speaks is told without that.
        """
        # An utterance that has been followed to its end is asked about once more as a whole.
        if self._last is not None and np.array_equal(samples, self._last[0]):
            return self._last[1]
        judged = self.head.judge(self._encoder.encode(samples))
        told = Judged(judged.tokens, judged.speech[: vectors_in(len(samples))])
        self._last = (samples, told)
        return told


def _heard(ears: _Listening, acceptor: Acceptor, samples: Samples) -> Hearing:
    tokens = ears.judge(samples).tokens
    return Hearing(sentences(tokens, acceptor), free_log_probability(tokens))


def _samples_of(sound: bytes) -> Samples:
    return np.frombuffer(sound[: len(sound) // 2 * 2], "<i2").astype(np.float32) / 32768.0


def _at_speed(samples: Samples, factor: float) -> Samples:
    """The sound played `factor` times as fast; pitch and formants move with it."""
    if factor == 1.0:
        return samples
    changed = soxr.resample(samples, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ / factor)
    return np.asarray(changed, dtype=np.float32)


__all__ = ["Evidence", "OwnRecogniser", "OwnSettings"]
