"""Confidence as the share that was right among utterances like it: a fitted logistic function.

`limits.json` holds, for each candidate, the weights of its figures and the limits; it is written
by `python -m tests.ears_candidates tune NAME` from the tuning speakers alone.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

LIMITS = Path(__file__).parent / "limits.json"


@dataclass(frozen=True)
class Fit:
    """`bias` and one weight for each figure; limits as in `Recogniser`."""

    bias: float
    weights: tuple[float, ...]
    least_confidence: float
    least_resemblance: float

    def confidence(self, figures: Sequence[float]) -> float:
        """From 0 to 1."""
        evidence = self.bias + sum(w * f for w, f in zip(self.weights, figures, strict=True))
        return 1.0 / (1.0 + math.exp(-min(max(evidence, -50.0), 50.0)))


def fit_of(name: str, figures: int) -> Fit:
    """The kept fit of a candidate; one that believes everything, where it was never tuned."""
    kept = json.loads(LIMITS.read_text(encoding="utf-8")) if LIMITS.is_file() else {}
    if name not in kept:
        return Fit(50.0, (0.0,) * figures, 0.0, 0.0)
    told = kept[name]
    return Fit(**{**told, "weights": tuple(told["weights"])})


def keep(name: str, fit: Fit) -> None:
    """Write a candidate's fit beside the others'."""
    kept = json.loads(LIMITS.read_text(encoding="utf-8")) if LIMITS.is_file() else {}
    kept[name] = asdict(fit)
    LIMITS.write_text(json.dumps(kept, indent=1, sort_keys=True) + "\n", encoding="utf-8")
