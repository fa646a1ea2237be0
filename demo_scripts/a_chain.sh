#!/usr/bin/env bash
# A chain of shops: three sites, eight boxes, one store (a PostgreSQL server of its own, in a
# temporary folder). Two boxes are cut off while they send, one is tampered with, one stand drifts,
# one refuses published files. Ends with all three named, and leaves pictures of the pages in out/a_chain/. Cleans up after itself.
set -euo pipefail
cd "$(dirname "$0")/.."
demo_scripts/set_up.sh dev
out=out/a_chain
rm -rf "$out"
started=$SECONDS
.venv/bin/python -m tests.store.demo_chain "$out"
echo "Took $((SECONDS - started)) s"
