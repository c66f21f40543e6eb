"""Invented tables, one for each kind of figure."""

from dataclasses import replace

import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.evidence import gaps
from analytics.mechanics import make_body, side_view

ELBOW = load_catalogue().joints["elbow"]
CURL = load_catalogue().variants["standing_barbell_curl"]
DAYS = pd.to_datetime(["2025-01-06", "2025-01-13", "2025-01-20", "2025-01-27"])
TREND = pd.DataFrame(
    {
        "lifter": "R07",
        "setup": "standing_barbell_curl",
        "date": DAYS,
        "reps": 1,
        "basis": "reported effort",
        "strength_kg": [38.0, 38.6, 39.1, 40.2],
        "low_kg": [36.0, 36.9, 37.5, 38.4],
        "high_kg": [40.1, 40.4, 40.8, 42.1],
    }
)
BANDS = pd.DataFrame(
    {
        "population": ["men"] * 4 + ["women"] * 4,
        "drawn": ["before", "before", "after", "after"] * 2,
        "elbow_deg": [60.0, 105.0] * 4,
        "low": [1.0, 0.5, 1.0, 0.7] * 2,
        "middle": [1.0, 0.9, 1.0, 0.8] * 2,
        "high": [1.0, 1.2, 1.0, 0.9] * 2,
    }
)
MEASURED = pd.DataFrame(
    {
        "population": ["men", "women"],
        "elbow_deg": 105.0,
        "middle": [0.8, 1.0],
        "low": [0.7, 0.85],
        "high": [0.93, 1.18],
        "source": "tsunoda_1993",
    }
)
POINTS = pd.DataFrame(
    {
        "date": DAYS,
        "kind": ["failure", "rir", "unreported", "flagged"],
        "load_kg": [30.0, 22.5, 22.5, 30.0],
        "done": ["8, to failure", "10, 2 in reserve", "10", "6 s held"],
        "implied_kg": [38.2, 37.9, 36.0, 41.0],
        "expected_kg": [38.0, 38.6, 39.1, 40.2],
        "z": [0.1, -0.4, -1.0, 6.2],
    }
)
BY_REPETITIONS = pd.DataFrame(
    {
        "reps": [1, 2, 3],
        "strength_kg": [40.2, 38.9, 37.6],
        "low_kg": [38.4, 37.7, 36.3],
        "high_kg": [42.1, 40.1, 39.0],
        "width_frac": [0.046, 0.031, 0.036],
        "narrowest": [False, True, False],
    }
)
BATTERY = pd.DataFrame(
    {
        "plan": ["3x8", "3x8", "singles", "all", "all"],
        "quantity": [
            "strength at 1",
            "ratio",
            "strength at 1",
            "strength at 1",
            "ratio",
        ],
        "covered": [0.88, 0.9, 0.92, 0.9, 0.9],
        "bias": [0.01, 0.0, 0.0, 0.005, 0.0],
        "error": [0.05, 0.01, 0.02, 0.04, 0.01],
        "naive_error": [0.05, 0.02, 0.03, 0.042, 0.02],
        "n": [100, 20, 100, 200, 20],
    }
)
RELATION = pd.DataFrame(
    {
        "reps": [1, 2, 3],
        "share_frac": [1.0, 0.968, 0.9375],
        "low_frac": [1.0, 0.962, 0.926],
        "high_frac": [1.0, 0.972, 0.946],
    }
)
RATIOS = pd.DataFrame(
    {
        "setup": ["standing_barbell_curl", "preacher_curl_45", "chin_up"],
        "reference": "standing_barbell_curl",
        "ratio": [1.0, 0.82, 1.9],
        "low": [1.0, 0.78, 1.7],
        "high": [1.0, 0.86, 2.1],
        "reps": [10, 9, 8],
        "predicted": [1.0, 0.88, float("nan")],
        "predicted_low": [1.0, 0.84, float("nan")],
        "predicted_high": [1.0, 0.93, float("nan")],
    }
)
PERSONAL = pd.DataFrame(
    {
        "lifter": "R07",
        "setup": ["preacher_curl_45", "chin_up"],
        "ratio": [0.85, 1.8],
        "low": [0.8, 1.6],
        "high": [0.9, 2.0],
        "own_ratio": [0.9, float("nan")],
        "cohort_ratio": [0.82, 1.9],
        "shrinkage": [0.6, 1.0],
        "sets": [12, 0],
    }
)
CURVE = pd.DataFrame(
    {
        "elbow_deg": [30.0, 60.0, 90.0, 120.0],
        "demand_nm": [30.0, 50.0, 58.0, 45.0],
        "capability_nm": [55.0, 70.0, 72.0, 50.0],
        "capability_low_nm": [45.0, 60.0, 61.0, 40.0],
        "capability_high_nm": [66.0, 81.0, 84.0, 61.0],
        "utilisation": [0.55, 0.71, 0.81, 0.9],
        "utilisation_low": [0.45, 0.6, 0.7, 0.8],
        "utilisation_high": [0.65, 0.8, 0.9, 1.1],
    }
)
STICKING = pd.DataFrame(
    {
        "variant": "standing_barbell_curl",
        "source": ["modelled", "logged", "traced"],
        "range_from_deg": 0.0,
        "range_to_deg": 140.0,
        "limit_load_ratio": 1.0,
        "elbow_deg": [90.0, 85.0, 88.0],
        "low_deg": [70.0, 78.0, 80.0],
        "high_deg": [110.0, 93.0, 97.0],
        "evenness": [0.8, float("nan"), float("nan")],
        "sentence": "Hardest near 90°",
        "n": [0, 12, 5],
        "event": ["stall", "stall", "slowest"],
    }
)
RESIDUALS = gaps(RATIOS.iloc[:2].assign(informative=[False, True]))
REP = pd.DataFrame(
    {
        "load": ["10 kg"] * 3 + ["20 kg"] * 3,
        "order": [0, 1, 2] * 2,
        "elbow_deg": [10.0, 80.0, 140.0, 10.0, 60.0, 82.0],
        "velocity_deg_per_s": [0.0, 150.0, 90.0, 0.0, 40.0, 0.0],
    }
)
REPS = pd.DataFrame(
    {
        "load": ["10 kg", "20 kg"],
        "completed": [True, False],
        "stalled_deg": [float("nan"), 82.0],
        "sticking_from_deg": [40.0, float("nan")],
        "slowest_deg": [85.0, float("nan")],
    }
)
SPANS = pd.DataFrame(
    {
        "variant": "preacher_curl_45",
        "zone": ["ascending", "plateau"],
        "shortest": [0.6, 0.85],
        "longest": [0.85, 1.1],
        "from_deg": [90.0, 20.0],
        "to_deg": [120.0, 89.0],
    }
)
REGIONS = pd.DataFrame(
    {
        "elbow_deg": [0.0, 5.0] * 2,
        "shoulder_deg": [0.0, 0.0, 7.5, 7.5],
        "fibre_length": [1.2, 1.1, 1.1, 1.0],
        "active": [0.8, 0.9, 0.9, 1.0],
        "zone": ["descending", "plateau", "plateau", "plateau"],
    }
)
MOVED = pd.DataFrame(
    {
        "parameter": ["grip_distance", "posture_deg"],
        "structure": False,
        "limit_load_ratio_low": [0.97, 0.9],
        "limit_load_ratio_high": [1.03, 1.1],
        "sticking_low_deg": [52.0, 50.0],
        "sticking_high_deg": [53.0, 80.0],
        "evenness_low": [0.7, 0.6],
        "evenness_high": [0.7, 0.8],
    }
)
LEANS = pd.DataFrame(
    {
        "stance": ["parallel", "split"] * 2,
        "load_kg": [10.0, 10.0, 40.0, 40.0],
        "lean_deg": [0.0, 0.0, 3.0, 0.0],
        "largest_load_kg": [18.0, 126.0] * 2,
    }
)
TRACE = pd.DataFrame(
    {
        "time_s": [0.0, 0.1, 0.2],
        "elbow_deg": [10.0, 20.0, 40.0],
        "elbow_deg_per_s": [0.0, 120.0, 90.0],
        "rep": [1, 1, 1],
        "event": ["start", "peak1", "low"],
    }
)
BODY = pd.DataFrame(
    {
        "part": ["leg", "leg", "load"],
        "order": [0, 1, 0],
        "x_m": [0.0, 0.0, 0.4],
        "y_m": [0.0, 0.9, 1.1],
    }
)
BASE = pd.DataFrame(
    {
        "stance": ["parallel"],
        "base_back_m": [-0.05],
        "base_front_m": [0.19],
        "centre_of_mass_m": [0.11],
    }
)
WEIGHTS = pd.DataFrame(
    {
        "shape": ["peaked", "flat", "inverted", "rising", "falling"],
        "weight": [0.7, 0.2, 0.02, 0.05, 0.03],
    }
)
LEFT_OUT = pd.DataFrame(
    {
        "setup": ["preacher_curl_45", "all"],
        "error_model": [0.03, 0.03],
        "error_same_load": [0.2, 0.2],
        "error_cohort_mean": [0.05, float("nan")],
    }
)
POWER = pd.DataFrame(
    {"truth": ["peaked", "flat"], "sets": [100, 100], "agrees": [0.6, 0.03]}
)
DIRECT = pd.DataFrame(
    {
        "variant": "standing_barbell_curl",
        "base": 90.0,
        "angle_deg": [40.0, 110.0],
        "ratio": [0.7, 1.0],
        "low": [0.6, 0.9],
        "high": [0.8, 1.1],
    }
)
RIVALS = pd.DataFrame(
    {"shape": ["peaked", "flat"], "angle_deg": [90, 90], "ratio": [1.0, 0.9]}
)
SETUPS = pd.DataFrame(
    {
        "setting": ["pulley height"] * 2,
        "value": [0.2, 0.4],
        "evenness": [0.71, 0.84],
        "sticking_deg": [80, 95],
        "limit_load_ratio": [1.1, 1.0],
    }
)

SHARES = pd.DataFrame(
    {
        "elbow_deg": [20, 20, 80, 80],
        "family": ["biceps", "brachialis"] * 2,
        "share_frac": [0.6, 0.4, 0.5, 0.5],
        "mean_frac": [0.55, 0.45] * 2,
    }
)
WEEKLY = pd.DataFrame(
    {
        "week": DAYS,
        "direct": [6, 8, 7, 9],
        "indirect": [4, 4, 5, 3],
        "effort_unknown": 1,
    }
)
GIRTH = pd.DataFrame({"measured_on": DAYS, "arm_girth_m": [0.34, 0.341, 0.343, 0.344]})
LEAN = pd.DataFrame(
    {
        "performed_on": DAYS[:3],
        "load_kg": [22.5, 30.0, 32.5],
        "done": ["10, 2 in reserve", "8", "6, to failure"],
        "relative_load": [0.6, 0.8, 0.9],
        "lean_deg": [0.0, 2.0, 8.0],
        "stance": ["parallel", "", "split"],
        "cheat": [False, False, True],
    }
)

PULLED = pd.DataFrame(
    {
        "variant": ["Chin-up", "Barbell curl"],
        "work": ["pull", "curl"],
        "share": [0.6, 0.8],
        "low": [0.4, 0.6],
        "high": [0.8, 0.9],
        "sets_a_week": [3.0, 6.0],
    }
)
MOMENTS = pd.DataFrame(
    {
        "joint": ["elbow flexors"] * 2 + ["shoulder extensors"] * 2,
        "progress": [0.0, 1.0] * 2,
        "elbow_deg": [5.0, 120.0] * 2,
        "moment_nm": [0.0, 60.0, 5.0, 40.0],
        "moment_low_nm": [-5.0, 40.0, 0.0, 30.0],
        "moment_high_nm": [5.0, 70.0, 10.0, 50.0],
    }
)
SHARED = pd.DataFrame(
    {
        "muscle": ["biceps", "brachialis"],
        "least": [0.0, 0.3],
        "most": [0.7, 1.0],
        "can": [0.4, 0.6],
        "squared": [0.3, 0.7],
        "cubed": [0.35, 0.65],
    }
)

FAMILIES = pd.DataFrame(
    {
        "label": ["Front over back squat", "Incline over standing curl"],
        "predicted": [1.7, 0.9],
        "low": [1.4, float("nan")],
        "high": [2.0, float("nan")],
        "measured": [0.86, 0.93],
        "misfit": [3.1, -0.4],
        "n": [14, 23],
        "verdict": ["fails", "fits"],
    }
)


def titled_view(variant):
    view = side_view(variant, body=make_body())
    told = view.muscles.assign(title="the muscle", length="too short")
    return replace(view, muscles=told)


VIEW = titled_view(CURL)
ANKLE = load_catalogue().joints["ankle_plantar_flexion"]
