"""Bay companion: a hands-free voice companion for the static calibration of a forward radar."""

import os

# The ears' matrices are small: two threads that wait for each other are slower than one, and on
# a busy machine many times slower. It has to be said before numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
