"""Another elbow: predicted ratios written apart from the package, for simulations.

One fixed set of muscles and one curve, so its truth is never one of the package's
own parameter draws. Arms of biceps and brachialis, biceps lengths and most parameters
are those of the Arm26 model file (CC BY 3.0); the arm of the brachioradialis is the
equation of Ramsay et al. 2009, its force and fibre rounded values of our own. Active
curve Thelen 2003 (width 0.45). Postures are common practice. Passive force and
pennation are left out.
"""

import numpy as np

ELBOW = np.arange(0, 131, 10.0)
# Moment arms, mm, supinated, elbow 0 to 130 by 10.
ARM_MM = {
    path: [float(value) for value in row.split()]
    for path, row in {
        "biceps": "9.4 15.3 21 26.5 31.6 36.3 40.5 44.1 46.9 48.8 49.4 48.5 45.6 40.3",
        "brachialis": "15.3 14.4 13.7 13.1 12.6 13.9 16.7 19.1 21.2 22.7 23.7 24 23.5 "
        "22.3",
        "brachioradialis": "15.3 14.5 16 19.4 24.2 30.1 36.5 43.1 49.4 54.9 59.4 62.2 "
        "63.1 61.5",
    }.items()
}
SHOULDER = np.arange(-45, 91, 15.0)
LONG_MM = [390.2, 384.8, 379.3, 373.7, 368.2, 363.0, 357.2, 353.9, 352.1, 352.3]
SHORT_MM = [309.2, 301.0, 294.5, 290.8, 290.8, 294.6, 301.2, 309.3, 318.1, 326.7]
# path, peak force N, optimal length m, normalised length at elbow 90, shoulder 0,
# biceps lengths over the shoulder
MUSCLES = [
    ("biceps", 624.3, 0.1157, 0.85, LONG_MM),
    ("biceps", 435.6, 0.1321, 0.77, SHORT_MM),
    ("brachialis", 987.26, 0.0858, 0.80, None),
    ("brachioradialis", 270.0, 0.17, 0.87, None),
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
    load_arm = np.sin(np.radians(shoulder - trunk + elbow))
    # forearm 0.351 m, forearm and hand 1.65 kg at 0.174 m (Winter, 75 kg, 1.75 m)
    holds = (
        moment(elbow, shoulder, shape, width) / 9.81 - 1.65 * 0.174 * load_arm
    ) / 0.351
    return np.min(holds[load_arm > 0.05] / load_arm[load_arm > 0.05], initial=np.inf)


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
