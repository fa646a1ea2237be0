"""What the companion survives, in numbers: `survive --part conversation --count 1000000`.

Each part is one attack of `tests/survival`, many times over, on all cores. The first thing that
must never happen ends it with the seed that brings it about again.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile

from tests.benchmarks import survive_noise
from tests.benchmarks.common import Results, on_all_cores
from tests.survival import conversation, disks, files, job, load

NAME = "survive"
NOISE = "noise"
WHAT = "attacks in numbers: conversations, files, noise, power cuts, failing disks, tampering"


@dataclass(frozen=True)
class Batch:
    """So many attacks of one kind, from one seed."""

    part: str
    seed: int
    count: int


@dataclass(frozen=True)
class Part:
    """One kind of attack: how many by default, how many in a batch, and what does them."""

    count: int
    in_a_batch: int
    attack: Callable[[Path, Batch], Counter[str]]


def talk(folder: Path, batch: Batch) -> Counter[str]:
    """Events in conversations; the share of surprising ones follows from the seed."""
    share = (0.1, 0.2, 0.35, 0.5)[batch.seed % 4]
    return conversation.walks(1_000 + batch.seed, batch.count, share=share)


def job_files(folder: Path, batch: Batch) -> Counter[str]:
    """Damaged job, vehicle, mount and bay files."""
    return files.job_files(folder, 1_000 + batch.seed, batch.count)


def grammars(folder: Path, batch: Batch) -> Counter[str]:
    """Damaged grammar files."""
    return files.grammar_files(1_000 + batch.seed, batch.count)


def sounds(folder: Path, batch: Batch) -> Counter[str]:
    """Damaged sound files."""
    whole = io.BytesIO()
    tone = (0.3 * np.sin(np.arange(8_000) / 20)).astype(np.float32)
    soundfile.write(whole, tone, 16_000, format="WAV", subtype="PCM_16")
    return files.sound_files(folder, 1_000 + batch.seed, batch.count, whole.getvalue())


def one_by_one(attack: Callable[[Path, int], Counter[str]]) -> Callable[..., Counter[str]]:
    """An attack that needs a folder of its own each time."""

    def run(folder: Path, batch: Batch) -> Counter[str]:
        seen: Counter[str] = Counter()
        for number in range(batch.count):
            place = folder / str(number)
            place.mkdir()
            seen.update(attack(place, 100_000 + 1_000 * batch.seed + number))
        return seen

    return run


def full_disk(folder: Path, seed: int) -> Counter[str]:
    """A disk of 200 to 2,000 kB that a job fills."""
    if not disks.can_mount(folder):
        return Counter(not_allowed_to_mount=1)
    return disks.fill_disk(folder, seed, 200 + 37 * (seed % 50))


def fault(folder: Path, seed: int) -> Counter[str]:
    """A disk that fails at random."""
    if not disks.FAULTS.exists():
        return Counter(libfiu_is_missing=1)
    return disks.fail_writes(folder, seed)


def records(folder: Path, batch: Batch) -> Counter[str]:
    """Damaged record files."""
    whole = folder / "whole.sqlite"
    with contextlib.redirect_stdout(io.StringIO()):
        job.main(whole, batch.seed, 0.0)
    with sqlite3.connect(whole) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    attack = one_by_one(lambda place, seed: Counter([disks.damaged_record(place, whole, seed)]))
    return attack(folder, batch)


def settings_files(folder: Path, batch: Batch) -> Counter[str]:
    """Damaged settings files."""
    return files.settings_files(folder, 1_000 + batch.seed, batch.count)


PARTS = {
    "conversation": Part(1_000_000, 25_000, talk),
    "files": Part(10_000, 250, job_files),
    "grammars": Part(5_000, 250, grammars),
    "settings": Part(10_000, 500, settings_files),
    "sounds": Part(100_000, 10_000, sounds),
    "cuts": Part(500, 25, one_by_one(disks.cut_power)),
    "full-disks": Part(50, 5, one_by_one(full_disk)),
    "faults": Part(200, 10, one_by_one(fault)),
    "readers": Part(20, 20, one_by_one(load.readers_and_a_writer)),
    "records": Part(1_000, 50, records),
}


def add_options(parser: argparse.ArgumentParser) -> None:
    """Options of this benchmark."""
    parser.add_argument("--part", choices=(*PARTS, NOISE), required=True, help="which attack")
    parser.add_argument("--count", type=int, help="how many, but for noise; default: by the part")
    survive_noise.add_options(parser)


def run(options: argparse.Namespace) -> Results:
    """The attacks of one part; what was seen, and how often."""
    if options.part == NOISE:
        return {"benchmark": NAME, "part": NOISE, **survive_noise.run(options)}
    part = PARTS[options.part]
    count = options.count or part.count
    sizes = [part.in_a_batch] * (count // part.in_a_batch)
    if count % part.in_a_batch:
        sizes.append(count % part.in_a_batch)
    batches = [Batch(options.part, options.seed * 500 + i, size) for i, size in enumerate(sizes)]
    seen: Counter[str] = Counter()
    for outcome in on_all_cores(attack, batches):
        seen.update(outcome)
    return {
        "benchmark": NAME,
        "part": options.part,
        "count": count,
        "seen": dict(sorted(seen.items())),
    }


def attack(batch: Batch) -> Counter[str]:
    """One batch, in a folder that is removed when all went well."""
    with tempfile.TemporaryDirectory() as folder:
        return PARTS[batch.part].attack(Path(folder), batch)
