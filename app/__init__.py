"""The dashboard: thin pages over the library's result tables."""

import os

# Matrices here are small: threads that share one wait for each other, and on a busy
# machine the test of a log took four times as long. Read when SciPy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
