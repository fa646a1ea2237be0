"""PocketSphinx as a recogniser: works straight after installing, its model is in its wheel.

Three opinions on the same sound:

- the step's grammar: the best of its sentences;
- a loop over all phones, which fits anything spoken: how far the sentence's score stays behind
  (or gets ahead, as the grammar knows whole words) is the margin, in natural log units per
  frame of speech;
- the grammar again on the sound made a little slower and a little faster: what is heard clearly
  comes out the same, a guess often does not.
"""

from __future__ import annotations

import hashlib
import math
from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pocketsphinx
import soxr

from companion.errors import EarsError
from companion.recognition.port import (
    FRAME_BYTES,
    SAMPLE_RATE_HZ,
    Recognition,
    StepGrammarLike,
)

_PHONE_LOOP = "all phones"
_KEPT_GRAMMARS = 64
_SILENCES = frozenset({"<sil>", "<s>", "</s>", "SIL", "(NULL)"})
# Acoustic scores are kept shifted down by ten bits; this brings margins back to natural logs.
_SCORE_SCALE = 1024.0


@dataclass(frozen=True)
class SphinxSettings:
    """The limits and the meaning of the confidence.

    `word_insertion`: weight of each further word; below one it holds back inserted words.
    `speeds`: factors of the further hearings. When they all agree, the confidence is the
    logistic function of `at_zero_margin + per_margin * margin + for_shortness / frames` (frames
    of speech, 10 ms each; short words pay for their pauses), else at most `when_they_differ`.
    Both are the share that was right among utterances like it in the set used for choosing:
    198 phrases of three synthetic voices (four in ten of them outside the grammar, a quarter of
    the others in noise at 20 dB) and 96 words and ten phrases of human speakers. At
    `least_confidence` 89 % of the rightly heard synthetic phrases and 49 % of the rightly heard
    human words passed, and 4 of 143 others.
    """

    word_insertion: float = 0.1
    speeds: tuple[float, ...] = (0.94, 1.06)
    at_zero_margin: float = 0.23
    per_margin: float = 1.52
    for_shortness: float = 92.8
    when_they_differ: float = 0.09
    least_confidence: float = 0.8
    least_resemblance: float = 0.05


@dataclass(frozen=True)
class _Hearing:
    """One decoding: the words, log score, and frames of speech in it."""

    words: str
    score: float
    speech_frames: int


class SphinxRecogniser:
    """`Recogniser` with PocketSphinx's English model.

    `pronunciations`: phones (as in the CMU dictionary) of words that the model's dictionary may
    lack; for words that it knows they are a further way of saying them. Compiled grammars are
    kept, so that changing between steps is cheap. Not for use from several threads at once.
    """

    name = "pocketsphinx"

    def __init__(
        self,
        pronunciations: Mapping[str, str] | None = None,
        settings: SphinxSettings | None = None,
    ) -> None:
        self._settings = settings or SphinxSettings()
        self.least_confidence = self._settings.least_confidence
        self.least_resemblance = self._settings.least_resemblance
        self._decoder = _quiet_decoder(self._settings)
        for word, phones in (pronunciations or {}).items():
            self._add_word(word, phones)
        self._loaded: OrderedDict[str, None] = OrderedDict()
        self._search = ""
        self._grammar: StepGrammarLike | None = None

    def _add_word(self, word: str, phones: str) -> None:
        known: set[str] = set()
        entry = word
        while (already := self._decoder.lookup_word(entry)) is not None:
            known.add(already)
            entry = f"{word}({len(known) + 1})"
        if phones in known:
            return
        try:
            self._decoder.add_word(entry, phones, True)
        except RuntimeError as error:
            raise EarsError(
                f"pronunciation of {word!r}: PocketSphinx does not take the phones {phones!r}; "
                "wanted phones of the CMU dictionary without stress marks"
            ) from error

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """The words that neither the model's dictionary nor the given pronunciations hold."""
        return frozenset(word for word in words if self._decoder.lookup_word(word) is None)

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        jsgf = grammar.jsgf()
        search = hashlib.sha256(jsgf.encode()).hexdigest()
        if search not in self._loaded:
            self._compile(search, jsgf, grammar.words())
        self._loaded.move_to_end(search)
        self._search = search
        self._grammar = grammar

    def _compile(self, search: str, jsgf: str, words: frozenset[str]) -> None:
        if missing := self.missing_words(words):
            raise EarsError(
                f"the grammar holds words that PocketSphinx cannot hear: "
                f"{', '.join(sorted(missing))}; wanted their pronunciations"
            )
        try:
            self._decoder.add_jsgf_string(search, jsgf)
        except (ValueError, RuntimeError) as error:
            raise EarsError(f"PocketSphinx does not take the grammar ({error}):\n{jsgf}") from error
        self._loaded[search] = None
        if len(self._loaded) > _KEPT_GRAMMARS:
            oldest, _ = self._loaded.popitem(last=False)
            self._decoder.remove_search(oldest)

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`; the confidence is explained at `SphinxSettings`."""
        if self._grammar is None:
            raise EarsError("PocketSphinx: no grammar is loaded; wanted one before recognising")
        if len(sound) < FRAME_BYTES:
            return Recognition("", None, 0.0, (), "less than one frame of sound")
        first = self._decode(self._search, sound)
        anything = self._decode(_PHONE_LOOP, sound)
        if first is None or anything is None or not first.words or anything.speech_frames == 0:
            return Recognition("", None, 0.0, (), "nothing in the grammar fits the sound")
        margin = _SCORE_SCALE * (first.score - anything.score) / anything.speech_frames
        by_margin = self._share_right(margin, anything.speech_frames)
        told = f"margin {margin:+.2f} in {anything.speech_frames} frames against a free phone loop"
        meaning = self._grammar.parse(first.words)
        if by_margin < self.least_resemblance:
            return Recognition(first.words, meaning, by_margin, (first.words,), told)
        further = [self._decode(self._search, _at_speed(sound, s)) for s in self._settings.speeds]
        readings = [hearing.words if hearing else "" for hearing in further]
        agreeing = sum(
            meaning is not None and self._grammar.parse(other) == meaning for other in readings
        )
        differ = agreeing < len(readings)
        return Recognition(
            words=first.words,
            meaning=meaning,
            confidence=min(by_margin, self._settings.when_they_differ) if differ else by_margin,
            n_best=tuple(dict.fromkeys((first.words, *filter(None, readings)))),
            detail=f"{told}, {agreeing} of {len(readings)} further hearings agree",
        )

    def _share_right(self, margin: float, speech_frames: int) -> float:
        settings = self._settings
        evidence = settings.at_zero_margin + settings.per_margin * margin
        evidence += settings.for_shortness / speech_frames
        return 1.0 / (1.0 + math.exp(-min(max(evidence, -50.0), 50.0)))

    def _decode(self, search: str, sound: bytes) -> _Hearing | None:
        decoder = self._decoder
        decoder.activate_search(search)
        # The estimate of the noise outlives an utterance: forget it, or one hearing would depend
        # on those before it.
        decoder.reinit_feat()
        decoder.start_utt()
        try:
            decoder.process_raw(sound, False, True)
        finally:
            # Left inside an utterance, the decoder would refuse every later one.
            decoder.end_utt()
        best = decoder.hyp()
        if best is None or best.score <= 0.0:
            return None
        return _Hearing(best.hypstr, math.log(best.score), _speech_frames(decoder))


def _quiet_decoder(settings: SphinxSettings) -> Any:
    model = pocketsphinx.get_model_path("en-us")
    try:
        decoder = pocketsphinx.Decoder(
            lm=None,
            loglevel="FATAL",
            wip=settings.word_insertion,
            # Scores are relative to the best of the states looked at: look at all of them, or
            # the scores of grammar and phone loop cannot be compared.
            compallsen=True,
            # The best path of the lattice may leave out the cost of words that the grammar does
            # not hold: take the score of the search itself.
            bestpath=False,
            # Each utterance is normalised by itself, so that none depends on those before it.
            cmn="batch",
        )
        decoder.add_allphone_file(_PHONE_LOOP, f"{model}/en-us-phone.lm.bin")
    except (RuntimeError, ValueError) as error:
        raise EarsError(f"PocketSphinx cannot load its model from {model} ({error})") from error
    return decoder


def _speech_frames(decoder: Any) -> int:
    """Frames (of 10 ms) that the best path does not spend in silence."""
    return sum(
        segment.end_frame - segment.start_frame + 1
        for segment in decoder.seg()
        if segment.word not in _SILENCES
    )


def _at_speed(sound: bytes, factor: float) -> bytes:
    """The sound played `factor` times as fast; pitch and formants move with it."""
    samples = np.frombuffer(sound, "<i2").astype(np.float32)
    changed = soxr.resample(samples, SAMPLE_RATE_HZ, SAMPLE_RATE_HZ / factor)
    return bytes(np.clip(np.rint(changed), -32768, 32767).astype("<i2").tobytes())
