"""What each uncertain parameter does to the predictions of one variant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from analytics.catalogue import Anchored, Band, Body, Joint, Variant, make_body
from analytics.mechanics.draws import Draws, structures
from analytics.mechanics.joints import joint_model
from analytics.mechanics.limits import Range, asks_nothing, resolve
from analytics.mechanics.maximum import drawn_limits
from analytics.mechanics.start import start_bounds


def _one_at_a_time(joint: Joint, names: Sequence[str], structure: int) -> Draws:
    """Draws that move one parameter by one deviation, down then up; first none."""
    n = 1 + 2 * len(names)
    fixed = {}
    for i, name in enumerate(names):
        z = np.zeros(n, dtype=np.float32)
        z[1 + 2 * i], z[2 + 2 * i] = -1.0, 1.0
        fixed[name] = z
    return Draws(
        n=n,
        seed=None,
        structures=structures(joint),
        blocks=((structure, slice(0, n)),),
        fixed=fixed,
    )


def parameters_of(variant: Variant) -> tuple[str, ...]:
    """Name every parameter a variant's predictions draw.

    Parameters
    ----------
    variant : Variant
        One that is modelled.

    Returns
    -------
    names : tuple of str
        As `Draws` names them.
    """
    model = variant.model
    names = [*joint_model(model.joint).parameters_of(model)]
    names.append(f"posture_deg@{model.path}")
    own = ["arm_deg", "shoulder_deg"]
    if isinstance(model.resistance, Anchored):
        own += ["anchor_forward", "anchor_up"]
    if isinstance(model.resistance, Band):
        own.append("slack")
    names += [name for name in start_bounds() if name != "heavy"]
    return (*names, *(f"{name}@{variant.variant}" for name in own))


def sensitivity(
    variant: str | Variant,
    *,
    range_deg: Range | None = None,
    body: Body | None = None,
) -> pd.DataFrame:
    """How each parameter moves limit load, sticking angle and evenness.

    Parameters
    ----------
    variant : str or Variant
        One that is modelled.
    range_deg : tuple of float or None
        The variant's own when None. [deg]
    body : Body or None
        The default body when None.

    Returns
    -------
    table : DataFrame
        ``parameter, change, limit_load_ratio, sticking_deg, evenness``: values
        after moving one parameter by ``change`` standard deviations, the load
        over that with nothing moved. The first row moves nothing; the last rows
        exchange muscle set and curve.

    Raises
    ------
    InputError
        If the variant or range cannot be used.
    """
    chosen, span = resolve((variant, range_deg))
    joint, names = chosen.model.joint, parameters_of(chosen)
    labels = [("none", 0.0)]
    labels += [(name.split("@")[0], sign) for name in names for sign in (-1.0, 1.0)]
    body = body or make_body()

    def values(draws: Draws) -> tuple[Any, Any, Any]:
        arm = joint_model(joint).drawn(draws, body=body, shape="peaked")
        limits = drawn_limits(arm, [(chosen, span)], details=True)
        one = limits[chosen.variant, span]
        return one.load_kg, one.stall_deg, one.evenness

    parts = [values(_one_at_a_time(joint, names, 0))]
    for i, structure in enumerate(structures(joint)[1:], 1):
        labels.append((" with ".join(structure), np.nan))
        parts.append(values(_one_at_a_time(joint, (), i)))
    load, angle, even = (np.concatenate(column) for column in zip(*parts, strict=True))
    if np.isnan(load[0]):
        raise asks_nothing(chosen, span)
    return pd.DataFrame(
        {
            "parameter": [name for name, _ in labels],
            "change": [sign for _, sign in labels],
            "limit_load_ratio": load / load[0],
            "sticking_deg": angle,
            "evenness": even,
        }
    )


def sensitivity_ends(moved: pd.DataFrame) -> pd.DataFrame:
    """How far each parameter moves the predictions, one row per parameter.

    Parameters
    ----------
    moved : DataFrame
        Of :func:`sensitivity`.

    Returns
    -------
    ends : DataFrame
        ``parameter, structure`` (another muscle set or curve), and ``limit_load_ratio,
        sticking, evenness`` with ``_low, _high``; those of sticking in degrees.
    """
    rows = moved.iloc[1:].assign(structure=moved["change"].isna())
    named = rows.rename(columns={"sticking_deg": "sticking"})
    each = named.groupby(["parameter", "structure"], sort=False)
    ends = each[["limit_load_ratio", "sticking", "evenness"]].agg(["min", "max"])
    ends.columns = [
        f"{name}_{'low' if end == 'min' else 'high'}" + "_deg" * (name == "sticking")
        for name, end in ends.columns
    ]
    return ends.reset_index()
