"""Trains the head of the companion's own ears, from speech makers and recordings to its file.

    python -m tests.ears_training render --work DIR     synthetic phrases (needs flite, festival,
                                                        espeak-ng, piper-tts)
    python -m tests.ears_training bank --work DIR       all sound, levelled, and the encoder
    python -m tests.ears_training train --work DIR      the head, and two that each leave out
                                                        half of the speakers
    python -m tests.ears_training calibrate --work DIR  confidence and limits, from those two

Everything follows from the seed. Training wants `pip install torch==2.13.0`; it uses a CUDA
processor where there is one.
"""

from __future__ import annotations

import argparse
import math
from pathlib import Path

PHRASES = {"flite": 4000, "festival": 1500, "espeak": 4000, "piper": 4000}
STEPS = 8000
FOLD_STEPS = 3500


def main() -> None:
    """Run one stage."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("stage", choices=("render", "bank", "train", "calibrate"))
    parser.add_argument("--work", type=Path, required=True, help="folder for everything made here")
    parser.add_argument("--speech", type=Path, help="recordings; default: as the benchmark's")
    parser.add_argument(
        "--synthetic", type=Path, nargs="*", default=[], help="more rendered folders"
    )
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--steps", type=int, default=STEPS)
    parser.add_argument("--plain", action="store_true", help="the encoder stays as it is")
    parser.add_argument("--fold", choices=("all", "none", "0", "1"), default="all")
    parser.add_argument("--minutes", type=float, default=math.inf, help="a head, at most")
    parser.add_argument("--fold-steps", type=int, default=FOLD_STEPS)
    chosen = parser.parse_args()
    {"render": _render, "bank": _bank, "train": _train, "calibrate": _calibrate}[chosen.stage](
        chosen
    )


def _render(chosen: argparse.Namespace) -> None:
    from tests.ears_training.voices import render

    render(chosen.work / "synthetic", chosen.seed, PHRASES)


def _bank(chosen: argparse.Namespace) -> None:
    from tests.benchmarks.spoken_clips import DEFAULT_FOLDER
    from tests.ears_training.bank import build
    from tests.ears_training.encoder_weights import write_encoder

    folders = [chosen.work / "synthetic", *chosen.synthetic]
    build(chosen.work, chosen.speech or DEFAULT_FOLDER, folders, chosen.seed)
    write_encoder(chosen.work / "encoder.npz")


def _train(chosen: argparse.Namespace) -> None:
    import torch

    from tests.ears_training.head import train

    device = "cuda" if torch.cuda.is_available() else "cpu"
    for fold, steps in ((None, chosen.steps), (0, chosen.fold_steps), (1, chosen.fold_steps)):
        if chosen.fold not in ("all", "none" if fold is None else str(fold)):
            continue
        name = "head.npz" if fold is None else f"head_without_{fold}.npz"
        if steps:
            train(
                chosen.work,
                chosen.work / name,
                steps=steps,
                seed=chosen.seed,
                fold=fold,
                device=device,
                most_s=60.0 * chosen.minutes,
                plain=chosen.plain,
            )


def _calibrate(chosen: argparse.Namespace) -> None:
    from tests.benchmarks.spoken_clips import DEFAULT_FOLDER
    from tests.ears_training.calibration import calibrate

    calibrate(chosen.work, chosen.speech or DEFAULT_FOLDER, chosen.seed)


if __name__ == "__main__":
    main()
