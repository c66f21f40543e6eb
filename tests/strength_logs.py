"""Small logs written down by hand, and one of the battery's plans, for the fit."""

import numpy as np
import pandas as pd

from analytics.strength.model.outcome import outcomes, prior_mean

START = pd.Timestamp("2025-01-06")
CURL = "standing_barbell_curl"
LN_K = np.log(30.0)  # of the published relation


def log(days, reps=8.0, load=20.0, rir=np.nan, lifter="A", **more):
    """One set per day unless told otherwise."""
    n = len(days)
    sets = {
        "lifter": lifter,
        "performed_on": START + pd.to_timedelta(days, unit="D"),
        "variant": CURL,
        "movement": "elbow_flexion",
        "load_kg": load,
        "reps": reps,
        "rir": rir,
        "failed": False,
    }
    out = pd.DataFrame(sets | more, index=range(n))
    return out.assign(set_id=[f"{lifter}{k}" for k in range(n)])


def together(*logs):
    """Several logs as one."""
    return pd.concat(logs, ignore_index=True)


def at_one_station(sets):
    """Sets of the battery, which names equipment by its kind, as from a store."""
    day = pd.to_datetime(sets["performed_on"]).astype("datetime64[us]")
    ids = sets["set_id"].astype(str)
    return sets.assign(equipment="", arms_share=1.0, set_id=ids, performed_on=day)


def measured(sets, *, usual=2.0, tired=0.0):
    """What sets say at the published relation."""
    n = len(sets)
    return outcomes(
        sets,
        prior_mean(np.full(n, LN_K)),
        tired=np.full(n, float(tired)),
        usual=np.full(n, float(usual)),
    )
