"""A log that cannot be flooded: each message a minute once, with how often it was kept back."""

from __future__ import annotations

import logging
from time import monotonic

EVERY_S = 60.0
LOGGERS = ("uvicorn.error", "asyncio")
MOST_MESSAGES = 200


class OnceAMinute(logging.Filter):
    """Lets each message through once a minute, whatever its figures are, and counts the others."""

    def __init__(self, every_s: float = EVERY_S) -> None:
        super().__init__()
        self._every_s = every_s
        self._seen: dict[str, tuple[float, int]] = {}

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether this one is written; it says then how many were not."""
        key, now_s = str(record.msg), monotonic()
        last_s, kept_back = self._seen.get(key, (-self._every_s, 0))
        if now_s - last_s < self._every_s:
            self._seen[key] = (last_s, kept_back + 1)
            return False
        if len(self._seen) >= MOST_MESSAGES:
            self._seen.clear()
        self._seen[key] = (now_s, 0)
        if kept_back:
            record.msg = f"{record.getMessage()} ({kept_back} more of these since the last)"
            record.args = ()
        return True


def keep_logs_short() -> None:
    """From here on the server's own loggers say each thing once a minute."""
    for name in LOGGERS:
        logger = logging.getLogger(name)
        if not any(isinstance(known, OnceAMinute) for known in logger.filters):
            logger.addFilter(OnceAMinute())
