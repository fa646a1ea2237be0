"""What is said where readings do not fit together."""

from __future__ import annotations

from companion.facts.message import Message, in_a_row

MISFIT = in_a_row(Message("misfit"), Message("read-them-again"))
KEEPS_MISFITTING = Message("keeps-misfitting")
