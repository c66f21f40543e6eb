"""Stages from set logs and anatomy to a verdict; imports only go down the line."""

import os

# Matrices here are small: threads that share one wait for each other. On two cores a
# mixed model took 1.2 s instead of 0.36, on a busy machine the test of a log four times
# as long. Read when NumPy and SciPy are loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
