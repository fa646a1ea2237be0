#!/usr/bin/env bash
# Every benchmark: tests/bench.sh NAME [options] --json; the last line printed is one JSON object.
# tests/bench.sh alone lists the names.
set -euo pipefail
cd "$(dirname "$0")/.."
demo_scripts/set_up.sh dev
exec .venv/bin/python -m tests.benchmarks "$@"
