"""A kind of step from a folder of one's own, and jobs that have none of the companion's figures."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from companion.job.loader import JobPaths, LoadedJob
from companion.runtime import assembly

HERE = Path(__file__).parent


@pytest.fixture
def own_kinds(tmp_path: Path) -> Path:
    """The folder of a shop that wrote a kind of step: nothing of it lies in the package."""
    return Path(shutil.copytree(HERE / "own_kinds", tmp_path / "our kinds"))


@pytest.fixture
def bracket(own_kinds: Path) -> LoadedJob:
    """A job with that kind of step, without a mount file."""
    return assembly.load(JobPaths(job=HERE / "bracket.yaml", mount=None, step_kinds=own_kinds))
