"""Benchmarks, apart from the tests: each prints one JSON object as its last line."""

import os

# One process a core: the arithmetic's own threads would only stand in each other's way. This has
# to be said before numpy is first imported.
for _variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_variable, "1")
