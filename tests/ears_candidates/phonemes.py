"""A phoneme network (`hama`, Apache-2.0) with the step's grammar laid over its phonemes.

Each word may be spelled as in the pronouncing dictionary, or as the network itself spelled it when
the tuning speakers said it (`spellings.tsv`). A reading's probability is the sum over all its
spellings and all ways of laying their phonemes over the frames.
"""

from __future__ import annotations

import csv
import math
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pocketsphinx

from companion.errors import EarsError
from companion.language.loader import pronunciations
from companion.recognition.port import (
    FRAME_BYTES,
    Recognition,
    StepGrammarLike,
)
from tests.ears_candidates.fitted import fit_of
from tests.ears_candidates.word_rows import WordRows, word_rows

NAME = "phonemes"
SPELLINGS = Path(__file__).parent / "spellings.tsv"
MOST_SPELLINGS = 12

_KEPT_GRAMMARS = 64
_WAYS = 48
_LEAST = 1e-4
_LISTED = 5
_LEAST_MARGIN, _MOST_MARGIN = -30.0, 15.0
_NAMES = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W "
    "Y Z ZH"
)
_SIGNS = "ɑ æ ʌ ɔ aʊ aɪ b t͡ʃ d ð ɛ ɝ eɪ f ɡ h ɪ i d͡ʒ k l m n ŋ oʊ ɔɪ p ɹ s ʃ t θ ʊ u v w j z ʒ"
_PHONEMES = dict(zip(_NAMES.split(), _SIGNS.split(), strict=True))
"""The dictionary's phonemes in the network's spelling."""

Spelling = tuple[str, ...]


class Network:
    """The network: 16 kHz samples to log probabilities, 50 frames a second."""

    def __init__(self) -> None:
        try:
            self._model: Any = import_module("hama.asr").ASRModel()
        except ModuleNotFoundError as error:
            raise EarsError("the phoneme network: wanted pip install hama==1.7.0") from error
        self.tokens: list[str] = self._model.decoder_tokens
        self.blank = self.tokens.index("<blank>")
        self._between_words = self.tokens.index("<wb>")
        self.numbers = {token: number for number, token in enumerate(self.tokens)}

    def log_probabilities(self, samples: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        """Shape (frames, tokens), natural; a boundary between words counts as a blank."""
        fed = {"waveform": samples[None], "waveform_lengths": np.array([len(samples)])}
        scores, lengths = self._model.session.run(["log_probs", "out_lengths"], fed)
        found = np.array(scores[0][: int(np.ravel(lengths)[0])], dtype=np.float64)
        found[:, self.blank] = np.logaddexp(found[:, self.blank], found[:, self._between_words])
        found[:, self._between_words] = -1e3
        return found

    def spelled(self, samples: npt.NDArray[np.float32]) -> Spelling:
        """The most probable phoneme of each frame, without repeats and blanks."""
        best = np.argmax(self.log_probabilities(samples), axis=1)
        changes = best[np.flatnonzero(np.diff(best, prepend=-1))]
        return tuple(self.tokens[n] for n in changes if n != self.blank)


class _Tree:
    """All spellings of one word; node 0 is its beginning."""

    def __init__(self, spellings: Iterable[tuple[int, ...]]) -> None:
        self.onward: list[dict[int, int]] = [{}]
        self.ends: set[int] = set()
        for spelling in spellings:
            node = 0
            for phoneme in spelling:
                if phoneme not in self.onward[node]:
                    self.onward[node][phoneme] = len(self.onward)
                    self.onward.append({})
                node = self.onward[node][phoneme]
            self.ends.add(node)


@dataclass(slots=True)
class _Way:
    """Words so far, where in the last one, and how probable with a blank or a phoneme last."""

    words: tuple[str, ...]
    state: int
    node: int
    last: int
    in_blank: float = 0.0
    in_phoneme: float = 0.0
    new_blank: float = 0.0
    new_phoneme: float = 0.0


_Key = tuple[tuple[str, ...], int, int]


class PhonemeRecogniser:
    """`Recogniser` with the phoneme network.

    `folds`: whose spellings to use, see `spellings.tsv`. Raises `EarsError` without the package.
    """

    name = NAME

    def __init__(self, folds: tuple[int, ...] = (0, 1)) -> None:
        self._network = Network()
        self._fit = fit_of(NAME, 3)
        self.least_confidence = self._fit.least_confidence
        self.least_resemblance = self._fit.least_resemblance
        self.figures: tuple[float, ...] = ()
        self._learned = learned_spellings(folds)
        self._trees: dict[str, _Tree] = {}
        self._rows: OrderedDict[str, WordRows] = OrderedDict()
        self._current: WordRows | None = None
        self._grammar: StepGrammarLike | None = None

    def missing_words(self, words: frozenset[str]) -> frozenset[str]:
        """Words that neither the dictionary nor the tuning speakers spell."""
        return frozenset(word for word in words if not self._tree(word).ends)

    def load(self, grammar: StepGrammarLike) -> None:
        """See `Recogniser.load`."""
        jsgf = grammar.jsgf()
        if jsgf not in self._rows:
            if missing := self.missing_words(grammar.words()):
                raise EarsError(f"no spelling of {', '.join(sorted(missing))}; wanted one of each")
            self._rows[jsgf] = word_rows(jsgf)
            if len(self._rows) > _KEPT_GRAMMARS:
                self._rows.popitem(last=False)
        self._current, self._grammar = self._rows[jsgf], grammar

    def recognise(self, sound: bytes) -> Recognition:
        """See `Recogniser.recognise`."""
        self.figures = (_LEAST_MARGIN, 0.0, _LEAST_MARGIN)
        nothing = Recognition("", None, 0.0, (), "nothing in the grammar fits the sound")
        if len(sound) < 10 * FRAME_BYTES or self._current is None:
            return nothing
        samples = np.frombuffer(sound, "<i2").astype(np.float32) / np.float32(32768.0)
        scores = self._network.log_probabilities(samples)
        meanings = self._by_meaning(self._search(scores, self._current))
        if not meanings:
            return nothing
        (words, best), second = meanings[0], meanings[1][1] if len(meanings) > 1 else -math.inf
        free = float(np.sum(np.max(scores, axis=1)))
        self.figures = (
            max(_LEAST_MARGIN, best),
            min(_MOST_MARGIN, best - second),
            max(_LEAST_MARGIN, best - free),
        )
        told = ", ".join(f"{figure:.1f}" for figure in self.figures)
        return Recognition(
            words=words,
            meaning=self._grammar.parse(words) if self._grammar is not None else None,
            confidence=self._fit.confidence(self.figures),
            n_best=tuple(text for text, _ in meanings[:_LISTED]),
            detail=f"log probability, over the runner-up, over the free path: {told}",
        )

    def _by_meaning(self, found: Mapping[tuple[str, ...], float]) -> list[tuple[str, float]]:
        sums: dict[object, float] = {}
        wordings: dict[object, str] = {}
        for words, log_probability in sorted(found.items(), key=lambda pair: -pair[1]):
            text = " ".join(words)
            meaning: object = self._grammar.parse(text) if self._grammar is not None else None
            if meaning is not None:
                wordings.setdefault(meaning, text)
                before = sums.get(meaning, -math.inf)
                sums[meaning] = float(np.logaddexp(before, log_probability))
        ordered = sorted(sums.items(), key=lambda pair: -pair[1])
        return [(wordings[meaning], value) for meaning, value in ordered]

    def _search(
        self, scores: npt.NDArray[np.float64], rows: WordRows
    ) -> dict[tuple[str, ...], float]:
        kept: dict[_Key, _Way] = {((), 0, -1): _Way((), 0, -1, -1, in_blank=1.0)}
        log_scale = 0.0
        for frame in np.exp(scores):
            likely = [int(n) for n in np.flatnonzero(frame > _LEAST) if n != self._network.blank]
            kept = self._advance(kept, frame, likely, rows)
            total = sum(way.new_blank + way.new_phoneme for way in kept.values())
            if total <= 0.0:
                return {}
            log_scale += math.log(total)
            for way in kept.values():
                way.in_blank, way.in_phoneme = way.new_blank / total, way.new_phoneme / total
                way.new_blank = way.new_phoneme = 0.0
        found: dict[tuple[str, ...], float] = {}
        for way in kept.values():
            if way.words and self._is_whole(way) and self._after(way, rows) in rows.ends:
                found[way.words] = found.get(way.words, 0.0) + way.in_blank + way.in_phoneme
        return {words: log_scale + math.log(p) for words, p in found.items() if p > 0.0}

    def _advance(
        self,
        kept: dict[_Key, _Way],
        frame: npt.NDArray[np.float64],
        likely: list[int],
        rows: WordRows,
    ) -> dict[_Key, _Way]:
        grown = dict(kept)
        blank = float(frame[self._network.blank])
        for way in kept.values():
            so_far = way.in_blank + way.in_phoneme
            way.new_blank += so_far * blank
            if way.last >= 0:
                way.new_phoneme += way.in_phoneme * float(frame[way.last])
            for phoneme in likely:
                before = way.in_blank if phoneme == way.last else so_far
                if before <= 0.0:
                    continue
                for words, state, node in self._onward(way, phoneme, rows):
                    key = (words, state, node)
                    after = grown.get(key)
                    if after is None:
                        after = grown[key] = _Way(words, state, node, phoneme)
                    after.new_phoneme += before * float(frame[phoneme])
        if len(grown) <= _WAYS:
            return grown
        best = sorted(grown.items(), key=lambda pair: -(pair[1].new_blank + pair[1].new_phoneme))
        return dict(best[:_WAYS])

    def _onward(self, way: _Way, phoneme: int, rows: WordRows) -> Iterator[_Key]:
        """Within the last word, or into a next one where it is whole."""
        if way.words:
            node = self._tree(way.words[-1]).onward[way.node].get(phoneme)
            if node is not None:
                yield way.words, way.state, node
            if not self._is_whole(way):
                return
            state = self._after(way, rows)
        else:
            state = 0
        for word in rows.after[state]:
            node = self._tree(word).onward[0].get(phoneme)
            if node is not None:
                yield (*way.words, word), state, node

    def _is_whole(self, way: _Way) -> bool:
        return way.node in self._tree(way.words[-1]).ends

    def _after(self, way: _Way, rows: WordRows) -> int:
        return rows.after[way.state][way.words[-1]]

    def _tree(self, word: str) -> _Tree:
        if word not in self._trees:
            numbers = self._network.numbers
            ways = [*dictionary_spellings(word), *self._learned.get(word, ())]
            self._trees[word] = _Tree(tuple(numbers[p] for p in way) for way in ways)
        return self._trees[word]


def dictionary_spellings(word: str) -> list[Spelling]:
    """How PocketSphinx's dictionary and our own additions pronounce a word."""
    listed = [*_dictionary().get(word, ())]
    if word in _additions():
        listed.append(_additions()[word])
    found = [tuple(_PHONEMES[p.rstrip("012")] for p in phones.split()) for phones in listed]
    return list(dict.fromkeys(found))


@lru_cache(maxsize=1)
def _additions() -> Mapping[str, str]:
    return pronunciations("en")


@lru_cache(maxsize=1)
def _dictionary() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    path = Path(pocketsphinx.get_model_path("en-us/cmudict-en-us.dict"))
    for line in path.read_text(encoding="utf-8").splitlines():
        word, _, phones = line.partition(" ")
        found.setdefault(word.partition("(")[0], []).append(phones)
    return found


def learned_spellings(folds: tuple[int, ...]) -> dict[str, list[Spelling]]:
    """The most frequent spellings of each word by the speakers of these folds."""
    counts: dict[str, dict[Spelling, int]] = {}
    if SPELLINGS.is_file():
        with SPELLINGS.open(encoding="utf-8", newline="") as stream:
            for row in csv.DictReader(stream, delimiter="\t"):
                if int(row["fold"]) in folds:
                    of_word = counts.setdefault(row["word"], {})
                    spelling = tuple(row["spelling"].split())
                    of_word[spelling] = of_word.get(spelling, 0) + int(row["times"])
    return {
        word: sorted(ways, key=lambda way: -ways[way])[:MOST_SPELLINGS]
        for word, ways in counts.items()
    }
