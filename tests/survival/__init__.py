"""Tries to break the companion. Short in the tests; `tests/bench.sh survive` goes on for long."""
