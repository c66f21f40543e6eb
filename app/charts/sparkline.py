"""Little pictures for the cells of a table: a trend with its band, an interval.

They are SVG data addresses, so that a sortable table can hold one per row.
"""

import base64

import numpy as np
import pandas as pd

from app import theme

_WIDE, _HIGH = 150, 34


def _address(body: str) -> str:
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_HIGH}" '
        f'width="{_WIDE}" height="{_HIGH}">{body}</svg>'
    )
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()


def _scaled(values: np.ndarray, span: tuple[float, float], size: float) -> np.ndarray:
    low, high = span
    return 3 + (size - 6) * (values - low) / max(high - low, 1e-9)


def trend(rows: pd.DataFrame) -> str:
    """Draw one strength series as a line in its band.

    Parameters
    ----------
    rows : DataFrame
        `date, strength_kg, low_kg, high_kg`, oldest first.
    """
    days = rows["date"].astype("int64").to_numpy(dtype=float)
    x = _scaled(days, (days[0], days[-1]), _WIDE)
    span = (rows["low_kg"].min(), rows["high_kg"].max())
    low, mid, high = (
        _HIGH - _scaled(rows[name].to_numpy(dtype=float), span, _HIGH)
        for name in ("low_kg", "strength_kg", "high_kg")
    )

    def path(xs: np.ndarray, ys: np.ndarray) -> str:
        return " ".join(f"{a:.1f},{b:.1f}" for a, b in zip(xs, ys, strict=True))

    band = path(np.concatenate([x, x[::-1]]), np.concatenate([low, high[::-1]]))
    return _address(
        f'<polygon points="{band}" fill="{theme.ESTIMATED}" fill-opacity="0.3"/>'
        f'<polyline points="{path(x, mid)}" fill="none" stroke="{theme.ESTIMATED}" '
        f'stroke-width="2"/><circle cx="{x[-1]:.1f}" cy="{mid[-1]:.1f}" r="2.5" '
        f'fill="{theme.ESTIMATED}"/>'
    )


def interval(
    value: float, low: float, high: float, *, at: float, span: tuple[float, float]
) -> str:
    """Draw a value with its interval and where it is compared to.

    Parameters
    ----------
    value, low, high : float
        Estimate and its 90 % interval.
    at : float
        What it is compared to: a dashed line.
    span : tuple of float
        Left and right end of the scale, the same for every row.
    """
    if not np.isfinite([value, low, high]).all():
        return ""
    ends = np.clip([low, high, value, at], *span)
    left, right, dot, line = _scaled(np.array(ends), span, _WIDE)
    clear = low > at or high < at
    hue = theme.MODELLED if clear else theme.ESTIMATED
    mark = (
        f'<rect x="{dot - 4:.1f}" y="{_HIGH / 2 - 4}" width="8" height="8" '
        f'transform="rotate(45 {dot:.1f} {_HIGH / 2})" fill="{hue}"/>'
        if clear
        else f'<circle cx="{dot:.1f}" cy="{_HIGH / 2}" r="4.5" fill="{hue}"/>'
    )
    return _address(
        f'<line x1="{line:.1f}" x2="{line:.1f}" y1="2" y2="{_HIGH - 2}" '
        f'stroke="{theme.MEASURED}" stroke-dasharray="3 3"/>'
        f'<line x1="{left:.1f}" x2="{right:.1f}" y1="{_HIGH / 2}" y2="{_HIGH / 2}" '
        f'stroke="{hue}" stroke-opacity="0.6" stroke-width="4"/>{mark}'
    )
