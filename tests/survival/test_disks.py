"""The power cut, the full disk, the failing disk, the damaged record: nothing told is lost.

A few of each; `tests/bench.sh survive` does hundreds.
"""

from __future__ import annotations

import sqlite3
from collections import Counter
from pathlib import Path

import pytest

from tests.survival import disks, job


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The record of one whole job, in one file."""
    record = tmp_path_factory.mktemp("whole") / "record.sqlite"
    job.main(record, 3, 0.0)
    with sqlite3.connect(record) as connection:
        connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return record


@pytest.mark.parametrize("seed", range(4))
def test_the_power_goes(seed: int, tmp_path: Path) -> None:
    seen = disks.cut_power(tmp_path, seed)
    assert seen["cuts"] == 1
    assert seen["lost"] == 0


@pytest.mark.parametrize("kilobytes", [200, 700])
def test_the_disk_is_full(kilobytes: int, tmp_path: Path) -> None:
    if not disks.can_mount(tmp_path):
        pytest.skip("needs root and a kernel that lets it mount a tmpfs")
    seen = disks.fill_disk(tmp_path, 5, kilobytes)
    assert seen["full"] == 1
    assert seen["lost"] == 0


def test_the_disk_fails_at_random(tmp_path: Path) -> None:
    if not disks.FAULTS.exists():
        pytest.skip("needs libfiu (Debian: fiu-utils)")
    seen: Counter[str] = Counter()
    for seed in range(24):
        if seen["jobs"] >= 4 and seen["refused"]:
            break
        folder = tmp_path / str(seed)
        folder.mkdir()
        seen += disks.fail_writes(folder, seed)
    assert seen["lost"] == 0
    assert seen["refused"] > 0


def test_damaged_records_are_noticed(whole: Path, tmp_path: Path) -> None:
    seen: Counter[str] = Counter()
    for seed in range(60):
        folder = tmp_path / str(seed)
        folder.mkdir()
        seen[disks.damaged_record(folder, whole, seed)] += 1
    assert seen["refused"] > 10
    assert seen["found by verify"] > 5
