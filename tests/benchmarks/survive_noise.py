"""The part `noise` of `survive`: half an hour of a bay in which nobody answers, at every prompt.

Each stretch is kept in a folder, where one is given, as soon as it has been heard at all prompts;
a run that was stopped goes on behind it.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import sys
from collections import Counter
from collections.abc import Iterable
from functools import lru_cache, partial
from pathlib import Path

from tests.benchmarks.common import Results, on_all_cores
from tests.survival.noise import STRETCHES_A_MINUTE, Alone, Stretch, listen_to_nobody
from tests.survival.open_prompts import prompts

_ROOT = Path(__file__).parents[2]
_DECIDING = ("companion", "grammars", "tests/survival")
_SOUND = ("bay_sound.py", "spoken_clips.py", "speakers.tsv", "noises.tsv", "set_aside.tsv")
_MOST_STRETCHES = 100_000


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this part."""
    parser.add_argument(
        "--minutes", type=float, default=1.0, help="part noise: minutes of noise at each prompt (1)"
    )
    parser.add_argument(
        "--people-minutes",
        type=float,
        help="part noise: minutes of people at each prompt; default: as many as of noise",
    )
    parser.add_argument(
        "--keep", type=Path, help="part noise: folder of what was heard, to go on from"
    )


def run(options: argparse.Namespace) -> Results:
    """What was taken of all stretches at all prompts; a line on stderr for each stretch."""
    people_minutes = options.people_minutes
    if people_minutes is None:
        people_minutes = options.minutes
    first = options.seed * _MOST_STRETCHES
    jobs = [Stretch("noise", first + n) for n in range(_stretches(options.minutes))]
    jobs += [Stretch("people", first + n) for n in range(_stretches(people_minutes))]
    outcomes = on_all_cores(partial(heard_or_kept, options.keep), jobs, at_a_time=1)
    return {
        "prompts": len(prompts()),
        "minutes_of_noise_at_each": options.minutes,
        "minutes_of_people_at_each": people_minutes,
        **_summed(jobs, outcomes),
    }


def _stretches(minutes: float) -> int:
    return round(minutes * STRETCHES_A_MINUTE)


def _summed(jobs: list[Stretch], outcomes: Iterable[Alone]) -> Results:
    seen: Counter[str] = Counter()
    told: list[str] = []
    costs: dict[str, list[Alone]] = {stretch.sort: [] for stretch in jobs}
    for number, (stretch, alone) in enumerate(zip(jobs, outcomes, strict=True), start=1):
        seen.update(alone.seen)
        told += alone.told
        costs[stretch.sort].append(alone)
        _show(f"{number} of {len(jobs)}: {stretch.sort}, {alone.busy_s:.0f} s of processor")
        for line in alone.told:
            _show(f"  {line}")
    return {
        "seen": dict(sorted(seen.items())),
        "told": told,
        "processor_s": {
            sort: round(sum(alone.busy_s for alone in of_sort), 1)
            for sort, of_sort in costs.items()
        },
        "remembered_share": {
            sort: round(
                sum(alone.remembered for alone in of_sort) / sum(alone.asked for alone in of_sort),
                3,
            )
            for sort, of_sort in costs.items()
        },
        "most_remembered_mb": {
            sort: round(max(alone.most_kept_bytes for alone in of_sort) / 1e6)
            for sort, of_sort in costs.items()
        },
    }


def _show(line: str) -> None:
    print(line, file=sys.stderr, flush=True)


def heard_or_kept(keep: Path | None, stretch: Stretch) -> Alone:
    """What came of one stretch, from the folder of kept ones where it is there."""
    if keep is None:
        return listen_to_nobody(stretch)
    file = keep / f"{stretch.sort}_{stretch.number}_{what_decides()}.json"
    if file.is_file():
        told = json.loads(file.read_text(encoding="utf-8"))
        return Alone(**{**told, "seen": Counter(told["seen"])})
    alone = listen_to_nobody(stretch)
    keep.mkdir(parents=True, exist_ok=True)
    half_written = file.with_suffix(".part")
    half_written.write_text(json.dumps(vars(alone)), encoding="utf-8")
    half_written.replace(file)
    return alone


@lru_cache(maxsize=1)
def what_decides() -> str:
    """A digest of the program, its words and these attacks: nothing is taken from another one."""
    digest = hashlib.sha256()
    files = [p for folder in _DECIDING for p in (_ROOT / folder).rglob("*")]
    for path in sorted([*files, *(Path(__file__).with_name(name) for name in _SOUND)]):
        if path.is_file() and "__pycache__" not in path.parts:
            digest.update(str(path.relative_to(_ROOT)).encode())
            digest.update(path.read_bytes())
    return digest.hexdigest()[:16]
