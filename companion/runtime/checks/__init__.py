"""Is everything there that a job by voice needs? Each look: found, wanted, what to do."""
