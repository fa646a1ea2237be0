"""Our own ears as a recogniser: encoder, head, and the step's grammar laid over both."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.errors import EarsError
from companion.recognition.own.acceptor import Acceptor, make_acceptor
from companion.recognition.own.adaptation import (
    A_WORD,
    A_WORD_AT_READ_BACK,
    LEAST_BY_ITSELF,
    LEAST_BY_VOICE,
    LEAST_OVER_ANYTHING,
    Adaptation,
    fingerprint,
    fingerprint_of,
    require_fits,
)
from companion.recognition.own.adapting import Take, learned, take_of
from companion.recognition.own.completion import Completion, completion
from companion.recognition.own.endpointer import HeadEndpointer, HeadEndpointSettings
from companion.recognition.own.evidence import Evidence, OwnSettings, guess, weigh
from companion.recognition.own.head import FOLLOW_FILE, WORDS_FILE, Judged, packaged
from companion.recognition.own.listening_head import (
    ListeningHead,
    at_speed,
)
from companion.recognition.own.noise_or_stop import (
    LEAST_AT_SPEEDS,
    SPEEDS,
    is_beyond_doubt,
    mean_at_speeds,
)
from companion.recognition.own.read_back import (
    ReadBackWords,
    is_faint,
    is_read_back,
    may_be_no,
    may_be_yes_too,
)
from companion.recognition.own.search import Hearing, hearing
from companion.recognition.port import (
    FRAME_BYTES,
    SAMPLE_BYTES,
    Expects,
    Recognition,
    StepGrammarLike,
    WordAutomaton,
)
from companion.recognition.samples import Samples, samples_of

_KEPT_GRAMMARS = 64
_NOTHING = Recognition("", None, 0.0, (), "nothing in the grammar fits the sound")


class OwnRecogniser:
    """`Recogniser` with a Whisper encoder and two heads of our own.

    One head, with an encoder trained on, listens along and finds where utterances begin and end:
    it hears best in noise. The other, over the encoder as it is, is surer of people it never met
    where it is quiet. Both have the final word, each with half of it. `language`: the code of the
    language whose packaged heads are used; `words_file`, `follow_file`: other heads than these.
    `read_back`: the language's words that a read-back turns on, None where a lone number is
    believed there as anywhere. `stop`: a phrase of the language for the command that acts at once,
    for which noise is not to be taken (`noise_or_stop`); None where it needs no more than any
    other. `voice`: what was learned of the person who speaks, None where nothing was. Not for use
    from several threads at once. Raises `EarsError` where encoder or head are missing, or the voice
    was learned with other heads.
    """

    name = "own"

    def __init__(
        self,
        settings: OwnSettings | None = None,
        words_file: Path | None = None,
        follow_file: Path | None = None,
        following: HeadEndpointSettings | None = None,
        *,
        language: str = "en",
        read_back: ReadBackWords | None = None,
        stop: str | None = None,
        voice: Adaptation | None = None,
    ) -> None:
        files = (
            follow_file or packaged(FOLLOW_FILE, language),
            words_file or packaged(WORDS_FILE, language),
        )
        self._settings = settings or OwnSettings.of(language)
        self._following = following
        self.least_confidence = self._settings.least_confidence
        self.least_resemblance = self._settings.least_resemblance
        self._along, self._words = map(ListeningHead, files)
        own_files = follow_file is not None or words_file is not None
        self.fingerprint = fingerprint_of(files) if own_files else fingerprint(language)
        self._voice: Adaptation | None = None
        self.use_voice(voice)
        self._read_back = read_back
        self._stop = stop
        self._acceptors: OrderedDict[WordAutomaton, tuple[Acceptor, Acceptor]] = OrderedDict()
        self._acceptor: tuple[Acceptor, Acceptor] | None = None
        self._grammar: StepGrammarLike | None = None

    def use_voice(self, voice: Adaptation | None) -> None:
        """Hear a person by what was learned of that voice from now on, or nobody in particular.

        Raises `EarsError` where it was learned with other heads.
        """
        if voice is not None:
            require_fits(voice, self._along.head, self._words.head, self.fingerprint)
        self._voice = voice

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
        """See `Recogniser.recognise`; confidence and guess are explained at `OwnSettings`.

        What is refused for weakness alone may be accepted by what was learned of a voice.
        """
        samples = samples_of(sound)
        both = self._hearings(samples)
        if both is None:
            return _NOTHING
        found = self._weighed(*both)
        told = self._told(found)
        if told.confidence < self.least_confidence:
            told = self._by_voice(samples, both, found) or self._guessed(both, told)
        return self._unless_noise(samples, found, told)

    def _unless_noise(
        self, samples: Samples, found: Evidence | None, told: Recognition
    ) -> Recognition:
        """The same, or nothing where it is a doubtful "stop" that other speeds do not bear out."""
        stop = self._loaded()[1].parse(self._stop) if self._stop else None
        if stop is None or told.meaning != stop:
            return told
        if is_beyond_doubt(found, told.words):
            return told
        figure = mean_at_speeds(stop, self._heard_words(samples, SPEEDS))
        detail = f"{told.detail}; at {len(SPEEDS)} speeds {figure:.2f}"
        if figure >= LEAST_AT_SPEEDS:
            return replace(told, detail=detail)
        return Recognition("", None, min(told.confidence, self.least_resemblance), (), detail)

    def _by_voice(
        self, samples: Samples, both: tuple[Hearing, list[Hearing]], found: Evidence | None
    ) -> Recognition | None:
        """The likeliest meaning once more, if the learned voice is sure of the very same; or None.

        Its words are those that the heads as they ship made of the sound. Nothing is accepted that
        they hold for hardly possible, nor what may have been "no" by them. A single word has to be
        likely to both heads together with what was learned. No row of number words is accepted:
        what is refused there are digits that one head hears and the other does not, and no
        learning told right from wrong among them (docs/ears.md, A learned voice).
        """
        voice = self._voice
        if voice is None or found is None or self._is_row_of_numbers(found.words):
            return None
        by_itself = self._settings.confidence(replace(found, agreed=True))
        if self._hardly_possible(found, both, by_itself):
            return None
        evidence = self._evidence_by(voice, samples, found)
        if evidence is None or evidence.meaning != found.meaning:
            return None
        by_voice = self._settings.confidence(evidence)
        if by_voice < LEAST_BY_VOICE:
            return None
        detail = (
            f"{self._told(found).detail}: too weak by itself ({by_itself:.2f}); accepted by what "
            f"was learned of this voice ({by_voice:.2f})"
        )
        # On the scale of those that need no voice: the least that is accepted is as much as theirs.
        share = (by_voice - LEAST_BY_VOICE) / (1.0 - LEAST_BY_VOICE)
        confidence = self.least_confidence + share * (1.0 - self.least_confidence)
        return Recognition(found.words, found.meaning, confidence, found.n_best, detail)

    def _hardly_possible(
        self, found: Evidence, both: tuple[Hearing, list[Hearing]], by_itself: float
    ) -> bool:
        """Whether the heads as they ship speak against it, so that no voice may have it taken."""
        if self._is_word_outside_read_back(found.words):
            return found.of_both < A_WORD.by_itself
        doubted = self._doubted(found, both, at_most=A_WORD_AT_READ_BACK.by_itself)
        return doubted or by_itself < LEAST_BY_ITSELF

    def _evidence_by(self, voice: Adaptation, samples: Samples, found: Evidence) -> Evidence | None:
        """What is heard with what was learned; None where it is not likely enough to both heads."""
        again = self._again(voice, samples)
        if not self._is_word_outside_read_back(found.words):
            return self._weighed(*again, at_least=A_WORD_AT_READ_BACK.by_voice)
        evidence = weigh(*again)
        if evidence is None or evidence.of_both < A_WORD.by_voice:
            return None
        if evidence.free < LEAST_OVER_ANYTHING:
            return None
        return replace(evidence, agreed=True)

    def _is_word_outside_read_back(self, words: str) -> bool:
        grammar = self._loaded()[1]
        read_back = self._read_back is not None and is_read_back(self._read_back, grammar)
        return len(words.split()) == 1 and not read_back

    def _is_row_of_numbers(self, words: str) -> bool:
        numbers = self._read_back.lone_numbers if self._read_back is not None else frozenset()
        return sum(word in numbers for word in words.split()) > 1

    def _again(self, voice: Adaptation, samples: Samples) -> tuple[Hearing, list[Hearing]]:
        """What both heads hear with what was learned of a voice added to them."""
        (for_words, for_along), grammar = self._loaded()
        first, *others = self._features(samples)
        tokens = voice.along.log_probabilities(self._along.head, first)
        along = hearing(tokens, for_along, grammar, 0.5)
        words = []
        for features in others:
            tokens = voice.words.log_probabilities(self._words.head, features)
            words.append(hearing(tokens, for_words, grammar, 0.5 / len(others)))
        return along, words

    def take(self, sound: bytes, words: str) -> Take | None:
        """What can be learned of a voice from a sound in which these words were said; or None.

        Cheap for the sound that was recognised last.
        """
        samples = samples_of(sound)
        if len(samples) * SAMPLE_BYTES < FRAME_BYTES:
            return None
        first, *others = self._features(samples)
        return take_of(words, self._along.head, self._words.head, first, others)

    @property
    def token_count(self) -> int:
        """How many tokens both heads have."""
        return len(self._along.head.tokens)

    def learned(self, takes: Sequence[Take]) -> Adaptation:
        """What these takes of one person teach; wanted: one at least."""
        return learned(takes, self._along.head, self._words.head, self.fingerprint)

    def _features(self, samples: Samples) -> list[npt.NDArray[np.float32]]:
        """By the head that listens along, then by the other at each speed."""
        speeds = self._settings.speeds
        others = [self._words.features(at_speed(samples, speed)) for speed in speeds]
        return [self._along.features(samples), *others]

    def recognise_if_sure(self, sound: bytes) -> Recognition | None:
        """What `recognise` makes of it where that is to be believed, else None.

        Where what was heard while listening along resembles nothing, nothing else is asked.
        """
        samples = samples_of(sound)
        along = self._heard_along(samples)
        if self._told(weigh(along)).confidence < self.least_resemblance:
            return None
        found = self._weighed(along, self._heard_words(samples, self._settings.speeds))
        told = self._told(found)
        if told.confidence < self.least_confidence:
            return None
        told = self._unless_noise(samples, found, told)
        return told if told.words else None

    def _told(self, found: Evidence | None) -> Recognition:
        if found is None:
            return _NOTHING
        told = (
            f"log probability {found.probability:.2f}, {found.runner_up:.2f} over the next "
            f"meaning, {found.free:.2f} over anything"
        )
        confidence = self._settings.confidence(found)
        return Recognition(found.words, found.meaning, confidence, found.n_best, told)

    def _guessed(self, both: tuple[Hearing, list[Hearing]], told: Recognition) -> Recognition:
        """The best guess of both heads, for what may act on weak evidence; or none."""
        along, words = both
        best = guess(along, words)
        if best is None or best.log_probability < self._settings.least_guess:
            detail = f"{told.detail}: none of the grammar's words"
            return Recognition("", None, told.confidence, (), detail)
        detail = f"{told.detail}; both heads {best.log_probability:.2f}"
        said = " ".join(best.words)
        return Recognition(said, best.meaning, told.confidence, told.n_best, detail)

    def evidence(self, sound: bytes) -> Evidence | None:
        """What the sound says in the loaded grammar; None where nothing in it fits."""
        both = self._hearings(samples_of(sound))
        return both and self._weighed(*both)

    def _weighed(
        self, along: Hearing, words: list[Hearing], at_least: float = -math.inf
    ) -> Evidence | None:
        """The evidence of both heads; what is to be doubted counts as not agreed on."""
        found = weigh(along, words)
        if found is None or not self._doubted(found, (along, words), at_least=at_least):
            return found
        return replace(found, agreed=False, together=False)

    def _doubted(
        self,
        found: Evidence,
        both: tuple[Hearing, list[Hearing]],
        at_most: float = math.inf,
        at_least: float = -math.inf,
    ) -> bool:
        """Whether it is a number at a read-back that may have been "no" or may have followed a yes.

        Anywhere: whether it is a single word of one hearing, less likely to both heads than the
        settings want it; more than `at_most` is not wanted, and `at_least` is.
        """
        grammar = self._loaded()[1]
        settings = self._settings
        least, least_alone = (
            max(at_least, min(at_most, limit))
            for limit in (settings.least_of_both, settings.least_alone)
        )
        if self._read_back is not None and is_read_back(self._read_back, grammar):
            along, words = both
            hearings = [along, *words]
            return (
                may_be_no(self._read_back, grammar, found, hearings)
                or may_be_yes_too(self._read_back, grammar, found, hearings)
                or is_faint(self._read_back, grammar, found, least, least_alone)
            )
        return len(found.words.split()) == 1 and found.of_both < least

    def _hearings(self, samples: Samples) -> tuple[Hearing, list[Hearing]] | None:
        """What both heads hear; None where the sound is too short for anything."""
        self._loaded()
        if len(samples) * SAMPLE_BYTES < FRAME_BYTES:
            return None
        return self._heard_along(samples), self._heard_words(samples, self._settings.speeds)

    def _heard_along(self, samples: Samples) -> Hearing:
        (_, acceptor), grammar = self._loaded()
        return hearing(self._along.judge(samples).tokens, acceptor, grammar, 0.5)

    def _heard_words(self, samples: Samples, speeds: Sequence[float]) -> list[Hearing]:
        (acceptor, _), grammar = self._loaded()
        judged = (self._words.judge(at_speed(samples, speed)) for speed in speeds)
        return [hearing(each.tokens, acceptor, grammar, 0.5 / len(speeds)) for each in judged]

    def endpointer(self) -> HeadEndpointer:
        """See `StreamingRecogniser.endpointer`."""
        return HeadEndpointer(self, self._following)

    def judge(self, samples: Samples) -> Judged:
        """What the head that listens along makes of a stretch of sound."""
        return self._along.judge(samples)

    def speech(self, samples: Samples) -> Samples:
        """See `TellsSpeech.speech`."""
        return self.judge(samples).speech

    def so_far(self, tokens: npt.NDArray[np.float32]) -> Hearing:
        """What the loaded grammar makes of the head's tokens."""
        (_, acceptor), grammar = self._loaded()
        return hearing(tokens, acceptor, grammar)

    def completion(self, so_far: Hearing, expects: Expects | None) -> Completion:
        """See `Listener.completion`."""
        (_, acceptor), grammar = self._loaded()
        return completion(so_far, acceptor, grammar, expects)

    def _loaded(self) -> tuple[tuple[Acceptor, Acceptor], StepGrammarLike]:
        if self._acceptor is None or self._grammar is None:
            raise EarsError("own ears: no grammar is loaded; wanted one before recognising")
        return self._acceptor, self._grammar


__all__ = ["Evidence", "OwnRecogniser", "OwnSettings"]
