#!/usr/bin/env bash
# Every check of the project: format, lint, types, room rules, tests. Sets up what it needs.
# Arguments go to pytest: tests/run.sh tests/language -k number
set -euo pipefail
cd "$(dirname "$0")/.."
demo_scripts/set_up.sh dev
if (($# == 0)); then
    .venv/bin/ruff format --check .
    .venv/bin/ruff check .
    .venv/bin/mypy
    .venv/bin/lint-imports
    .venv/bin/python -m tests.security
fi
exec .venv/bin/pytest -n auto "$@"
