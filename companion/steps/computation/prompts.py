"""What is said where readings do not fit together."""

from __future__ import annotations

from companion.facts.message import Message

MISFIT = Message("misfit")
DO_NOT_FIT = Message("do-not-fit")
KEEPS_MISFITTING = Message("keeps-misfitting")
