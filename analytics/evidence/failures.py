"""Failure angles of a log as direct points: a known moment at a known joint angle."""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import Joint, load_catalogue
from analytics.evidence.spread import (
    log_sd,
    model_sds,
    number,
    setup_cov,
)
from analytics.mechanics import demand
from analytics.ratios import LogRatios

Array = NDArray[np.float64]

COLUMNS = ["setup", "variant", "angle_deg", "sd_deg", "moment_nm", "n"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FailurePoints:
    """One point for each setup whose failure angle was noted.

    Attributes
    ----------
    table : DataFrame
        ``setup, variant, angle_deg, sd_deg, moment_nm, n``: mean angle of ``n``
        failed sets, and the moment the fresh joint just gives there.
    cov : ndarray, shape (n_setups, n_setups)
        Covariance of the log moments, which share an unknown level. [1]
    """

    table: pd.DataFrame
    cov: Array


def failure_points(
    holds: pd.DataFrame,
    setups: pd.DataFrame,
    ratios: LogRatios,
    *,
    reference: str | None,
    reference_kg: float,
    lifter: str | None = None,
) -> FailurePoints:
    r"""Turn failure angles into moments at known angles.

    Parameters
    ----------
    holds : DataFrame
        ``StrengthFit.holds``: rows of kind ``failure`` count.
    setups : DataFrame
        ``variant`` of each setup that has mechanics, by its key.
    ratios : LogRatios
        Of these setups to the reference.
    reference : str or None
        What the ratios refer to; None where it has no mechanics.
    reference_kg : float
        Strength there, per working arm. [kg]
    lifter : str or None
        One lifter's angles; everyone's without it.

    Returns
    -------
    points : FailurePoints
        Without rows where no angle was noted.

    Notes
    -----
    A set fails where demand meets what is left of capability. What fatigue took is
    taken as the same share at every angle; it is what turns the load of that set into
    the strength it points at. So the fresh joint gives, at the failure angle,

    .. math:: \log M_i = \log \tau_i(\theta_i;\; s\, e^{d_i})

    the demand at the strength of the setup: s in the reference, d its log ratio. The
    covariance is that of the ratios, of what differs between variants (`setup_cov`,
    and ``posture`` for muscles that cross the shoulder), and of the angle, at its whole
    effect on demand. That is rather too wide inside a range, where demand touches
    capability and a wrong angle moves the point along the curve. Only variants with
    the forearm turned as in the reference count.

    The points use no muscle model. They do not enter the verdict, whose ratios say
    the same strength already; the angles are tested in `sticking_agreement`.
    """
    nothing = FailurePoints(table=pd.DataFrame(columns=COLUMNS), cov=np.empty((0, 0)))
    if reference is None:
        return nothing
    variants = load_catalogue().variants
    turned = variants[setups.at[reference, "variant"]].model
    ratios = ratios.with_reference(reference)
    noted = _noted(holds, lifter, turned.joint)
    noted = noted[noted["setup"].isin(set(setups.index) & set(ratios.labels))]
    noted = noted.assign(variant=noted["setup"].map(setups["variant"]))
    rotation = noted["variant"].map(lambda v: variants[v].model.rotation_deg)
    noted = noted[rotation == turned.rotation_deg]
    if noted.empty:
        return nothing
    own = ratios.subset(list(noted["setup"]))
    logs = np.stack(
        [
            [
                _log_demand(row, reference_kg * np.exp(one), shift, turned.joint)
                for row, one in zip(noted.itertuples(), own.mean, strict=True)
            ]
            for shift in (-1.0, 0.0, 1.0)
        ]
    )
    known = np.isfinite(logs).all(axis=0)
    noted = noted[known].assign(moment_nm=np.exp(logs[1, known]))
    kinds = [variants[v] for v in noted["variant"]]
    between = setup_cov(
        kinds,
        np.abs(logs[2] - logs[0])[known] / 2,
        model_sd=model_sds()[0],
        lifter=lifter,
    )
    names = noted["variant"].to_numpy(dtype=str)
    posture = log_sd("posture") ** 2 * (names[:, None] == names)
    cov = own.cov[np.ix_(known, known)]
    return FailurePoints(
        table=noted.reset_index(drop=True)[COLUMNS], cov=cov + between + posture
    )


def _noted(holds: pd.DataFrame, lifter: str | None, joint: Joint) -> pd.DataFrame:
    """Mean failure angle per setup, every lifter counting once, and its spread."""
    first, last = joint.grid_deg
    inside = holds["angle_deg"].between(first + 1, last - 1)
    rows = holds[(holds["kind"] == "failure") & inside]
    if lifter is not None:
        rows = rows[rows["lifter"] == lifter]
    means = rows.groupby(["setup", "lifter"], sort=False)["angle_deg"].mean()
    table = means.groupby("setup", sort=False).agg(["mean", "count"]).reset_index()
    count = rows.groupby("setup", sort=False)["angle_deg"].size()
    readings = table["setup"].map(count) if lifter is not None else table["count"]
    one = number("reading", "failure_deg")
    spread = np.hypot(one / np.sqrt(readings), number("reading", "shared_logged_deg"))
    return pd.DataFrame(
        {
            "setup": table["setup"],
            "angle_deg": table["mean"],
            "sd_deg": spread,
            "n": table["setup"].map(count),
        }
    )


def _log_demand(noted: Any, load_kg: float, shift: float, joint: Joint) -> float:
    """Log demand so many spreads from a failure angle, NaN where there is none."""
    angle = np.clip(noted.angle_deg + shift * noted.sd_deg, *joint.grid_deg)
    moment = float(demand(angle, variant=noted.variant, load_kg=load_kg))
    return math.log(moment) if moment > 0 else math.nan
