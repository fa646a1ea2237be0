"""Our own ears as a recogniser: encoder, head, and the step's grammar laid over both."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt
import soxr

from companion.errors import EarsError
from companion.recognition.own.acceptor import Acceptor, make_acceptor
from companion.recognition.own.encoder import Encoder, vectors_in
from companion.recognition.own.evidence import (
    Evidence,
    Hearing,
    OwnSettings,
    guess,
    hearing_of,
    weigh,
)
from companion.recognition.own.follower import FollowSettings, HeadFollower, Outlook
from companion.recognition.own.head import FOLLOW_FILE, WORDS_FILE, Head, Judged, packaged
from companion.recognition.own.read_back import ReadBackWords, may_be_no
from companion.recognition.own.search import (
    SoFar,
    free_log_probability,
    sentences,
    so_far,
)
from companion.recognition.port import (
    FRAME_BYTES,
    SAMPLE_BYTES,
    SAMPLE_RATE_HZ,
    Expects,
    GrammarWithMeaning,
    Recognition,
    StepGrammarLike,
    WordAutomaton,
)

Samples = npt.NDArray[np.float32]

_KEPT_GRAMMARS = 64
_NOTHING = Recognition("", 0.0, (), "nothing in the grammar fits the sound")
_MOST_ENDINGS = 8
"""Where a sentence can go on in more ways than these, it is not looked at what they mean."""


class OwnRecogniser:
    """`Recogniser` with a Whisper encoder and two heads of our own; needs the extra `ears`.

    One head, with an encoder trained on, listens along and finds where utterances begin and end:
    it hears best in noise. The other, over the encoder as it is, is surer of people it never met
    where it is quiet. Both have the final word, each with half of it. `language`: the code of the
    language whose packaged heads are used; `words_file`, `follow_file`: other heads than these.
    `read_back`: the language's words that a read-back turns on, None where a lone number is
    believed there as anywhere. Not for use from several threads at once. Raises `EarsError` where
    encoder or head are missing.
    """

    name = "own"

    def __init__(
        self,
        settings: OwnSettings | None = None,
        words_file: Path | None = None,
        follow_file: Path | None = None,
        following: FollowSettings | None = None,
        *,
        language: str = "en",
        read_back: ReadBackWords | None = None,
    ) -> None:
        self._settings = settings or OwnSettings.of(language)
        self._following = following
        self.least_confidence = self._settings.least_confidence
        self.least_resemblance = self._settings.least_resemblance
        self._words = _Listening(words_file or packaged(WORDS_FILE, language))
        self._along = _Listening(follow_file or packaged(FOLLOW_FILE, language))
        self._read_back = read_back
        self._acceptors: OrderedDict[WordAutomaton, tuple[Acceptor, Acceptor]] = OrderedDict()
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
        automaton = grammar.automaton
        if automaton not in self._acceptors:
            self._acceptors[automaton] = (
                make_acceptor(automaton, self._words.head.token),
                make_acceptor(automaton, self._along.head.token),
            )
            if len(self._acceptors) > _KEPT_GRAMMARS:
                self._acceptors.popitem(last=False)
        self._acceptors.move_to_end(automaton)
        self._acceptor = self._acceptors[automaton]
        self._grammar = grammar

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`; confidence and guess are explained at `OwnSettings`."""
        heard = self._hearings(_samples_of(sound))
        if heard is None:
            return _NOTHING
        told = self._told(self._weighed(*heard))
        return told if told.confidence >= self.least_confidence else self._guessed(heard, told)

    def recognise_if_sure(self, sound: bytes) -> Recognition | None:
        """What `recognise` makes of it where that is to be believed, else None.

        Where what was heard while listening along resembles nothing, nothing else is asked.
        """
        samples = _samples_of(sound)
        along = self._heard_along(samples)
        if self._told(weigh(along)).confidence < self.least_resemblance:
            return None
        told = self._told(self._weighed(along, self._heard_words(samples)))
        return told if told.confidence >= self.least_confidence else None

    def _told(self, found: Evidence | None) -> Recognition:
        if found is None:
            return _NOTHING
        told = (
            f"log probability {found.probability:.2f}, {found.runner_up:.2f} over the next "
            f"meaning, {found.free:.2f} over anything"
        )
        return Recognition(found.words, self._settings.confidence(found), found.n_best, told)

    def _guessed(self, heard: tuple[Hearing, list[Hearing]], told: Recognition) -> Recognition:
        """The best guess of both heads, for what may act on weak evidence; or none."""
        along, words = heard
        best = guess(along, words)
        if best is None or best.log_probability < self._settings.least_guess:
            detail = f"{told.detail}: none of the grammar's words"
            return Recognition("", told.confidence, (), detail)
        detail = f"{told.detail}; both heads {best.log_probability:.2f}"
        return Recognition(" ".join(best.words), told.confidence, told.n_best, detail)

    def evidence(self, sound: bytes) -> Evidence | None:
        """What the sound says in the loaded grammar; None where nothing in it fits."""
        heard = self._hearings(_samples_of(sound))
        return heard and self._weighed(*heard)

    def _weighed(self, along: Hearing, words: list[Hearing]) -> Evidence | None:
        """The evidence of both heads; a number that may be "no" counts as not agreed on."""
        found = weigh(along, words)
        if found is None or self._read_back is None:
            return found
        doubted = may_be_no(self._read_back, self._loaded()[1], found, [along, *words])
        return replace(found, agreed=False) if doubted else found

    def _hearings(self, samples: Samples) -> tuple[Hearing, list[Hearing]] | None:
        """What both heads hear; None where the sound is too short for anything."""
        self._loaded()
        if len(samples) * SAMPLE_BYTES < FRAME_BYTES:
            return None
        return self._heard_along(samples), self._heard_words(samples)

    def _heard_along(self, samples: Samples) -> Hearing:
        (_, acceptor), grammar = self._loaded()
        return _heard(self._along, acceptor, grammar, samples, 0.5)

    def _heard_words(self, samples: Samples) -> list[Hearing]:
        (acceptor, _), grammar = self._loaded()
        speeds = self._settings.speeds
        return [
            _heard(self._words, acceptor, grammar, at_speed(samples, speed), 0.5 / len(speeds))
            for speed in speeds
        ]

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


def _heard(
    ears: _Listening, acceptor: Acceptor, grammar: StepGrammarLike, samples: Samples, share: float
) -> Hearing:
    tokens = ears.judge(samples).tokens
    said = sentences(tokens, acceptor)
    return hearing_of(grammar, said, free_log_probability(tokens), share)


def _samples_of(sound: bytes) -> Samples:
    return np.frombuffer(sound[: len(sound) // 2 * 2], "<i2").astype(np.float32) / 32768.0


def at_speed(samples: Samples, factor: float) -> Samples:
    """The sound played `factor` times as fast; pitch and formants move with it."""
    if factor == 1.0:
        return samples
    changed = soxr.resample(samples, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ / factor)
    return np.asarray(changed, dtype=np.float32)


__all__ = ["Evidence", "OwnRecogniser", "OwnSettings"]
