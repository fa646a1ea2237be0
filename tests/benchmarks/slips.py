"""Wrong turns of the screws, made on purpose: how often they are called by their right name.

A slip is larger than the doubt when the move that it makes stands at least four standard
uncertainties away from what every story of another name would make: two to either side.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from tests.benchmarks.common import Results, on_all_cores, rate_at_most, rounded
from tests.benchmarks.slip_trials import PITCHES, Seen, trials

NAME = "slips"
WHAT = "wrong turns at the screws of simulated mounts: named right, named wrong, false alarms"

LARGER_THAN_DOUBT_IN_U = 4.0
MOUNTS = {"two_screws": "mount.yaml", "three_screws": "mount_three_screws.yaml"}


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--trials", type=int, default=300, help="jobs for each mount and pitch")


def run(options: argparse.Namespace) -> Results:
    """Every mount with the file's pitch right, a fifth too small and a fifth too large."""
    runs = [
        (mount, file_name, options.seed, options.trials, pitch)
        for mount, file_name in MOUNTS.items()
        for pitch in PITCHES
    ]
    seen: dict[str, list[Seen]] = {mount: [] for mount in MOUNTS}
    for (mount, *_), moves in zip(runs, on_all_cores(_run, runs), strict=True):
        seen[mount] += moves
    return {
        "benchmark": NAME,
        "trials_each": options.trials,
        "pitches_of_file": [rounded(pitch) for pitch in PITCHES],
        "larger_than_doubt_in_u": LARGER_THAN_DOUBT_IN_U,
        **{mount: summed_up(moves) for mount, moves in seen.items()},
    }


def _run(run: tuple[str, str, int, int, float]) -> list[Seen]:
    _, file_name, seed, count, pitch = run
    return list(trials(file_name, seed, count, pitch))


def summed_up(moves: Sequence[Seen]) -> Results:
    """What was said of slips and of honest moves."""
    slips = [move for move in moves if move.is_slip]
    honest = [move for move in moves if not move.is_slip]
    large = [move for move in slips if move.apart_in_u >= LARGER_THAN_DOUBT_IN_U]
    small = [move for move in slips if move.apart_in_u < LARGER_THAN_DOUBT_IN_U]
    alarms = sum(move.told.kind != "as_planned" for move in honest)
    return {
        "slips": len(slips),
        "larger": _named(large),
        "smaller": _named(small),
        "honest": len(honest),
        "honest_called_slip": alarms,
        "honest_called_slip_upper95": _at_most(alarms, len(honest)),
        "larger_put_right_by_next_plan": sum(move.put_right for move in large),
    }


def _named(slips: Sequence[Seen]) -> Results:
    right = sum(slip.named_right for slip in slips)
    kinds = [slip.told.kind for slip in slips]
    either = sum(slip.named_among_two for slip in slips)
    unsure = kinds.count("ambiguous")
    return {
        "slips": len(slips),
        "named_right": right,
        "not_named_right_upper95": _at_most(len(slips) - right, len(slips)),
        "either_or_with_the_right_one": either,
        "either_or_without": unsure - either,
        "unexplained": kinds.count("unexplained"),
        "not_noticed": kinds.count("as_planned"),
        "named_wrong": len(slips)
        - right
        - unsure
        - kinds.count("unexplained")
        - kinds.count("as_planned"),
    }


def _at_most(found: int, of: int) -> float | None:
    return rounded(rate_at_most(found, of)) if of else None
