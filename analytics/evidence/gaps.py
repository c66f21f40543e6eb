"""How far logged ratios and held loads lie from what the model predicts."""

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.evidence.curve import CurveTest
from analytics.mechanics import SHAPES, log_ratio_draws

N_DRAWS = 500


def gaps(residuals: pd.DataFrame) -> pd.DataFrame:
    """Difference of each logged ratio from the predicted one, as a share of it.

    Parameters
    ----------
    residuals : DataFrame
        ``ratio, low, high, predicted, predicted_low, predicted_high``.

    Returns
    -------
    gaps : DataFrame
        The same with ``gap_frac, gap_low, gap_high`` (90 % interval of both together)
        and ``misses``, whether that holds no zero.
    """
    gap = np.log(residuals["ratio"] / residuals["predicted"])
    reach = np.hypot(
        np.log(residuals["high"] / residuals["low"]) / 2,
        np.log(residuals["predicted_high"] / residuals["predicted_low"]) / 2,
    )
    return residuals.assign(
        gap_frac=np.expm1(gap),
        gap_low=np.expm1(gap - reach),
        gap_high=np.expm1(gap + reach),
        misses=gap.abs() > reach,
    )


def overlap_sentence(ratios: pd.DataFrame) -> str:
    """Say in how many variants the intervals of log and model overlap.

    Parameters
    ----------
    ratios : DataFrame
        ``low, high, predicted, predicted_low, predicted_high``; NaN where not modelled.

    Returns
    -------
    sentence : str
        Without a full stop.
    """
    modelled = ratios[ratios["predicted"].notna()]
    if modelled.empty:
        return f"{len(ratios)} variants have a ratio; none of them is modelled"
    overlap = (modelled["low"] <= modelled["predicted_high"]) & (
        modelled["high"] >= modelled["predicted_low"]
    )
    return f"Log and model overlap in {overlap.sum()} of {len(modelled)} exercises"


def held_loads(test: CurveTest) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return loads held at known joint angles, and what the three shapes predict.

    Parameters
    ----------
    test : CurveTest
        Whose holds.

    Returns
    -------
    points : DataFrame
        ``variant, base, angle_deg, ratio, low, high``: load held over that held at the
        angle ``base`` most are compared with, of the variant with most; empty without.
    curves : DataFrame
        ``shape, angle_deg, ratio``: medians of the same as modelled.
    """
    if test.comparison is None:
        return test.direct.head(0), test.direct.head(0)
    base = [setup.hold[1] if setup.hold else np.nan for setup in test.setups]
    held = test.residuals.assign(base=base).dropna(subset=["base"])
    if held.empty:
        return held, held
    name = str(held["variant"].mode()[0])
    held = held[held["variant"] == name]
    at = float(held["base"].mode()[0])
    points = held[held["base"] == at].rename(columns={"range_from_deg": "angle_deg"})
    first, last = load_catalogue().variants[name].model.joint.curve_deg
    grid = [float(angle) for angle in np.arange(first, last + 1, 5)]
    parts = []
    for shape in SHAPES:
        draws = log_ratio_draws(
            [(name, (angle, angle)) for angle in grid],
            reference=(name, (at, at)),
            shape=shape,
            n_draws=N_DRAWS,
        )
        middle = np.exp(np.median(draws, axis=0))
        parts.append(pd.DataFrame({"shape": shape, "angle_deg": grid, "ratio": middle}))
    return points, pd.concat(parts, ignore_index=True)


def nearest_shape(points: pd.DataFrame, curves: pd.DataFrame) -> str:
    """Name the shape whose curve held loads miss least, as a ratio.

    Parameters
    ----------
    points, curves : DataFrame
        Of :func:`held_loads`.

    Returns
    -------
    shape : str
    """
    miss = {
        shape: np.abs(
            np.log(np.interp(points["angle_deg"], own["angle_deg"], own["ratio"]))
            - np.log(points["ratio"])
        ).mean()
        for shape, own in curves.groupby("shape")
    }
    return str(min(miss, key=miss.__getitem__))
