"""Trains the head of the companion's own ears, from speech makers and recordings to its file.

    python -m tests.ears_training render --work DIR     synthetic phrases (needs flite, festival,
                                                        espeak-ng, and the packages of
                                                        tests/benchmarks/ears_neural.py, py-nanotts)
    python -m tests.ears_training bank --work DIR       all sound, levelled, recorded words from
                                                        other mouths (needs pyworld), the encoder
    python -m tests.ears_training train --work DIR      the head that listens along, and two that
                                                        each leave out half of the speakers
    python -m tests.ears_training train --work DIR --plain
                                                        the same over the encoder as it is
    python -m tests.ears_training train --work DIR --language es [--plain]
                                                        heads of a language that nobody was recorded
                                                        speaking, from synthetic voices alone
    python -m tests.ears_training train --work DIR --start EARLIER [--plain]
                                                        the same, going on from the heads in the
                                                        folder EARLIER, each from that of its name
    python -m tests.ears_training calibrate --work DIR  confidence and limits, from those that
                                                        leave speakers out
    python -m tests.ears_training phrases --language es what the packaged heads make of every phrase
                                                        of a language, by voices kept for scoring
    python -m tests.ears_training noise                 what the packaged ears take for "stop", or
                                                        nearly, in noise that no head has met

Everything follows from the seed. Training wants `pip install torch==2.13.0`; it uses a CUDA
processor where there is one.
"""

from __future__ import annotations

import argparse
import math
from functools import partial
from pathlib import Path

PHRASES = {
    "piper": 2200,
    "festival": 1900,
    "flite": 4000,
    "espeak": 5200,
    "kokoro": 700,
    "espeak_es": 4200,
    "kokoro_es": 700,
}
JOB_PHRASES = {
    "piper": 300,
    "festival": 450,
    "flite": 1000,
    "espeak": 1000,
    "pico": 800,
    "kokoro_many": 1500,
}
"""What whole jobs say; the last takes hours on few cores (`many_mouths` does it on many)."""
STEPS = 9000
FOLD_STEPS = 9000


def main() -> None:
    """Run one stage."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("stage", choices=tuple(STAGES))
    parser.add_argument(
        "--work",
        type=Path,
        default=Path("out/ears_training"),
        help="folder for everything made here",
    )
    parser.add_argument(
        "--speech", type=Path, action="append", help="recordings; default: as the benchmark's"
    )
    parser.add_argument(
        "--synthetic", type=Path, nargs="*", default=[], help="more rendered folders"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--steps", type=int, default=STEPS)
    parser.add_argument("--language", choices=("en", "es"), default="en")
    parser.add_argument("--start", type=Path, help="folder of the heads to go on from")
    parser.add_argument("--plain", action="store_true", help="the encoder stays as it is")
    parser.add_argument("--fold", choices=("all", "none", "0", "1"), default="all")
    parser.add_argument("--minutes", type=float, default=math.inf, help="a head, at most")
    parser.add_argument("--noise-minutes", type=float, default=60.0)
    parser.add_argument("--fold-steps", type=int, default=FOLD_STEPS)
    chosen = parser.parse_args()
    STAGES[chosen.stage](chosen)


def _render(chosen: argparse.Namespace) -> None:
    from tests.benchmarks.common import on_all_cores

    makers = [*((maker, False) for maker in PHRASES), *((maker, True) for maker in JOB_PHRASES)]
    for _ in on_all_cores(partial(_render_one, chosen.work, chosen.seed), makers):
        pass


def _render_one(work: Path, seed: int, chosen: tuple[str, bool]) -> None:
    from tests.ears_training.job_phrases import JobPhraseMaker
    from tests.ears_training.voices import render

    maker, of_jobs = chosen
    counts = JOB_PHRASES if of_jobs else PHRASES
    render(
        _rendered(work, maker, of_jobs=of_jobs),
        maker,
        counts[maker],
        seed + (10 if of_jobs else 0) + tuple(counts).index(maker),
        JobPhraseMaker() if of_jobs else None,
    )


def _rendered(work: Path, maker: str, *, of_jobs: bool = False) -> Path:
    return work / f"{'jobs' if of_jobs else 'synthetic'}_{maker}"


def _bank(chosen: argparse.Namespace) -> None:
    from tests.ears_training.bank import build_language, build_people, build_synthetic
    from tests.ears_training.encoder_weights import write_encoder
    from tests.ears_training.voices import MAKERS

    def rendered(language: str) -> list[Path]:
        return [_rendered(chosen.work, m) for m in PHRASES if MAKERS[m].language == language]

    build_people(chosen.work, _folders(chosen), chosen.seed)
    build_synthetic(chosen.work, [*rendered("en"), *chosen.synthetic])
    jobs = [_rendered(chosen.work, maker, of_jobs=True) for maker in JOB_PHRASES]
    build_synthetic(chosen.work, jobs, "jobs")
    write_encoder(chosen.work / "encoder.npz")
    build_language(chosen.work / "es", chosen.work, "es", rendered("es"))


def _folders(chosen: argparse.Namespace) -> tuple[Path, ...]:
    from tests.benchmarks.spoken_clips import default_folders

    return tuple(chosen.speech or default_folders())


def _train(chosen: argparse.Namespace) -> None:
    import torch

    from tests.ears_training.bank import FOLDS, head_name
    from tests.ears_training.head import FOLLOW, PLAIN, train

    device = "cuda" if torch.cuda.is_available() else "cpu"
    work = chosen.work if chosen.language == "en" else chosen.work / chosen.language
    for fold in (None, *FOLDS) if chosen.language == "en" else (None,):
        if chosen.fold not in ("all", "none" if fold is None else str(fold)):
            continue
        name = head_name(fold, plain=chosen.plain)
        train(
            work,
            work / name,
            steps=chosen.steps if fold is None else chosen.fold_steps,
            seed=chosen.seed,
            fold=fold,
            device=device,
            most_s=60.0 * chosen.minutes,
            recipe=PLAIN if chosen.plain else FOLLOW,
            start=chosen.start and chosen.start / name,
        )


def _calibrate(chosen: argparse.Namespace) -> None:
    from tests.ears_training.calibration import calibrate

    calibrate(chosen.work, _folders(chosen), chosen.seed)


def _noise(chosen: argparse.Namespace) -> None:
    from tests.ears_training.false_stops import false_stops

    heard = false_stops(_folders(chosen), chosen.noise_minutes, chosen.seed)
    print(
        f'{heard.seconds / 60.0:.0f} minutes: "stop" {len(heard.stops)} times, held off at other '
        f"speeds {len(heard.held_off)} times, answers taken {len(heard.taken)}"
    )


def _phrases(chosen: argparse.Namespace) -> None:
    from tests.ears_training.heard_phrases import heard_phrases, report

    report(heard_phrases(chosen.language, chosen.seed))


STAGES = {
    "render": _render,
    "bank": _bank,
    "train": _train,
    "calibrate": _calibrate,
    "noise": _noise,
    "phrases": _phrases,
}

if __name__ == "__main__":
    main()
