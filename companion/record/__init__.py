"""The session log: append-only, hash-chained, replayable."""
