"""Every disturbance at the size that is stated, and at three times it: does the doubt still hold?

At the limit: one axis a ten-thousandth of a degree outside. An "inside" there is false.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np

from companion.measure.risk import rate_at_most
from tests.benchmarks.common import Results, on_all_cores, rounded
from tests.benchmarks.hostile_bay import DISTURBANCES, Sizes, larger
from tests.benchmarks.hostile_decisions import Outcome, decisions

NAME = "hostile"
WHAT = "each error as large as stated and three times as large: false inside, coverage, refusals"

TIMES = {"stated": 1.0, "three times": 3.0}
AT_ONCE = 250


@dataclass(frozen=True)
class Row:
    """One row's task, a part of its decisions."""

    disturbance: str
    size: str
    count: int
    seed: tuple[int, ...]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--decisions", type=int, default=20_000, help="emulated, a row")
    parser.add_argument("--only", help="these disturbances alone, with commas between")
    parser.add_argument("--workers", type=int, help="processes at once")


def run(options: argparse.Namespace) -> Results:
    """All rows; `all` last."""
    names = (*DISTURBANCES, "all")
    if options.only:
        names = tuple(options.only.split(","))
    rows = []
    for number, name in enumerate(names):
        for size in TIMES:
            parts = max(1, -(-options.decisions // AT_ONCE))
            share = -(-options.decisions // parts)
            tasks = [
                Row(name, size, share, (options.seed, number, len(size), part))
                for part in range(parts)
            ]
            found = [
                item for part in on_all_cores(run_part, tasks, options.workers) for item in part
            ]
            rows.append(tell(name, size, found))
    return {"benchmark": NAME, "rows": rows}


def run_part(task: Row) -> list[Outcome]:
    """Some of a row's decisions, from their own seed."""
    stated = Sizes()
    real = larger(stated, task.disturbance, TIMES[task.size])
    return decisions(np.random.default_rng(task.seed), real, stated, task.count)


def tell(name: str, size: str, found: list[Outcome]) -> dict[str, object]:
    """One row of the answer; rates as parts of one."""
    count = len(found)
    false = sum(item.inside for item in found)
    would = [item for item in found if item.would_be_inside]
    return {
        "disturbance": name,
        "size": size,
        "decisions": count,
        "false_inside": rounded(false / count),
        "false_inside_upper95": rounded(rate_at_most(false, count)),
        "coverage95": rounded(sum(item.covered for item in found) / (2 * count)),
        "refused_or_noticed": rounded(sum(item.noticed for item in found) / count),
        "noticed_of_false": rounded(
            sum(item.noticed for item in would) / len(would) if would else 1.0
        ),
        "jobs": 0,
        "jobs_false_inside": 0,
    }
