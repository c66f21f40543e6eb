"""How often the curve test is right: simulated logs of known truth, by size.

``python -m analytics.cli.bench.power`` renews ``power.csv`` and ``information.csv`` of
the evidence, which the method page draws (about 3 minutes).
"""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from analytics.catalogue import load_catalogue
from analytics.cli.bench.ship import ship
from analytics.evidence.comparison import (
    Comparison,
    length_information,
    misfit,
    shape_evidence,
)
from analytics.evidence.predictions import (
    Setup,
    paired_draws,
    spreads_of,
    structures_of,
)
from analytics.evidence.verdict import AGREES, DISAGREES, decide
from analytics.mechanics import LEVERAGE, SHAPES, STRUCTURES

Array = NDArray[np.float64]

REFERENCE: Setup = ("standing_barbell_curl", None)
STARTS: list[Setup] = [
    ("preacher_curl_45", (35.0, 120.0)),
    ("preacher_curl_45", (60.0, 120.0)),
    ("preacher_curl_90", (60.0, 120.0)),
    ("incline_curl_45", (90.0, 130.0)),
    ("standing_barbell_curl", (90.0, 140.0)),
]
HOLDS: list[Setup] = [("preacher_curl_0", (a, a)) for a in (30.0, 60.0, 110.0, 120.0)]
HOLD_BASE: Setup = ("preacher_curl_0", (90.0, 90.0))
SETS_EACH = (2, 4, 8, 16, 32, 64)  # of all lifters together, in every setup
LIFTERS = 12
SET_SD = 0.0525  # session noise 0.034 (open_trial_log), effort and set 0.04 (assumed)
BETWEEN_SD = 0.035  # between lifters, per setup (assumed)
MODEL_DRAWS = 1200
LOGS = 600  # per truth and size, the same number from every muscle set and curve
MODEL_SEED, TRUTH_SEED, NOISE_SEED = 20250106, 20260514, 19


def designs() -> dict[str, tuple[list[Setup], list[Setup]]]:
    """Setups and holds of the simulated logs.

    Returns
    -------
    designs : dict of str to (setups, holds)
        ``variants``: every modelled variant in its own range; ``with holds``: also
        later starts, and holds on a vertical pad at four
        angles against 90 degrees.
    """
    own: list[Setup] = [
        (v, None)
        for v, x in load_catalogue().variants.items()
        if x.modelled and v != REFERENCE[0]
    ]
    return {"variants": (own, []), "with holds": (own + STARTS, HOLDS)}


def _predict(
    setups: list[Setup], holds: list[Setup], *, n_draws: int, seed: int
) -> dict[str, Array]:
    against = [REFERENCE] * len(setups) + [HOLD_BASE] * len(holds)
    return paired_draws(
        setups + holds, against, lifter=None, n_draws=n_draws, seed=seed
    )


def _blank(setups: list[Setup], holds: list[Setup]) -> Comparison:
    """Predictions and unexplained spread, before anything is observed."""
    n = len(setups) + len(holds)
    against = [REFERENCE] * len(setups) + [HOLD_BASE] * len(holds)
    spread, *further = spreads_of(setups + holds, against, np.zeros(n), seed=MODEL_SEED)
    return Comparison(
        labels=tuple(map(str, range(n))),
        observed=np.zeros(n),
        cov=np.zeros((n, n)),
        spread=spread,
        draws=_predict(setups, holds, n_draws=MODEL_DRAWS, seed=MODEL_SEED),
        structures=structures_of(MODEL_DRAWS),
        further=tuple(further),
    )


def setup_information() -> pd.DataFrame:
    """Tell which variants, range starts and holds carry information about length.

    Returns
    -------
    table : DataFrame
        ``variant, range_from_deg, range_to_deg, from_flat, from_inverted,
        from_leverage``: how many spreads the peaked prediction lies from each rival;
        most about muscle length first. A range of one angle is a hold against one at
        90 degrees. [1]
    """
    setups, holds = designs()["with holds"]
    blank = _blank(setups, holds)
    variants = load_catalogue().variants
    every = setups + holds
    own = [variants[v].model.range_deg for v, _ in every]
    spans = [span or mine for (_, span), mine in zip(every, own, strict=True)]
    table = pd.DataFrame(
        {
            "variant": [v for v, _ in every],
            "range_from_deg": [first for first, _ in spans],
            "range_to_deg": [last for _, last in spans],
            "from_flat": length_information(blank, rival="flat")[0],
            "from_inverted": length_information(blank, rival="inverted")[0],
            "from_leverage": length_information(blank, rival=LEVERAGE)[0],
        }
    )
    return table.sort_values("from_leverage", ascending=False, ignore_index=True)


def _sampling(n_setups: int, n_holds: int, sets: int) -> Array:
    """Covariance of log ratios from so many sets in every setup."""
    one = SET_SD**2 / sets + BETWEEN_SD**2 / min(LIFTERS, sets)
    n = n_setups + n_holds
    kind = np.arange(n) >= n_setups
    shared = np.where(kind[:, None] == kind, SET_SD**2 / sets, 0.0)
    return np.asarray(one * np.eye(n) + shared)


def simulate_power(
    *,
    logs: int = LOGS,
    sets_each: tuple[int, ...] = SETS_EACH,
    names: tuple[str, ...] = ("variants", "with holds"),
) -> pd.DataFrame:
    """Share of each verdict over simulated logs.

    Parameters
    ----------
    logs : int
        Per truth and size; a multiple of twice the number of structures.
    sets_each : tuple of int
        Sets in every setup.
    names : tuple of str
        Which of `designs`.

    Returns
    -------
    table : DataFrame
        ``design, truth, curve, sets, logs, agrees, disagrees``; ``curve`` is
        ``all`` or one muscle set and curve of a peaked truth. [1]

    Notes
    -----
    A truth is one parameter draw of its shape (a cohort's mean, another seed than
    the model's), plus the unexplained spread and the sampling noise of the log.
    """
    rows: list[dict[str, object]] = []
    for name in names:
        setups, holds = designs()[name]
        m, n = len(setups), len(setups) + len(holds)
        base = _blank(setups, holds)
        truths = _predict(setups, holds, n_draws=logs, seed=TRUTH_SEED)
        for sets in sets_each:
            rng = np.random.default_rng([NOISE_SEED, sets])
            cov = _sampling(m, len(holds), sets)
            noise = np.linalg.cholesky(cov + base.spread)
            for shape in (*SHAPES, LEVERAGE):
                chance = rng.standard_normal((logs, n)) @ noise.T
                seen = base.at(truths[shape] + chance, cov)
                verdicts = _verdicts(seen, sets=sets * (n + 1))
                rows += _rows(name, shape, sets * (n + 1), verdicts)
    return pd.DataFrame(rows)


def _verdicts(seen: Comparison, *, sets: int) -> NDArray[np.str_]:
    """Give the verdict on each row of what was observed."""
    setups = len(seen.labels)
    p_values = stats.chi2.sf(misfit(seen), setups)
    evidence = np.stack([shape_evidence(seen, shape=s) for s in seen.draws], axis=1)
    return np.array(
        [
            decide(
                dict(zip(seen.draws, row, strict=True)),
                p_value=p_value,
                setups=setups,
                sets=sets,
            )
            for row, p_value in zip(evidence, p_values, strict=True)
        ]
    )


def _rows(
    design: str, truth: str, sets: int, verdicts: NDArray[np.str_]
) -> list[dict[str, object]]:
    parts = {"all": slice(None)}
    if truth == "peaked":
        pairs = zip(STRUCTURES, structures_of(len(verdicts)), strict=True)
        parts |= {" with ".join(names): rows for names, rows in pairs}
    return [
        {
            "design": design,
            "truth": truth,
            "curve": curve,
            "sets": sets,
            "logs": len(verdicts[rows]),
            "agrees": float(np.mean(verdicts[rows] == AGREES)),
            "disagrees": float(np.mean(verdicts[rows] == DISAGREES)),
        }
        for curve, rows in parts.items()
    ]


def main() -> None:
    """Renew the shipped tables."""
    settings = (
        f"{LIFTERS} lifters, set sd {SET_SD}, between lifters {BETWEEN_SD}, "
        f"{MODEL_DRAWS} model draws; seeds: model {MODEL_SEED}, truth {TRUTH_SEED}, "
        f"noise {NOISE_SEED}"
    )
    ship(simulate_power().round(4), "power.csv", settings)
    ship(setup_information().round(2), "information.csv", f"seed {MODEL_SEED}")


if __name__ == "__main__":
    main()
