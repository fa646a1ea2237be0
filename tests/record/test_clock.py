"""A date is only vouched for where the computer knows that it is right."""

from __future__ import annotations

import ctypes
import sys
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from companion.record import clock
from companion.record.clock import time_is_synchronised

UNSYNCHRONISED, PPS = 0x40, 0x02
"""Two bits of `status` (linux/timex.h)."""


@pytest.fixture
def kernel(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """A kernel that answers `adjtimex` so, on a computer whose service sets no flag."""
    monkeypatch.setattr(clock, "_TIMESYNC_FLAG", tmp_path / "synchronized")

    def says(answer: int, status: int) -> None:
        def adjtimex(timex: Any) -> int:
            words = ctypes.cast(timex, ctypes.POINTER(ctypes.c_long))
            # modes, offset, freq, maxerror, esterror, status
            words[5] = status
            return answer

        monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: SimpleNamespace(adjtimex=adjtimex))

    return says


def test_the_kernels_word_counts_only_where_it_says_that_it_keeps_time(
    kernel: Callable[..., None],
) -> None:
    for answer, status, wanted in (
        (0, 0, True),
        (0, PPS, True),
        (1, PPS, True),
        (0, UNSYNCHRONISED, False),
        (0, UNSYNCHRONISED | PPS, False),
        (5, 0, False),
        (-1, 0, False),
    ):
        kernel(answer, status)
        assert time_is_synchronised() is wanted, (answer, status)


def test_what_cannot_be_known_is_no(
    kernel: Callable[..., None], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ctypes, "CDLL", lambda *_, **__: SimpleNamespace())
    assert not time_is_synchronised()
    kernel(0, 0)
    monkeypatch.setattr(sys, "platform", "another")
    assert not time_is_synchronised()


def test_the_flag_of_the_time_service_is_enough(
    kernel: Callable[..., None], tmp_path: Path
) -> None:
    kernel(-1, UNSYNCHRONISED)
    (tmp_path / "synchronized").touch()
    assert time_is_synchronised()
