"""Which clips have a part missing or a wrong label, by rules that ask no recogniser of the product.

    python -m tests.ears_candidates review

writes `tests/benchmarks/set_aside.tsv`. A clip is set aside

- when nothing in it stands out of its own background (`EMPTY_DB`),
- when its speech runs into the clip's beginning or end nearly as loud as it gets (`CUT_DB`),
- when the phoneme network and Whisper's decoder, neither told of the label, both hear the same
  other one of the set's words, and the network's spelling of the label, forced onto the sound, is
  `OTHER_MARGIN` less probable. Both must agree on what it is: that one of them missed the label
  sets nothing aside.

The product's own ears are not asked. Both halves are judged alike.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from companion.language.automaton import Automaton
from companion.language.step_rules import TOP, StepLine, StepRules
from companion.language.template import parse_phrase
from companion.recognition.port import StepGrammarLike
from tests.benchmarks.bay_sound import ROOM_DBFS, SPEECH_DBFS, Samples, active_level_dbfs, as_sound
from tests.benchmarks.spoken_clips import SET_ASIDE, Clip, read_clips
from tests.ears_candidates.phonemes import PhonemeRecogniser
from tests.ears_candidates.whisper_list import WhisperRecogniser

EMPTY_DB = 7.0
CUT_DB, OF_SPEECH_DB, CLEAR_DB = 8.0, 20.0, 20.0
OTHER_MARGIN = 8.0
_FRAME = 160
_GAP_FRAMES = 6
_LONG_ENOUGH_S = 0.8


@dataclass(frozen=True)
class AnyOf:
    """A grammar of single words; each means itself."""

    listed: tuple[str, ...]

    @property
    def automaton(self) -> Automaton:
        lines = tuple(StepLine(parse_phrase(word), None, word) for word in self.listed)
        return Automaton(StepRules({TOP: lines}))

    def jsgf(self) -> str:
        return f"#JSGF V1.0;\ngrammar words;\npublic <word> = {' | '.join(self.listed)};\n"

    def phrases(self) -> tuple[str, ...]:
        return self.listed

    def words(self) -> frozenset[str]:
        return frozenset(self.listed)

    def parse(self, text: str) -> object | None:
        return text if text in self.listed else None


@dataclass(frozen=True)
class Verdict:
    """Why a clip is set aside, and how that was found."""

    clip: str
    reason: str
    found: str


def by_sound(samples: Samples) -> tuple[str, str] | None:
    """Reason and figures when the sound itself is spoiled; None when it is whole."""
    levels = frame_levels(samples)
    top_db = float(np.sort(levels)[-8])
    background_db = float(np.percentile(levels, 10))
    if len(samples) >= _LONG_ENOUGH_S * 16_000 and top_db - background_db < EMPTY_DB:
        return "empty", f"nothing stands more than {top_db - background_db:.0f} dB out"
    if top_db - background_db < CLEAR_DB:
        return None
    loud = np.flatnonzero(levels > top_db - OF_SPEECH_DB)
    runs = np.split(loud, np.flatnonzero(np.diff(loud) > _GAP_FRAMES) + 1)
    speech = max(runs, key=lambda run: float(np.sum(10.0 ** (levels[run] / 10.0))))
    start_db, end_db = top_db - levels[:2].mean(), top_db - levels[-2:].mean()
    if speech[0] <= 1 and start_db < CUT_DB:
        return "cut off", f"begins {start_db:.0f} dB below its loudest"
    if speech[-1] >= len(levels) - 2 and end_db < CUT_DB:
        return "cut off", f"ends {end_db:.0f} dB below its loudest"
    return None


def frame_levels(samples: Samples) -> Samples:
    """Level of each 10 ms in dB relative to full scale."""
    frames = samples[: len(samples) // _FRAME * _FRAME].reshape(-1, _FRAME)
    return np.asarray(10.0 * np.log10(np.mean(frames**2, axis=1) + 1e-10))


def review(folder: Path) -> list[Verdict]:
    """The verdicts on every clip of single words."""
    clips = [clip for clip in read_clips(folder) if clip.kind == "word"]
    words = tuple(sorted({clip.transcript for clip in clips}))
    judge = _Judge(AnyOf(words))
    found: list[Verdict] = []
    for clip in clips:
        verdict = by_sound(clip.samples()) or judge.by_label(clip)
        if verdict is not None:
            found.append(Verdict(str(clip.path.relative_to(folder)), *verdict))
    return found


class _Judge:
    """Two recognisers that know nothing of each other or of the label."""

    def __init__(self, grammar: StepGrammarLike) -> None:
        self._grammar = grammar
        self._network, self._decoder = PhonemeRecogniser(), WhisperRecogniser()
        self._network.load(grammar)
        self._decoder.load(grammar)

    def by_label(self, clip: Clip) -> tuple[str, str] | None:
        """Reason and evidence when both hear the same other word."""
        sound = _as_said(clip.samples())
        heard = self._network.recognise(sound)
        if not heard.words or heard.words == clip.transcript:
            return None
        written = self._decoder.recognise(sound)
        if written.words != heard.words or clip.transcript in written.n_best:
            return None
        best = self._network.figures[0]
        self._network.load(AnyOf((clip.transcript,)))
        self._network.recognise(sound)
        margin = best - self._network.figures[0]
        self._network.load(self._grammar)
        if margin < OTHER_MARGIN:
            return None
        return (
            f"wrong label: {heard.words!r} is said",
            f"phoneme network and Whisper's decoder both hear it; the label is {margin:.0f} "
            "natural log units less probable to the network",
        )


def _as_said(samples: Samples) -> bytes:
    gain = 10.0 ** ((SPEECH_DBFS - active_level_dbfs(samples)) / 20.0)
    generator = np.random.default_rng(1)
    quiet = 10.0 ** (ROOM_DBFS / 20.0) * generator.normal(size=len(samples) + 9600)
    quiet[4800:-4800] += gain * samples
    return as_sound(np.clip(quiet, -1.0, 1.0))


def write(verdicts: Iterable[Verdict], path: Path = SET_ASIDE) -> None:
    """The list as it is committed."""
    with path.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, delimiter="\t", lineterminator="\n")
        writer.writerow(("clip", "reason", "found"))
        writer.writerows((v.clip, v.reason, v.found) for v in verdicts)
