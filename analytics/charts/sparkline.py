"""Little pictures for the cells of a table: a trend with its band, an interval.

They are SVG data addresses, so that a sortable table can hold one per row.
"""

import base64

import numpy as np
import pandas as pd

from analytics.charts import theme

_WIDE, _HIGH = 106, 34
_MARK = 7  # half of a diamond, which is whole at the edge too


def _address(body: str, value: float) -> str:
    """Picture as an address that a table sorts by the value it shows."""
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDE} {_HIGH}" '
        f'width="{_WIDE}" height="{_HIGH}">{body}</svg>'
    )
    order = f"{1000 + value:012.6f}"
    return (
        f"data:image/svg+xml;order={order};base64,"
        + base64.b64encode(svg.encode()).decode()
    )


def _scaled(
    values: np.ndarray, span: tuple[float, float], size: float, *, edge: float = 3
) -> np.ndarray:
    low, high = span
    return edge + (size - 2 * edge) * (values - low) / max(high - low, 1e-9)


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
        f'fill="{theme.ESTIMATED}"/>',
        float(rows["strength_kg"].iloc[-1] / rows["strength_kg"].iloc[0]),
    )


def intervals(
    rows: list[tuple[float, float, float]], *, at: float, span: tuple[float, float]
) -> str:
    """Draw values with their intervals below one another, and what they are held to.

    Parameters
    ----------
    rows : list of (float, float, float)
        Estimate, low and high end of its 90 % interval; unknown ones are left out.
    at : float
        What they are compared to: a dashed line.
    span : tuple of float
        Left and right end of the scale, the same for every cell of a column.
    """
    known = [row for row in rows if np.isfinite(row).all()]
    if not known:
        return ""
    line = _scaled(np.array([at]), span, _WIDE, edge=_MARK)[0]
    body = (
        f'<line x1="{line:.1f}" x2="{line:.1f}" y1="1" y2="{_HIGH - 1}" '
        f'stroke="{theme.MEASURED}" stroke-dasharray="3 3"/>'
    )
    size = min(4.5, 12 / len(known))
    for number, row in enumerate(known):
        y = _HIGH * (number + 0.5) / len(known)
        dot, left, right = _scaled(np.clip(row, *span), span, _WIDE, edge=_MARK)
        clear = row[1] > at or row[2] < at
        hue = theme.MODELLED if clear else theme.ESTIMATED
        body += (
            f'<line x1="{left:.1f}" x2="{right:.1f}" y1="{y:.1f}" y2="{y:.1f}" '
            f'stroke="{hue}" stroke-opacity="0.6" stroke-width="{0.8 * size:.1f}"/>'
        )
        corner = 0 if clear else size  # a diamond misses the line, a circle holds it
        body += (
            f'<rect x="{dot - size:.1f}" y="{y - size:.1f}" width="{2 * size:.1f}" '
            f'height="{2 * size:.1f}" rx="{corner:.1f}" '
            f'transform="rotate(45 {dot:.1f} {y:.1f})" fill="{hue}"/>'
        )
    furthest = max((row[0] for row in known), key=lambda value: abs(value - at))
    return _address(body, furthest)
