"""How much the biceps changes length through pulls and curls."""

from __future__ import annotations

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.catalogue.pulls import load_pulls
from analytics.mechanics.curves import Floats
from analytics.mechanics.elbow.muscles import Muscle, muscle_set
from analytics.mechanics.pulls.path import LAST_ELBOW_DEG, PROGRESS

MUSCLES = ("biceps_long", "biceps_short")
CURL = "standing_barbell_curl"
HELD = "upper arm held at the side"


def _paths() -> dict[str, tuple[Floats, Floats, float]]:
    """Elbow, shoulder and forearm of both curls and of every pull that bends."""
    elbow = np.linspace(0, LAST_ELBOW_DEG, len(PROGRESS))
    curl = load_catalogue().variants[CURL].model
    paths = {
        HELD: (elbow, np.zeros_like(elbow), curl.rotation_deg),
        CURL: (elbow, curl.shoulder_deg(elbow), curl.rotation_deg),
    }
    for name, pull in load_pulls().items():
        bent, shoulder, _ = pull.posture_deg(PROGRESS)
        if np.ptp(bent) > 0:
            paths[name] = (bent, shoulder, pull.rotation_deg)
    return paths


def _muscles() -> list[tuple[str, Muscle]]:
    return [
        (name, muscle)
        for name in load_catalogue().joints["elbow"].muscle_sets
        for muscle in muscle_set(name)
        if muscle.name in MUSCLES
    ]


def _lengths(muscle: Muscle, elbow: Floats, shoulder: Floats, turn: float) -> Floats:
    """Muscle-tendon length over optimal fibre length; held beyond the tables."""
    last = load_catalogue().joints["elbow"].shoulder_deg[1]
    stretch = muscle.stretch(elbow, np.minimum(shoulder, last), turn)
    return stretch + muscle.slack_m / muscle.optimal_m


def length_table() -> pd.DataFrame:
    """Change of the biceps' length through curls and pulls.

    Returns
    -------
    table : DataFrame
        One row per variant, muscle set and head: ``variant, muscles, head``;
        ``change`` from longest to shortest on the way, over optimal fibre length;
        ``of_held`` and ``of_curl``, that over the same of a curl with the upper arm
        held and of the standing curl, over the same elbow angles. [1]
    """
    rows, paths = [], _paths()
    for name, (elbow, shoulder, turn) in paths.items():
        for source, muscle in _muscles():
            change = np.ptp(_lengths(muscle, elbow, shoulder, turn))
            row: dict[str, object] = {"variant": name, "muscles": source}
            row |= {"head": muscle.name, "change": change}
            for column, other in (("of_held", HELD), ("of_curl", CURL)):
                curl_turn = paths[other][2]
                theirs = np.interp(elbow, *paths[other][:2])
                row[column] = change / np.ptp(
                    _lengths(muscle, elbow, theirs, curl_turn)
                )
            rows.append(row)
    return pd.DataFrame(rows)


def length_map(*, step_deg: float = 5.0) -> pd.DataFrame:
    """Length of the long head over both joints, as the printed equations give it.

    Parameters
    ----------
    step_deg : float
        Of the grid. [deg]

    Returns
    -------
    grid : DataFrame
        ``elbow_deg, shoulder_deg, length``, the last in optimal fibre lengths from
        that at elbow 90 and shoulder 0. [1]
    """
    elbow, shoulder = np.meshgrid(
        np.arange(0, LAST_ELBOW_DEG, step_deg), np.arange(-40, 180, step_deg)
    )
    _, muscle = _muscles()[0]
    length = _lengths(muscle, elbow, shoulder, 0.0)
    zero = _lengths(muscle, np.array(90.0), np.array(0.0), 0.0)
    return pd.DataFrame(
        {
            "elbow_deg": elbow.ravel(),
            "shoulder_deg": shoulder.ravel(),
            "length": (length - zero).ravel(),
        }
    )


def length_paths(variants: tuple[str, ...] = ()) -> pd.DataFrame:
    """Ways of curl and pulls over both joints, and the long head's length there.

    Parameters
    ----------
    variants : tuple of str
        Only these pulls beside the standing curl; all without.

    Returns
    -------
    paths : DataFrame
        ``variant, progress, elbow_deg, shoulder_deg, length`` as in `length_map`.
    """
    _, muscle = _muscles()[0]
    parts = []
    for name, (elbow, shoulder, turn) in _paths().items():
        if name == HELD or (variants and name not in (CURL, *variants)):
            continue
        zero = _lengths(muscle, np.array(90.0), np.array(0.0), turn)
        length = _lengths(muscle, elbow, shoulder, turn) - zero
        parts.append(
            pd.DataFrame(
                {
                    "variant": name,
                    "progress": PROGRESS,
                    "elbow_deg": elbow,
                    "shoulder_deg": shoulder,
                    "length": length,
                }
            )
        )
    return pd.concat(parts, ignore_index=True)
