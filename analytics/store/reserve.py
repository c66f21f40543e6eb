"""Reserve called as an interval: the store has its middle and half its width."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

Reserve = float | tuple[float, float] | None


def middle_and_half(reserve: Reserve) -> tuple[float | None, float | None]:
    """Take an interval apart.

    Parameters
    ----------
    reserve : float or (float, float) or None
        Repetitions in reserve, or the ends of an interval.

    Returns
    -------
    middle, half : float or None
        Half the width is None for one number.
    """
    if isinstance(reserve, tuple):
        low, high = reserve
        return (low + high) / 2, (high - low) / 2
    return reserve, None


def reserve_text(middle: float, half: float | None) -> str:
    """Write reserve as a log does.

    Parameters
    ----------
    middle : float
        Repetitions in reserve.
    half : float or None
        Half the width of an interval around it; NaN or None for one number.

    Returns
    -------
    text : str
        ``1-2``, or ``2``.
    """
    if half is None or half != half:
        return f"{middle:g}"
    return f"{middle - half:g}-{middle + half:g}"


def reserve_told(sets: pd.DataFrame) -> pd.Series:
    """Write the reserve of many sets.

    Parameters
    ----------
    sets : DataFrame
        ``rir, rir_half``.

    Returns
    -------
    told : Series of str
        Missing where nothing was told.
    """
    told = map(reserve_text, sets["rir"], sets["rir_half"])
    return sets["rir"].astype(object).mask(sets["rir"].notna(), list(told))
