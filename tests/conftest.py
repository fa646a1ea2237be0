"""What the tests of several rooms share."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests that read pages."""
    from tests.browsers import CHROMIUM, running_browser

    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"no {CHROMIUM}: demo_scripts/set_up.sh dev installs it")
    with running_browser() as browser:
        yield browser
