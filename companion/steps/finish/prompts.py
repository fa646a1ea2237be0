"""What is said at the end of a job that came to nothing else."""

from __future__ import annotations

from companion.facts.message import Message

NOTHING_AIMED = Message("nothing-aimed")
