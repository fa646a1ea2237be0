#!/usr/bin/env bash
# Every check of the project: format, lint, types, room rules, tests. Sets up what it needs.
# Arguments go to pytest: tests/run.sh tests/language -k number
set -euo pipefail
cd "$(dirname "$0")/.."
demo_scripts/set_up.sh dev
if (($# > 0)); then
    exec .venv/bin/pytest -n auto "$@"
fi

# What looks through the packages waits for the network most of its time: beside everything else.
told="$(mktemp)"
.venv/bin/python -m tests.security >"$told" 2>&1 &
security=$!
trap '[[ -z $security ]] || kill "$security" 2>/dev/null || true; rm -f "$told"' EXIT

.venv/bin/ruff format --check .
.venv/bin/ruff check .
.venv/bin/lint-imports
.venv/bin/mypy

failed=0
# Neighbours stay together, for they share what is long in the making; whoever is done first takes
# half of what the other has left.
.venv/bin/pytest -n auto --dist worksteal --durations 25 --durations-min 5 || failed=$?
wait "$security" || failed=1
security=
cat "$told"
exit "$failed"
