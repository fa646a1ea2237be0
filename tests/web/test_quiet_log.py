"""A log that cannot be flooded."""

from __future__ import annotations

import logging

import pytest

from companion.web.quiet_log import OnceAMinute


@pytest.fixture
def logger(caplog: pytest.LogCaptureFixture) -> logging.Logger:
    found = logging.getLogger("companion.test_quiet_log")
    found.filters = [OnceAMinute(every_s=0.2)]
    caplog.set_level(logging.DEBUG, found.name)
    return found


def test_the_same_message_is_written_once_and_another_at_once(
    logger: logging.Logger, caplog: pytest.LogCaptureFixture
) -> None:
    for number in range(100):
        logger.warning("too many: %d", number)
        logger.warning("malformed")
    assert caplog.messages == ["too many: 0", "malformed"]


def test_after_a_while_it_is_said_how_often(
    logger: logging.Logger, caplog: pytest.LogCaptureFixture, monkeypatch: pytest.MonkeyPatch
) -> None:
    now_s = 100.0
    monkeypatch.setattr("companion.web.quiet_log.monotonic", lambda: now_s)
    for _ in range(4):
        logger.warning("too many: %d", 7)
    now_s = 100.3
    logger.warning("too many: %d", 8)
    assert caplog.messages == ["too many: 7", "too many: 8 (3 more of these since the last)"]


def test_messages_without_number_do_not_fill_the_memory(logger: logging.Logger) -> None:
    for number in range(2000):
        logger.warning(f"odd {number}")
    (kept,) = logger.filters
    assert isinstance(kept, OnceAMinute)
    assert len(kept._seen) <= 200
