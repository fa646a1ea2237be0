"""The rehearsal's own errors."""

from __future__ import annotations

from companion.errors import CompanionError


class RehearsalError(CompanionError):
    """The rehearsal bay or its technician was asked for something that it does not have."""
