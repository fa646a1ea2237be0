"""What every benchmark needs: its place in the list, the machine, percentiles, the last line."""

from __future__ import annotations

import argparse
import json
import os
import platform
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
from scipy.stats import beta

Job = TypeVar("Job")
Outcome = TypeVar("Outcome")
Results = dict[str, Any]


@dataclass(frozen=True)
class Benchmark:
    """One benchmark as the command line knows it."""

    name: str
    what: str
    add_options: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], Results]


def cores() -> int:
    """The cores that this process may use."""
    return len(os.sched_getaffinity(0))


def cpu_model() -> str:
    """The processor's name as the kernel tells it, else what the platform says."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    told = (line.partition(":")[2].strip() for line in lines if line.startswith("model name"))
    return next(told, platform.processor() or platform.machine())


def on_all_cores(
    run: Callable[[Job], Outcome],
    jobs: Sequence[Job],
    workers: int | None = None,
    at_a_time: int | None = None,
) -> Iterator[Outcome]:
    """The outcome of every job, in order, from processes of their own.

    `at_a_time`: so many jobs go to a process together; with one, outcomes come as they are made.
    """
    count = min(workers or cores(), len(jobs)) or 1
    with ProcessPoolExecutor(count) as pool:
        chunk = at_a_time or max(1, min(20, len(jobs) // (4 * count)))
        yield from pool.map(run, jobs, chunksize=chunk)


def percentile(values: Iterable[float], percent: float) -> float | None:
    """A percentile, linear between neighbours; None of nothing."""
    kept = list(values)
    return float(np.percentile(kept, percent)) if kept else None


def rounded(value: float | None, digits: int = 4) -> float | None:
    """So many significant figures."""
    return None if value is None else float(f"{value:.{digits}g}")


def finish(result: Mapping[str, Any], *, seed: int, json_alone: bool) -> None:
    """Lines for people, then the one JSON object with the machine it was measured on."""
    told = {
        **result,
        "seed": seed,
        "machine": {"cpu": cpu_model(), "cores": cores()},
        "python": platform.python_version(),
    }
    if not json_alone:
        for name, value in told.items():
            print(f"{name.replace('_', ' '):28s} {value}")
    print(json.dumps(told), flush=True)


def rate_at_most(count: int, trials: int, level: float = 0.95) -> float:
    """Exact one-sided upper bound of a rate (Clopper and Pearson)."""
    return 1.0 if count == trials else float(beta.ppf(level, count + 1, trials - count))
