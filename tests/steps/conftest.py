"""A kind of step from a folder of one's own, and jobs that have none of the companion's figures."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from companion.job.loader import JobPaths, LoadedJob
from companion.record import Database, FixedClock, open_record
from companion.runtime import assembly

HERE = Path(__file__).parent


@pytest.fixture
def day(tmp_path: Path) -> Iterator[tuple[Database, FixedClock]]:
    """An empty record, and the clock that it is kept by."""
    clock = FixedClock("2031-05-06T08:00:00.000Z", step_ms=100)
    with open_record(tmp_path / "record.sqlite", clock) as database:
        yield database, clock


@pytest.fixture(scope="session")
def radar() -> LoadedJob:
    """The shipped job of the front radar."""
    return assembly.load(JobPaths())


@pytest.fixture
def own_kinds(tmp_path: Path) -> Path:
    """The folder of a shop that wrote a kind of step: nothing of it lies in the package."""
    return Path(shutil.copytree(HERE / "own_kinds", tmp_path / "our kinds"))


@pytest.fixture
def bracket(own_kinds: Path) -> LoadedJob:
    """A job with that kind of step, without a mount file."""
    return assembly.load(JobPaths(job=HERE / "bracket.yaml", mount=None, step_kinds=own_kinds))
