"""Another elbow: predicted ratios written apart from the package, for simulations.

One fixed set of muscles and one curve, so its truth is never one of the package's
own parameter draws. Muscle parameters, moment arms and biceps lengths are those of
the MoBL-ARMS model file (Saul et al. 2015, quoted from the file as distributed with
O2MConverter at ad2599d); active curve Thelen 2003 (width 0.45). Postures are common
practice. Passive force and pennation are left out.
"""

import numpy as np

ELBOW = np.arange(0, 131, 10.0)
# Moment arms, mm, supinated, elbow 0 to 130 by 10.
ARM_MM = {
    path: [float(value) for value in row.split()]
    for path, row in {
        "biceps": "14.1 19 23.7 28.1 32 35.4 38.2 40.2 41.2 41 39.5 36.2 31 23.6",
        "brachialis": "10 10.9 11.7 12.3 12.9 13.9 16.7 19.1 21.2 22.7 23.7 24 23.5 "
        "22.3",
        "brachioradialis": "12 12.8 13.7 15.1 24.4 33.4 42.1 50.4 58.1 65.2 71.5 76.9 "
        "81.1 83.8",
    }.items()
}
SHOULDER = np.arange(-45, 91, 15.0)
LONG_MM = [399.9, 392.6, 384.9, 376.9, 375.0, 373.1, 371.3, 369.4, 365.4, 363.3]
SHORT_MM = [320.8, 309.2, 299.4, 294.1, 291.6, 292.0, 295.4, 301.1, 308.5, 316.8]
# path, peak force N, optimal length m, normalised length at elbow 90, shoulder 0,
# biceps lengths over the shoulder
MUSCLES = [
    ("biceps", 525.1, 0.1157, 0.90, LONG_MM),
    ("biceps", 316.8, 0.1321, 0.77, SHORT_MM),
    ("brachialis", 1177.37, 0.0858, 0.80, None),
    ("brachioradialis", 276.0, 0.1726, 0.87, None),
]
# variant: (shoulder at elbow 0-60 and at 140, trunk lean, first, last angle)
POSTURE = {
    "standing_barbell_curl": (0, 35, 0, 0, 140),
    "standing_dumbbell_curl": (0, 35, 0, 0, 140),
    "no_lockout_curl": (0, 35, 0, 30, 120),
    "preacher_curl_0": (15, 15, 15, 10, 120),
    "preacher_curl_30": (45, 45, 15, 10, 120),
    "preacher_curl_45": (60, 60, 15, 10, 120),
    "preacher_curl_60": (75, 75, 15, 10, 120),
    "preacher_curl_90": (105, 105, 15, 10, 120),
    "incline_curl_45": (-45, -35, -45, 0, 130),
    "incline_curl_60": (-30, -20, -30, 0, 130),
    "concentration_curl": (60, 60, 60, 10, 130),
    "prone_incline_curl": (45, 50, 45, 0, 130),
}


def activity(length, shape, width=0.45):
    """Active force by normalised length under one truth about muscles."""
    if shape == "leverage":
        return np.ones_like(length)
    return np.exp(-((length - 1.0) ** 2) / width)


def moment(elbow_deg, shoulder_deg, shape, width=0.45):
    """Elbow flexion moment, N m.

    ``flat``: the same at every posture. ``inverted``: the published one mirrored about
    the middle between its greatest and least, so strongest at the extremes.
    """
    if shape == "flat":
        return np.full_like(np.asarray(elbow_deg, dtype=float), 60.0)
    if shape == "inverted":
        whole = moment(ELBOW, 0 * ELBOW, "peaked", width)
        mirrored = whole.max() + whole.min()
        return np.maximum(
            mirrored - moment(elbow_deg, shoulder_deg, "peaked", width), 5.0
        )
    total = 0.0
    fine = np.arange(0, 141.0)
    for path, force, optimum, at90, over_shoulder in MUSCLES:
        arm = np.interp(fine, ELBOW, ARM_MM[path])
        shortening = np.concatenate(
            [[0], np.cumsum(np.radians((arm[1:] + arm[:-1]) / 2))]
        )
        change = np.interp(90, fine, shortening) - np.interp(
            elbow_deg, fine, shortening
        )
        if over_shoulder is not None:
            here = np.interp(shoulder_deg, SHOULDER, over_shoulder)
            change = change + here - np.interp(0, SHOULDER, over_shoulder)
        length = at90 + change / 1000 / optimum
        total = (
            total
            + force
            * activity(length, shape, width)
            * np.interp(elbow_deg, fine, arm)
            / 1000
        )
    return total


def limit_load(variant, range_deg, shape, width=0.45):
    """Largest load of one arm that passes everywhere in the range, kg."""
    low, high, trunk, first, last = POSTURE[variant]
    first, last = range_deg or (first, last)
    elbow = np.arange(first, last + 1.0)
    shoulder = np.interp(elbow, [60, 140], [low, high])
    lever = np.sin(np.radians(shoulder - trunk + elbow))
    # forearm 0.351 m, forearm and hand 1.65 kg at 0.174 m (Winter, 75 kg, 1.75 m)
    holds = (
        moment(elbow, shoulder, shape, width) / 9.81 - 1.65 * 0.174 * lever
    ) / 0.351
    return np.min(holds[lever > 0.05] / lever[lever > 0.05], initial=np.inf)


def sticking_deg(variant, range_deg, shape, width=0.45):
    """Angle at which that load is hardest."""
    first, last = range_deg or POSTURE[variant][3:]
    angles = np.arange(first, last + 1.0)
    held = [limit_load(variant, (angle, angle), shape, width) for angle in angles]
    return angles[int(np.argmin(held))]


def log_ratios(setups, shape, width=0.45, reference=("standing_barbell_curl", None)):
    """True log ratios of (variant, range) setups to the reference."""
    base = np.log(limit_load(*reference, shape, width))
    return np.array([np.log(limit_load(v, r, shape, width)) - base for v, r in setups])
