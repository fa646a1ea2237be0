"""What the tests of several rooms share."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
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


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One browser for all tests that read pages."""
    from tests.browsers import CHROMIUM, running_browser

    if shutil.which(CHROMIUM) is None:
        pytest.skip(f"no {CHROMIUM}: demo_scripts/set_up.sh dev installs it")
    with running_browser() as browser:
        yield browser
