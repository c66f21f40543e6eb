"""Failure angles of a log as direct points: a known moment at a known joint angle."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import load_catalogue
from analytics.evidence.setups import modelled_setups, ratios_of, reference_label
from analytics.evidence.spread import HELD, PULLED, log_sd, model_sds, setup_cov
from analytics.evidence.sticking import READING_SD_DEG, SHARED_SD_DEG
from analytics.mechanics import demand
from analytics.strength import StrengthFit

Array = NDArray[np.float64]

COLUMNS = ["setup", "variant", "elbow_deg", "sd_deg", "moment_nm", "n"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FailurePoints:
    """One point for each setup whose failure angle was noted.

    Attributes
    ----------
    table : DataFrame
        ``setup, variant, elbow_deg, sd_deg, moment_nm, n``: mean angle of ``n``
        failed sets, and the moment the fresh elbow just gives there.
    cov : ndarray, shape (n_setups, n_setups)
        Covariance of the log moments, which share an unknown level. [1]
    """

    table: pd.DataFrame
    cov: Array


def failure_points(fit: StrengthFit, *, lifter: str | None = None) -> FailurePoints:
    r"""Turn failure angles into moments at known angles.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement; ``holds`` carries the failed sets with an angle.
    lifter : str or None
        One lifter's angles and ratios; everyone's without it.

    Returns
    -------
    points : FailurePoints
        Without rows where no angle was noted.

    Notes
    -----
    A set fails where demand meets what is left of capability. What fatigue took is
    taken as the same share at every angle; it is what turns the load of that set into
    the strength it points at. So the fresh elbow gives, at the failure angle,

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
    modelled = modelled_setups(fit)
    reference = reference_label(fit, modelled)
    noted = _noted(fit.holds, lifter)
    if reference is None or noted.empty:
        return nothing
    labels, ratio, ratio_cov = ratios_of(fit, lifter)
    place = {name: i for i, name in enumerate((*labels, reference))}
    log_ratio, cov = np.append(ratio, 0.0), np.pad(ratio_cov, (0, 1))
    setups, variants = fit.setups.set_index("setup"), load_catalogue().variants
    turned = variants[setups.at[reference, "variant"]].model.rotation_deg
    noted["variant"] = noted["setup"].map(setups["variant"])
    noted = noted[
        noted["setup"].isin(set(modelled) & set(place))
        & (
            noted["variant"].map(
                lambda v: v in variants and variants[v].model.rotation_deg
            )
            == turned
        )
    ]
    at = noted["setup"].map(place).to_numpy(dtype=int)
    load_kg = _reference_kg(fit, reference, lifter) * np.exp(log_ratio[at])
    logs = np.stack([_log_demand(noted, load_kg, shift) for shift in (-1.0, 0.0, 1.0)])
    known = np.isfinite(logs).all(axis=0)
    noted = noted[known].assign(moment_nm=np.exp(logs[1, known]))
    kinds = [variants[v] for v in noted["variant"]]
    between = setup_cov(
        noted["variant"].tolist(),
        [v.model.support in HELD for v in kinds],
        [v.implement in PULLED for v in kinds],
        np.abs(logs[2] - logs[0])[known] / 2,
        model_sd=model_sds()[0],
    )
    names = noted["variant"].to_numpy(dtype=str)
    posture = log_sd("posture") ** 2 * (names[:, None] == names)
    at = at[known]
    return FailurePoints(
        table=noted.reset_index(drop=True)[COLUMNS],
        cov=cov[np.ix_(at, at)] + between + posture,
    )


def _noted(holds: pd.DataFrame, lifter: str | None) -> pd.DataFrame:
    """Mean failure angle per setup, every lifter counting once, and its spread."""
    rows = holds[(holds["kind"] == "failure") & holds["angle_deg"].between(1, 139)]
    if lifter is not None:
        rows = rows[rows["lifter"] == lifter]
    means = rows.groupby(["setup", "lifter"], sort=False)["angle_deg"].mean()
    table = means.groupby("setup", sort=False).agg(["mean", "count"]).reset_index()
    count = rows.groupby("setup", sort=False)["angle_deg"].size()
    readings = table["setup"].map(count) if lifter is not None else table["count"]
    spread = np.hypot(READING_SD_DEG / np.sqrt(readings), SHARED_SD_DEG["logged"])
    return pd.DataFrame(
        {
            "setup": table["setup"],
            "elbow_deg": table["mean"],
            "sd_deg": spread,
            "n": table["setup"].map(count),
        }
    )


def _log_demand(noted: pd.DataFrame, load_kg: Array, shift: float) -> Array:
    """Log demand so many spreads from each failure angle, NaN where there is none."""
    angle = (noted["elbow_deg"] + shift * noted["sd_deg"]).clip(0.0, 140.0)
    moment = [
        float(demand(at, variant=variant, load_kg=kg))
        for at, variant, kg in zip(angle, noted["variant"], load_kg, strict=True)
    ]
    return np.log([m if m > 0 else np.nan for m in moment])


def _reference_kg(fit: StrengthFit, reference: str, lifter: str | None) -> float:
    """Typical strength in the reference, per working arm; only its order matters."""
    rows = fit.trend[fit.trend["setup"] == reference]
    if lifter is not None and (rows["lifter"] == lifter).any():
        rows = rows[rows["lifter"] == lifter]
    arms = fit.setups.set_index("setup").at[reference, "arms_share"]
    return float(np.exp(np.log(rows["strength_kg"]).mean()) / arms)
