"""The sample of lifters that variance parameters are estimated from."""

from collections.abc import Sequence
from hashlib import md5

import numpy as np
from numpy.typing import NDArray

LIFTERS = 200  # enough that the parameters hardly move with more
SEED = "20261127"


def sampled(lifters: Sequence[str] | NDArray[np.object_]) -> list[str]:
    """Draw the sample, the same whatever the order or the parts of a cohort.

    Parameters
    ----------
    lifters : sequence of str
        Codes, each once.

    Returns
    -------
    sample : list of str
        In order; all of them where there are no more than ``LIFTERS``.
    """
    codes = sorted(map(str, lifters))
    if len(codes) <= LIFTERS:
        return codes
    return sorted(sorted(codes, key=drawn)[:LIFTERS])


def drawn(code: str) -> str:
    """Return the number a lifter draws; the smallest are the sample."""
    return md5(f"{SEED} {code}".encode(), usedforsecurity=False).hexdigest()
