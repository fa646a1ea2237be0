"""What the tests of several rooms share."""

from __future__ import annotations

import gc
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import hypothesis
import pytest

# Before any test loads numpy: it keeps linear algebra to one thread. Several on busy cores wait for
# each other, and hearing takes a hundred times as long.
import companion  # noqa: F401

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# How long an example takes says more of the machine than of the program.
hypothesis.settings.register_profile("any machine", deadline=None)
hypothesis.settings.load_profile("any machine")


# Thousands of tests lie in memory to the end: looking through them for garbage over and over is an
# eighth of the time.
gc.set_threshold(50_000, 20, 20)


def pytest_collection_finish() -> None:
    """What has been collected stays; it is not looked through again."""
    gc.collect()
    gc.freeze()


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests that read pages."""
    from tests.browsers import CHROMIUM, running_browser

    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"no {CHROMIUM}: demo_scripts/set_up.sh dev installs it")
    with running_browser() as browser:
        yield browser


@pytest.fixture(scope="session")
def two_jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record of two whole rehearsed jobs; nobody writes into it."""
    from click.testing import CliRunner

    from companion.cli import main

    record = tmp_path_factory.mktemp("two jobs") / "record.sqlite"
    for seed in ("1", "3"):
        arguments = ["rehearse", "--seed", seed, "--record", str(record)]
        rehearsed = CliRunner().invoke(main, arguments, catch_exceptions=False)
        assert rehearsed.exit_code == 0, rehearsed.output
    return record


@pytest.fixture
def two_jobs_copied(two_jobs: Path, tmp_path: Path) -> Path:
    """The same, alone in a folder of its own, to do with as one likes."""
    copy = tmp_path / "shop" / two_jobs.name
    copy.parent.mkdir()
    shutil.copyfile(two_jobs, copy)
    return copy
