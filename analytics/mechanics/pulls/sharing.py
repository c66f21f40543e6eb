r"""How the flexors may share a moment that does not need them all.

One moment, several muscles: what each gives is not determined. The least and most are
the ends of a linear programme; criteria of least effort choose one point between.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import load_catalogue, make_body
from analytics.catalogue.pulls import load_pulls
from analytics.errors import InputError
from analytics.mechanics.curves import CURVES, Floats
from analytics.mechanics.elbow.load_arms import load_arms
from analytics.mechanics.elbow.muscles import muscle_set
from analytics.mechanics.joints import find_variant
from analytics.mechanics.pulls.path import PROGRESS, asked
from analytics.units import STANDARD_GRAVITY_M_PER_S2

CRITERIA = {"squared": 2.0, "cubed": 3.0}  # power of the activation that is summed
_HALVINGS = 200


def ends(most_nm: Floats, moment_nm: float) -> tuple[Floats, Floats]:
    r"""Least and most that each muscle can give of a moment.

    Parameters
    ----------
    most_nm : ndarray, shape (n_muscles,)
        What each gives fully active. [N m]
    moment_nm : float
        What all give together. [N m]

    Returns
    -------
    least_nm, most_nm : ndarray, shape (n_muscles,)
        [N m]

    Raises
    ------
    InputError
        If they cannot give it.

    Notes
    -----
    Of the programme :math:`\sum_i T_i a_i = M, 0 \le a_i \le 1` with one equation the
    ends are :math:`\max(0, M - \sum_{k \ne i} T_k)` and :math:`\min(T_i, M)`.
    """
    most = _checked(most_nm, moment_nm)
    others = most.sum() - most
    return np.maximum(moment_nm - others, 0.0), np.minimum(most, moment_nm)


def least_effort(most_nm: Floats, moment_nm: float, *, power: float) -> Floats:
    r"""Moments with the least sum of a power of the activations.

    Parameters
    ----------
    most_nm : ndarray, shape (n_muscles,)
        What each gives fully active. [N m]
    moment_nm : float
        What all give together. [N m]
    power : float
        Above 1.

    Returns
    -------
    given_nm : ndarray, shape (n_muscles,)
        [N m]

    Raises
    ------
    InputError
        If they cannot give it.

    Notes
    -----
    The least sum, of multiplier :math:`\lambda`, has
    :math:`a_i = \min(1, (\lambda T_i)^{1/(p-1)})`, found by halving its logarithm.
    """
    most = _checked(most_nm, moment_nm)
    if moment_nm == 0:
        return np.zeros_like(most)
    relative = most / most.max()

    def active(log_multiplier: float) -> Floats:
        logs = (log_multiplier + np.log(np.maximum(relative, 1e-300))) / (power - 1)
        return np.asarray(np.exp(np.minimum(logs, 0.0)))

    low, high = -700.0, 700.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if active(middle) @ most < moment_nm:
            low = middle
        else:
            high = middle
    return active(high) * most


def _checked(most_nm: Floats, moment_nm: float) -> Floats:
    most = np.asarray(most_nm, dtype=float)
    if np.any(most < 0):
        raise InputError(f"most_nm must be 0 or more, got {most.min():g}")
    if not 0 <= moment_nm <= most.sum():
        raise InputError(
            f"moment_nm must be from 0 to {most.sum():.4g}, what all muscles give "
            f"together, got {moment_nm:g}"
        )
    return most


def muscles_at(
    elbow_deg: float, *, shoulder_deg: float, rotation_deg: float, muscles: str
) -> tuple[list[str], Floats, float]:
    """Name the flexors at a posture, and give what each can and what stretch gives.

    Parameters
    ----------
    elbow_deg, shoulder_deg, rotation_deg : float
        Posture; the shoulder held beyond the tables. [deg]
    muscles : str
        Muscle set.

    Returns
    -------
    names : list of str
        Muscles.
    active_nm : ndarray, shape (n_muscles,)
        Fully active, by the first published curve. [N m]
    passive_nm : float
        Of all, at rest. [N m]
    """
    last = load_catalogue().joints["elbow"].shoulder_deg[1]
    names, active, passive = [], [], 0.0
    for muscle in muscle_set(muscles):
        balance = muscle.balance(CURVES[0])
        stretch = muscle.stretch(elbow_deg, min(shoulder_deg, last), rotation_deg)
        force = muscle.peak_force_n * float(
            muscle.moment_arm_m(elbow_deg, rotation_deg)
        )
        names.append(muscle.name)
        active.append(force * np.interp(stretch, balance.stretch, balance.active))
        passive += force * float(np.interp(stretch, balance.stretch, balance.passive))
    return names, np.maximum(np.array(active), 0.0), passive


def sharing(variant: str, *, muscles: str, load_frac: float = 0.5) -> pd.DataFrame:
    """Least, most and least-effort share of each flexor in a curl or pull.

    Parameters
    ----------
    variant : str
        Curl or pull of the catalogue.
    muscles : str
        Muscle set.
    load_frac : float
        Of what the flexors can give where they are asked most, from 0 to 1. [1]

    Returns
    -------
    shares : DataFrame
        One row per muscle: ``muscle, biggest, can, least, most, squared, cubed`` of the
        moment asked, ``can`` its share of what all can give; and ``elbow_deg,
        shoulder_deg`` of the posture. [1]

    Raises
    ------
    InputError
        If the variant is neither, or ``load_frac`` is out of range.
    """
    if not 0 < load_frac <= 1:
        raise InputError(f"load_frac must be above 0 and at most 1, got {load_frac:g}")
    elbow, shoulder, rotation = _hardest(variant, muscles)
    names, active, _ = muscles_at(
        elbow, shoulder_deg=shoulder, rotation_deg=rotation, muscles=muscles
    )
    moment = load_frac * active.sum()
    least, most = ends(active, moment)
    effort = {
        name: least_effort(active, moment, power=power) / moment
        for name, power in CRITERIA.items()
    }
    return pd.DataFrame(
        {
            "variant": variant,
            "muscle": names,
            "biggest": active == active.max(),
            "can": active / active.sum(),
            "least": least / moment,
            "most": most / moment,
            **effort,
            "elbow_deg": elbow,
            "shoulder_deg": shoulder,
        }
    )


def _hardest(variant: str, muscles: str) -> tuple[float, float, float]:
    """Posture in which the flexors are asked most of what they can give."""
    body, pulls = make_body(), load_pulls()
    if variant in pulls:
        pull = pulls[variant]
        posture = asked(pull, body=body)
        elbow, shoulder = posture.elbow_deg, posture.shoulder_deg
        load_arm, rotation = posture.load_arm_m[1], pull.rotation_deg
    else:
        model = find_variant(variant).model
        elbow = model.range_deg[0] + PROGRESS * np.ptp(model.range_deg)
        shoulder, rotation = model.shoulder_deg(elbow), model.rotation_deg
        load_arm, _ = load_arms(elbow, model=model, body=body)
    able: NDArray[np.float64] = np.array(
        [
            muscles_at(e, shoulder_deg=s, rotation_deg=rotation, muscles=muscles)[
                1
            ].sum()
            for e, s in zip(elbow, shoulder, strict=True)
        ]
    )
    at = int(np.argmax(STANDARD_GRAVITY_M_PER_S2 * load_arm / able))
    return float(elbow[at]), float(shoulder[at]), rotation


def takes_over() -> str:
    """Say whether the biggest muscle takes over, for model and measured activity.

    Returns
    -------
    sentences : str
    """
    parts = [
        sharing(variant, muscles=name, load_frac=0.5)
        for variant in ("standing_barbell_curl", *load_pulls())
        for name in load_catalogue().joints["elbow"].muscle_sets
    ]
    biggest = pd.concat(parts).query("biggest")
    table = load_catalogue().tables["pull_activity"]
    measured = ", ".join(
        f"{family} {low:.0%} to {high:.0%}"
        for family, low, high in zip(
            table.columns["family"],
            table.numbers("low"),
            table.numbers("high"),
            strict=True,
        )
    )
    criteria = biggest[list(CRITERIA)]
    return (
        "At half of what the flexors can give, the muscle that can give most carries "
        f"{biggest['least'].min():.0%} to {biggest['most'].max():.0%} of the moment as "
        "far as balance alone decides: nearly all, or none. Least effort gives it "
        f"{criteria.min().min():.0%} to {criteria.max().max():.0%}, where its share "
        f"at full effort is {biggest['can'].min():.0%} to {biggest['can'].max():.0%}: "
        "more than its part, never all. Measured activity in weighted pull-ups "
        f"({measured} of a maximal hold; low trust, and no force) does not show it "
        "taking over either: there the smaller muscle was the more active."
    )
