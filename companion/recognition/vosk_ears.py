"""Vosk as a recogniser, with a model folder that is always given.

The library would fetch a model when asked by language, and drops words that the model does not
know in silence; both are kept from happening here.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from companion.errors import EarsError
from companion.recognition.port import SAMPLE_RATE_HZ, Recognition, StepGrammarLike

_UNKNOWN = "[unk]"
_PARTS_OF_A_MODEL = ("am/final.mdl", "final.mdl")


class VoskRecogniser:
    """`Recogniser` with a Vosk model.

    Confidence is the lowest of the words' own, and 0 when a word was heard that belongs to
    nothing in the grammar. A single model has been seen to give wrong words a confidence of 1,
    so the limits only sort out what is worse than that. Not for several threads at once.
    Raises `EarsError` if `model_path` holds no model.
    """

    name = "vosk"

    def __init__(
        self, model_path: Path, least_confidence: float = 0.8, least_resemblance: float = 0.2
    ) -> None:
        self.least_confidence = least_confidence
        self.least_resemblance = least_resemblance
        if not any((model_path / part).is_file() for part in _PARTS_OF_A_MODEL):
            raise EarsError(
                f"{model_path}: this is not a Vosk model; wanted a folder with "
                f"{_PARTS_OF_A_MODEL[0]}"
            )
        # Importing it loads its library, which only those who chose this recogniser need.
        import vosk

        self._vosk = vosk
        vosk.SetLogLevel(-1)
        try:
            # The path goes in as it is: a name or a language would make the library fetch one.
            self._model = vosk.Model(model_path=str(model_path))
        except Exception as error:
            raise EarsError(f"{model_path}: Vosk cannot load this model ({error})") from error
        # A way out for other words, where the model has one.
        self._escape = tuple({_UNKNOWN} - self.missing_words(frozenset({_UNKNOWN})))
        self._recogniser: Any = None
        self._loaded: tuple[str, ...] = ()
        self._grammar: StepGrammarLike | None = None

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """The words that the model's vocabulary lacks."""
        return frozenset(word for word in words if self._model.vosk_model_find_word(word) < 0)

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`. Vosk hears any order of the grammar's words."""
        self._grammar, phrases = grammar, grammar.phrases()
        if phrases == self._loaded and self._recogniser is not None:
            return
        if missing := self.missing_words(grammar.words()):
            raise EarsError(
                f"the grammar holds words that the Vosk model does not know: "
                f"{', '.join(sorted(missing))}; wanted other words or a larger model"
            )
        listed = json.dumps([*phrases, *self._escape], ensure_ascii=False)
        if self._recogniser is None:
            self._recogniser = self._vosk.KaldiRecognizer(self._model, SAMPLE_RATE_HZ, listed)
            self._recogniser.SetWords(True)
        else:
            # Changing the grammar inside an utterance can end the process.
            self._recogniser.Reset()
            self._recogniser.SetGrammar(listed)
        self._loaded = phrases

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`."""
        if self._recogniser is None or self._grammar is None:
            raise EarsError("Vosk: no grammar is loaded; wanted one before recognising")
        self._recogniser.Reset()
        # The recogniser ends an utterance at a pause of its own choosing: take all its parts.
        heard: list[dict[str, Any]] = []
        if self._recogniser.AcceptWaveform(sound):
            heard += json.loads(self._recogniser.Result()).get("result", [])
        heard += json.loads(self._recogniser.FinalResult()).get("result", [])
        known = [word for word in heard if word["word"] != _UNKNOWN]
        words = " ".join(word["word"] for word in known)
        if not words:
            return Recognition("", None, 0.0, (), "nothing in the grammar fits the sound")
        confidence = min(float(word["conf"]) for word in known)
        if len(known) < len(heard):
            confidence = 0.0
        return Recognition(
            words=words,
            meaning=self._grammar.parse(words),
            confidence=min(max(confidence, 0.0), 1.0),
            n_best=(words,),
            detail=" ".join(f"{word['word']} {float(word['conf']):.2f}" for word in heard),
        )
