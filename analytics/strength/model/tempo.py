"""What a logged tempo does to the repetitions of a set; without one, nothing."""

import re

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from analytics.strength.model.relation import priors

Floats = NDArray[np.float64]

_PART = r"(?:\d{1,2}|x)"
_APART = re.compile(rf"{_PART}(?:[-–/:| ]+{_PART}){{1,3}}")
_TOGETHER = re.compile(r"[\dx]{3,4}")


def slowness(tempo: pd.Series) -> Floats:
    """Log of the time a repetition moves over the usual one, by the tempo as logged.

    Parameters
    ----------
    tempo : Series of str
        Seconds down, pause, up, pause (``3-1-1-0``, ``3110``, ``4/0/2``, ``3-1``);
        ``x`` is as fast as possible. Whether down or up comes first does not matter.

    Returns
    -------
    slowness : ndarray, shape (n_sets,)
        0 without a tempo, for one in other words, and for any faster than usual, of
        which nothing is published; at most that of the slowest tried. [1]

    Notes
    -----
    Pauses are left out: in some the muscle rests and in others it holds.
    """
    known = priors("tempo")
    over = moving_s(tempo) / known["usual_s"]
    return np.log(np.clip(np.nan_to_num(over, nan=1.0), 1, known["slowest_over_usual"]))


def moving_s(tempo: pd.Series) -> Floats:
    """Seconds a repetition moves, down and up, NaN where the words tell none."""
    text = tempo.fillna("").str.lower().str.strip().str.removesuffix("s").str.strip()
    seconds = {words: _read(words) for words in text.unique()}
    return text.map(seconds).to_numpy(float)


def _read(text: str) -> float:
    if _APART.fullmatch(text):
        parts = re.findall(_PART, text)
    elif _TOGETHER.fullmatch(text):
        parts = list(text)
    else:
        return np.nan
    moves = parts[:2] if len(parts) == 2 else parts[::2]
    return sum(priors("tempo")["fastest_s"] if x == "x" else float(x) for x in moves)


def at_usual_tempo(reps: ArrayLike, log_cost: ArrayLike) -> Floats:
    """Repetitions the load would allow at the usual tempo.

    Parameters
    ----------
    reps : array_like, shape (...)
        That could be done at the logged one. [1]
    log_cost : array_like, broadcastable to ``reps``
        Slowness times the exponent by which it lowers K. [1]

    Returns
    -------
    reps : ndarray, shape (...)
        As many at no cost, and never more than one for one: of a single slow
        repetition nothing is published. [1]
    """
    done = np.asarray(reps, dtype=float)
    return done + np.maximum(done - 1, 0) * np.expm1(log_cost)
