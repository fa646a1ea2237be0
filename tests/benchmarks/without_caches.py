"""A plugin of pytest: every test begins with empty caches.

What a function kept is otherwise computed under the first test that asks for it, and no other test
is seen to execute those lines.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator

import pytest

_OURS = ("companion", "tests")


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Empties them, also those of modules that the last test imported."""
    for clear in set(_clearing()):
        clear()


def _clearing() -> Iterator[Callable[[], None]]:
    for name, module in list(sys.modules.items()):
        if name.partition(".")[0] in _OURS:
            for told in list(vars(module).values()):
                for one in (told, *(vars(told).values() if isinstance(told, type) else ())):
                    if callable(clear := getattr(one, "cache_clear", None)):
                        yield clear
