"""What is said at the end of a job that came to nothing else."""

from __future__ import annotations

NOTHING_AIMED = "That is all. This job aimed nothing, and the record says so."
