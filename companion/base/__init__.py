"""What several rooms stand on and that knows nothing of the work: YAML, sound cards, plain text."""
