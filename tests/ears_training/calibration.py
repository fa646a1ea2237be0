"""Confidence and limits of the ears: chosen on tuning speakers by heads that never met them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np
import numpy.typing as npt

from companion.recognition.own.recogniser import Evidence, OwnRecogniser
from companion.runtime.assembly import language, read_back_words
from tests.benchmarks.common import on_all_cores
from tests.benchmarks.ears_trials import KINDS, LEVELS, Trial, TrialMaker
from tests.benchmarks.spoken_clips import clips_of, noises_of
from tests.ears_training.bank import FOLDS, fold_of, head_name

_MADE = (
    *("synthetic", "synthetic_known", "teens", "pairs", "job", "job_voices", "words"),
    "second_voice",
)
_KINDS = tuple(kind for kind in KINDS if kind not in _MADE)
_MOST = 120
"""Trials of a kind and level, at most."""
_MOST_RUNNER_UP = 4.0
"""So far the next meaning's probability counts (`most_runner_up`): where few words may be said it
is always far away, and tells nothing."""
_LIMITS = (0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, *np.arange(0.7, 0.93, 0.02), 0.95, 0.97, 0.99)


@dataclass(frozen=True)
class Heard:
    """One trial with what was made of it; `right`: the meaning is the one that was meant."""

    kind: str
    level: str
    said: str
    words: str
    right: bool
    figures: tuple[float, float, float]
    agreed: bool


def collect(work: Path, speech: Sequence[Path], seed: int) -> list[Heard]:
    """Every trial of the tuning half in which anything was heard at all."""
    of_folds = on_all_cores(partial(_of_fold, work, speech, seed), FOLDS)
    return [heard for found in of_folds for heard in found]


def _of_fold(work: Path, speech: Sequence[Path], seed: int, fold: int) -> list[Heard]:
    """Half of the tuning speakers, heard by the two heads that never met them."""
    kept = [c for c in clips_of(speech) if c.half == "tuning" and fold_of(c.speaker) == fold]
    maker = TrialMaker(
        kept, noises_of(speech), "tuning", seed + fold, most=_MOST, only=_KINDS, voices=False
    )
    ears = OwnRecogniser(
        words_file=work / head_name(fold, plain=True),
        follow_file=work / head_name(fold, plain=False),
        read_back=read_back_words(language()),
    )
    found: list[Heard] = []
    for level in LEVELS:
        for trial in maker.trials(level):
            ears.load(trial.grammar)
            found.append(_one(trial, ears.evidence(trial.sound)))
        print(f"calibrate: fold {fold}, {level} dB: {len(found)} sounds heard", flush=True)
    return found


def _one(trial: Trial, evidence: Evidence | None) -> Heard:
    if evidence is None:
        return Heard(trial.kind, trial.level, trial.said, "", False, (-20.0, 0.0, -20.0), False)
    meaning = trial.grammar.parse(evidence.words)
    right = trial.meaning is not None and meaning == trial.meaning
    runner_up = min(evidence.runner_up, _MOST_RUNNER_UP)
    figures = (evidence.probability, runner_up, evidence.free)
    return Heard(
        trial.kind, trial.level, trial.said, evidence.words, right, figures, evidence.agreed
    )


def fit(heard: list[Heard]) -> npt.NDArray[np.float64]:
    """Bias and three weights of a logistic function for "this is right", none below zero.

    Only where the heads agree: elsewhere nothing is believed.
    """
    from scipy.optimize import minimize

    agreed = [h for h in heard if h.agreed]
    x = np.array([h.figures for h in agreed])
    y = np.array([h.right for h in agreed], dtype=np.float64)

    def cost(w: npt.NDArray[np.float64]) -> tuple[float, npt.NDArray[np.float64]]:
        z = w[0] + x @ w[1:]
        p = 1.0 / (1.0 + np.exp(-z))
        loss = np.logaddexp(0.0, z) - y * z
        gradient = np.concatenate([[np.sum(p - y)], x.T @ (p - y)])
        return float(np.sum(loss) + 0.5 * np.sum(w[1:] ** 2)), gradient + np.r_[0.0, w[1:]]

    bounds = [(None, None), (0.0, None), (0.0, None), (0.0, None)]
    return np.asarray(minimize(cost, np.zeros(4), jac=True, bounds=bounds, method="L-BFGS-B").x)


def calibrate(work: Path, speech: Sequence[Path], seed: int) -> None:
    """Print the fitted confidence and what each limit would accept."""
    heard = collect(work, speech, seed)
    (work / "heard.json").write_text(json.dumps([vars(h) for h in heard]), encoding="utf-8")
    report(heard)


def report(heard: list[Heard]) -> None:
    """The weights, then for each limit right and wrong in percent per level, and false ones."""
    weights = fit(heard)
    print("bias and weights", np.round(weights, 3))
    z = weights[0] + np.array([h.figures for h in heard]) @ weights[1:]
    confidence = np.array([h.agreed for h in heard]) / (1.0 + np.exp(-z))
    right = np.array([h.right for h in heard])
    spoken = np.array([h.kind not in ("other", "noise") for h in heard])
    other = np.array([h.kind == "other" for h in heard])
    noise = np.array([h.kind == "noise" for h in heard])
    stop = np.array([h.words.startswith("stop") for h in heard])
    levels = np.array([h.level for h in heard])
    for limit in _LIMITS:
        taken = confidence >= limit
        cells = []
        for level in LEVELS:
            here = spoken & (levels == level)
            good, bad = np.mean(taken[here] & right[here]), np.mean(taken[here] & ~right[here])
            cells.append(f"{100 * good:5.1f}/{100 * bad:4.1f}")
        print(
            f"{limit:4.2f}",
            *cells,
            f"other {100 * np.mean(taken[other]):4.1f} noise {100 * np.mean(taken[noise]):4.1f}",
            f"noise as stop {np.sum(taken & noise & stop)}",
        )
