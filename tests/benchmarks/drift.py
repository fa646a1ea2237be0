"""How often a whole statistics page calls something changed, at rest and when something did.

Values are independent and normal. A page is every chart of every bay, made by the code that makes
the page, out of a store of summaries. At rest the jobs go to three bays in turn, nine charts each;
`rest_rounded` rounds each value to whole standard deviations. With a change the page has one bay of
60 jobs and nine charts, one of which changes: `step_1_5` and `step_2` from the 31st job on by so
many standard deviations, `ramp_2` by two standard deviations evenly from the 20th job to the 60th,
`ramp_2_slow` by two from the first job to the 60th.

`watch_jobs_a_false_alarm`: the mean number of jobs in a bay at rest until the watch of one of its
nine charts signals; `watch_delay_step_1_5`: the median number of jobs until it signals a step of
1.5 after 60 jobs.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from statistics import median

import numpy as np
import numpy.typing as npt

from companion.statistics.steadiness import charts
from companion.statistics.store import SUMMARIES
from companion.statistics.summary import MEASURES
from companion.statistics.watching import watched
from tests.benchmarks.common import Results, on_all_cores, rounded

NAME = "drift"
WHAT = "shares of statistics pages that call something changed, at rest and after changes"
BAYS = ("Bay one", "Bay two", "Bay three")
SHOWN = 60
REST = {"rest_100": (100, 0.0), "rest_400": (400, 0.0), "rest_2000": (2000, 0.0)}
REST |= {"rest_rounded": (400, 1.0)}
RAMP_FROM = 20
CHANGES: dict[str, Sequence[float]] = {
    "step_1_5": [1.5 * (place >= SHOWN // 2) for place in range(SHOWN)],
    "step_2": [2.0 * (place >= SHOWN // 2) for place in range(SHOWN)],
    "ramp_2": [2.0 * max(0, place - RAMP_FROM) / (SHOWN - 1 - RAMP_FROM) for place in range(SHOWN)],
    "ramp_2_slow": [2.0 * place / (SHOWN - 1) for place in range(SHOWN)],
}
WATCHED_JOBS = 4000
Page = tuple[int, str]


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--pages", type=int, default=2000, help="pages of each kind")
    parser.add_argument("--watched", type=int, default=100, help="bays watched")


def run(options: argparse.Namespace) -> Results:
    """Make the pages and count those with an alarm."""
    shares = {}
    for kind in (*REST, *CHANGES):
        pages = [(options.seed * 1_000_000 + number, kind) for number in range(options.pages)]
        shares[kind] = rounded(sum(on_all_cores(_has_alarm, pages)) / options.pages)
    seeds = [options.seed * 1_000_000 + number for number in range(options.watched)]
    alarms = sum(on_all_cores(_false_alarms, seeds))
    delays = [delay for delay in on_all_cores(_delay, seeds) if delay is not None]
    return {
        "benchmark": NAME,
        "pages": options.pages,
        **shares,
        "watch_jobs_a_false_alarm": rounded(options.watched * WATCHED_JOBS / max(1, alarms)),
        "watch_delay_step_1_5": median(delays) if delays else None,
    }


def _has_alarm(page: Page) -> bool:
    seed, kind = page
    random = np.random.default_rng(seed)
    if kind in REST:
        jobs, step = REST[kind]
        values = random.normal(size=(jobs, len(MEASURES)))
        values = np.round(values / step) * step if step else values
        return page_has_alarm(values, BAYS)
    values = random.normal(size=(SHOWN, len(MEASURES)))
    values[:, seed % len(MEASURES)] += CHANGES[kind]
    return page_has_alarm(values, BAYS[:1])


def page_has_alarm(values: npt.NDArray[np.float64], bays: Sequence[str]) -> bool:
    """Whether the page of these jobs (a row each, a column a measure) calls anything changed."""
    store = SUMMARIES.open(None)
    store.execute("BEGIN")
    store.executemany(
        "INSERT INTO session VALUES (?, ?, '', ?, '', ?, '')",
        [
            (job, f"{job:06}", f"{job:06}", bays[job % len(bays)])
            for job in range(1, len(values) + 1)
        ],
    )
    store.executemany(
        "INSERT INTO measure VALUES (?, ?, ?)",
        [
            (job, measure, value)
            for job, row in enumerate(values.tolist(), start=1)
            for measure, value in zip(MEASURES, row, strict=True)
        ],
    )
    found = charts(store)
    store.close()
    return any(chart.state == "changed" for chart in found)


def _false_alarms(seed: int) -> int:
    values = np.random.default_rng(seed).normal(size=(len(MEASURES), WATCHED_JOBS))
    return sum(len(watched(chart)) for chart in values.tolist())


def _delay(seed: int) -> int | None:
    values = np.random.default_rng(seed).normal(size=4 * SHOWN)
    values[SHOWN:] += 1.5
    after = [signal.place for signal in watched(values.tolist()) if signal.place >= SHOWN]
    return after[0] - SHOWN + 1 if after else None
