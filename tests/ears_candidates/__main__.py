"""Tunes the candidates on the tuning speakers.

python -m tests.ears_candidates spellings      how the phoneme network spells the bay's words
python -m tests.ears_candidates tune NAME      confidence and limits of phonemes or whisper
python -m tests.ears_candidates review         clips with a wrong label or a part missing
"""

from __future__ import annotations

import argparse
import csv
import zlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.recognition.port import Recogniser
from tests.benchmarks.bay_sound import mixed, stretch_of
from tests.benchmarks.ears_jobs import outcome
from tests.benchmarks.ears_trials import LEVELS, Trial, TrialMaker, prompts
from tests.benchmarks.ears_voices import KNOWN, say
from tests.benchmarks.spoken_clips import DEFAULT_FOLDER, Clip, read_clips, read_noises
from tests.ears_candidates import fitted, label_review, phonemes
from tests.ears_candidates.phonemes import Network, PhonemeRecogniser
from tests.ears_candidates.whisper_list import WhisperRecogniser

_LIMITS = (*np.arange(0.30, 0.95, 0.05), *np.arange(0.95, 0.999, 0.005))
_MOST_WRONG = {"clean": 0.005, "20": 0.005, "10": 0.005, "5": 0.01, "0": 0.01}
_MOST_STRANGE = 0.01
_PER_WORD = 2


def main() -> None:
    """Do what was asked."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("what", choices=("spellings", "tune", "review"))
    parser.add_argument("name", nargs="?", choices=("phonemes", "whisper"))
    parser.add_argument("--speech", type=Path, default=DEFAULT_FOLDER)
    parser.add_argument("--most", type=int, default=0, help="trials a cell at most; 0: all")
    chosen = parser.parse_args()
    if chosen.what == "spellings":
        learn_spellings(chosen.speech)
    elif chosen.what == "review":
        verdicts = label_review.review(chosen.speech)
        label_review.write(verdicts)
        print("\n".join(f"{v.clip}: {v.reason} ({v.found})" for v in verdicts))
    elif chosen.name is None:
        parser.error("tune: whom? wanted phonemes or whisper")
    else:
        tune(chosen.name, chosen.speech, chosen.most)


def fold_of(speaker: str) -> int:
    """0 or 1: the one asked about a fold has learned from the other."""
    return zlib.crc32(speaker.encode()) % 2


def learn_spellings(speech: Path) -> None:
    """Every word of the tuning speakers, clean and at 10 dB, and every bay word synthetic."""
    network = Network()
    found: Counter[tuple[str, int, str]] = Counter()
    for word, fold, samples in _said_words(speech):
        phones = network.spelled(samples.astype(np.float32))
        if len(phones) > 1:
            found[(word, fold, " ".join(phones))] += 1
    owners: dict[str, Counter[str]] = {}
    for (word, _, spelling), times in found.items():
        owners.setdefault(spelling, Counter())[word] += times
    with phonemes.SPELLINGS.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream, delimiter="\t", lineterminator="\n")
        writer.writerow(("word", "fold", "times", "spelling"))
        for (word, fold, spelling), times in sorted(found.items()):
            # What is heard for two words alike tells nothing of either.
            if owners[spelling].most_common(1)[0][0] == word:
                writer.writerow((word, fold, times, spelling))


def _said_words(speech: Path) -> Iterator[tuple[str, int, npt.NDArray[np.float64]]]:
    words = sorted({word for prompt in prompts().values() for word in prompt.words()})
    noises = [n for n in read_noises(speech) if n.half == "tuning" and "synthetic" not in n.sort]
    for number, clip in enumerate(_tuning_words(speech)):
        if clip.transcript in words:
            fold = fold_of(clip.speaker)
            yield clip.transcript, fold, clip.samples()
            generator = np.random.default_rng([1, number])
            count = len(clip.samples()) + 9600
            noise = stretch_of(noises[number % len(noises)].samples(), count, generator)
            yield clip.transcript, fold, mixed(clip.samples(), noise, 10.0, generator, 0.3, 0.3)
    for word in words:
        for voice in KNOWN:
            for fold in range(_PER_WORD):
                sound = say(voice, word, fold)
                if sound is not None:
                    yield word, fold, sound


def _tuning_words(speech: Path) -> list[Clip]:
    return [c for c in read_clips(speech) if c.half == "tuning" and c.kind == "word"]


def tune(name: str, speech: Path, most: int) -> None:
    """Fit the confidence of a candidate, choose its limits, and print what they would do."""
    x, right, spoken, strange, level = [], [], [], [], []
    for trial, recogniser in _heard(name, speech, most):
        words = recogniser.recognise(trial.sound).words
        x.append(recogniser.figures)  # type: ignore[attr-defined]
        right.append(outcome(trial, words, sure=True) == "right")
        spoken.append(trial.meaning is not None)
        strange.append(bool(words) and trial.meaning is None)
        level.append(trial.level)
    figures, good = np.array(x), np.array(right)
    known, odd, levels = np.array(spoken), np.array(strange), np.array(level)
    bias, weights = _logistic(figures, good)
    confidence = 1.0 / (1.0 + np.exp(-(bias + figures @ weights)))
    for limit in _LIMITS:
        taken = confidence >= limit
        cells = {at: known & (levels == at) for at in LEVELS}
        wrong = {at: float(np.mean(taken[c] & ~good[c])) for at, c in cells.items()}
        heard = {at: float(np.mean(taken[c] & good[c])) for at, c in cells.items()}
        false = float(np.sum(taken & odd)) / max(1, int(np.sum(~known)))
        told = "  ".join(f"{at} {100 * heard[at]:.1f}/{100 * wrong[at]:.1f}" for at in LEVELS)
        print(f"{limit:.3f}  {told}  other {100 * false:.1f}")
        if false <= _MOST_STRANGE and all(wrong[at] <= _MOST_WRONG[at] for at in LEVELS):
            break
    rounded = tuple(round(float(w), 4) for w in weights)
    fitted.keep(name, fitted.Fit(round(float(bias), 4), rounded, round(float(limit), 3), 0.1))


def _heard(name: str, speech: Path, most: int) -> Iterator[tuple[Trial, Recogniser]]:
    noises = read_noises(speech)
    for fold in (0, 1):
        clips = [c for c in read_clips(speech) if fold_of(c.speaker) == fold]
        recogniser: Recogniser = (
            PhonemeRecogniser(folds=(1 - fold,)) if name == "phonemes" else WhisperRecogniser()
        )
        maker = TrialMaker(clips, noises, "tuning", 1 + fold, most)
        for at in LEVELS:
            for trial in maker.trials(at):
                if not trial.kind.startswith("synthetic"):
                    recogniser.load(trial.grammar)
                    yield trial, recogniser


def _logistic(
    x: npt.NDArray[np.float64], y: npt.NDArray[np.bool_]
) -> tuple[float, npt.NDArray[np.float64]]:
    """Bias and weights, none below zero, that make what was heard most probable."""
    from scipy.optimize import minimize

    def cost(w: npt.NDArray[np.float64]) -> tuple[float, npt.NDArray[np.float64]]:
        z = w[0] + x @ w[1:]
        slope = 1.0 / (1.0 + np.exp(-z)) - y
        value = float(np.sum(np.logaddexp(0.0, z) - y * z) + 0.5 * np.sum(w[1:] ** 2))
        return value, np.concatenate([[np.sum(slope)], x.T @ slope + w[1:]])

    bounds = [(None, None), *[(0.0, None)] * x.shape[1]]
    start = np.zeros(x.shape[1] + 1)
    found = minimize(cost, start, jac=True, bounds=bounds, method="L-BFGS-B").x
    return float(found[0]), np.asarray(found[1:])


if __name__ == "__main__":
    main()
