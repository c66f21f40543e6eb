"""How often the curve test is right: simulated logs of known truth, by size.

``python -m analytics.cli.bench.power`` renews ``power.csv`` and ``information.csv`` of
the evidence, which the method page draws (about 3 minutes).
"""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from analytics.catalogue import Setup, load_catalogue
from analytics.cli.bench.ship import ship
from analytics.evidence.comparison import (
    Comparison,
    length_information,
    misfit,
    shape_evidence,
)
from analytics.evidence.plans import (
    HoldPlan,
    hold_plan,
    simulated_movements,
    simulated_starts,
)
from analytics.evidence.predictions import (
    paired_draws,
    spreads_of,
    structures_of,
)
from analytics.evidence.verdict import AGREES, DISAGREES, decide
from analytics.mechanics import LEVERAGE, SHAPES, structures

Array = NDArray[np.float64]

SETS_EACH = (2, 4, 8, 16, 32, 64)  # of all lifters together, in every setup
LIFTERS = 12
SET_SD = 0.0525  # session noise 0.034 (open_trial_log), effort and set 0.04 (assumed)
BETWEEN_SD = 0.035  # between lifters, per setup (assumed)
MODEL_DRAWS = 1200
LOGS = 600  # per truth and size, the same number from every muscle set and curve
MODEL_SEED, TRUTH_SEED, NOISE_SEED = 20250106, 20260514, 19


@dataclass(frozen=True, slots=True, kw_only=True)
class Design:
    """What one kind of simulated log holds.

    Attributes
    ----------
    movement : str
        Whose variants.
    reference : Setup
        What setups are set against.
    setups : list of Setup
        Variants and ranges.
    plan : HoldPlan or None
        Holds, and what they are set against.
    """

    movement: str
    reference: Setup
    setups: list[Setup]
    plan: HoldPlan | None

    @property
    def every(self) -> list[Setup]:
        """Setups, then holds."""
        return self.setups + (self.plan.holds if self.plan else [])

    @property
    def against(self) -> list[Setup]:
        """What each is set against."""
        base: list[Setup] = [self.plan.base] if self.plan else []
        held = len(self.every) - len(self.setups)
        return [self.reference] * len(self.setups) + base * held


def designs(movement: str) -> dict[str, Design]:
    """Return the simulated logs of one movement.

    Parameters
    ----------
    movement : str
        One of `simulated_movements`.

    Returns
    -------
    designs : dict of str to Design
        ``variants``: every modelled variant in its own range; ``with holds``: also
        later starts, and holds at several angles against one.
    """
    catalogue = load_catalogue()
    reference = str(catalogue.movements[movement].reference)
    own: list[Setup] = [
        Setup(variant=v)
        for v, x in catalogue.variants.items()
        if x.modelled and x.movement == movement and v != reference
    ]
    more = own + simulated_starts(movement)
    plan = hold_plan(movement, simulated=True)
    return {
        name: Design(
            movement=movement,
            reference=Setup(variant=reference),
            setups=setups,
            plan=holds,
        )
        for name, setups, holds in (("variants", own, None), ("with holds", more, plan))
    }


def _predict(design: Design, *, n_draws: int, seed: int) -> dict[str, Array]:
    return paired_draws(
        design.every, design.against, lifter=None, n_draws=n_draws, seed=seed
    )


def _blank(design: Design) -> Comparison:
    """Predictions and unexplained spread, before anything is observed."""
    n = len(design.every)
    spread, *further = spreads_of(
        design.every, design.against, np.zeros(n), seed=MODEL_SEED
    )
    return Comparison(
        labels=tuple(map(str, range(n))),
        observed=np.zeros(n),
        cov=np.zeros((n, n)),
        spread=spread,
        draws=_predict(design, n_draws=MODEL_DRAWS, seed=MODEL_SEED),
        structures=structures_of(MODEL_DRAWS, design.reference.variant),
        further=tuple(further),
    )


def setup_information(movement: str) -> pd.DataFrame:
    """Tell which variants, range starts and holds carry information about length.

    Parameters
    ----------
    movement : str
        One of `simulated_movements`.

    Returns
    -------
    table : DataFrame
        ``variant, range_from_deg, range_to_deg, from_flat, from_inverted,
        from_leverage``: how many spreads the peaked prediction lies from each rival;
        most about muscle length first. A range of one angle is a hold. [1]
    """
    design = designs(movement)["with holds"]
    blank, every = _blank(design), design.every
    variants = load_catalogue().variants
    spans = [s.span or variants[s.variant].model.range_deg for s in every]
    table = pd.DataFrame(
        {
            "variant": [s.variant for s in every],
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
    movement: str,
    *,
    logs: int = LOGS,
    sets_each: tuple[int, ...] = SETS_EACH,
    names: tuple[str, ...] = ("variants", "with holds"),
) -> pd.DataFrame:
    """Share of each verdict over simulated logs.

    Parameters
    ----------
    movement : str
        One of `simulated_movements`.
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
        design = designs(movement)[name]
        m, n = len(design.setups), len(design.every)
        base = _blank(design)
        truths = _predict(design, n_draws=logs, seed=TRUTH_SEED)
        for sets in sets_each:
            rng = np.random.default_rng([NOISE_SEED, sets])
            cov = _sampling(m, n - m, sets)
            noise = np.linalg.cholesky(cov + base.spread)
            for shape in (*SHAPES, LEVERAGE):
                chance = rng.standard_normal((logs, n)) @ noise.T
                seen = base.at(truths[shape] + chance, cov)
                verdicts = _verdicts(seen, sets=sets * (n + 1))
                rows += _rows(design, name, shape, sets * (n + 1), verdicts)
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
    design: Design, name: str, truth: str, sets: int, verdicts: NDArray[np.str_]
) -> list[dict[str, object]]:
    parts = {"all": slice(None)}
    if truth == "peaked":
        reference = design.reference.variant
        among = structures(load_catalogue().variants[reference].model.joint)
        pairs = zip(among, structures_of(len(verdicts), reference), strict=True)
        parts |= {" with ".join(names): rows for names, rows in pairs}
    return [
        {
            "design": name,
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
    tables = [
        (simulate_power(movement).round(4), setup_information(movement).round(2))
        for movement in simulated_movements()
    ]
    settings = (
        f"{LIFTERS} lifters, set sd {SET_SD}, between lifters {BETWEEN_SD}, "
        f"{MODEL_DRAWS} model draws; seeds: model {MODEL_SEED}, truth {TRUTH_SEED}, "
        f"noise {NOISE_SEED}"
    )
    power, information = (pd.concat(each) for each in zip(*tables, strict=True))
    ship(power, "power.csv", settings)
    ship(information, "information.csv", f"seed {MODEL_SEED}")


if __name__ == "__main__":
    main()
