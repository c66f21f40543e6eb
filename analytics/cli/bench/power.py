"""How often the curve test is right: simulated logs of known truth, by size.

``python -m analytics.cli.bench.power [LOGS [FAMILY_LOGS]]`` renews ``power.csv``,
``information.csv`` and ``family_power.csv`` of the evidence, which the method page
draws (about 3 and 1 minutes on one processor with the usual numbers of logs; what is to
get 0 is left as it is).
"""

import sys
from dataclasses import dataclass
from types import ModuleType

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from analytics.catalogue import Setup, load_catalogue
from analytics.cli.bench import other_elbow, other_joints
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
    simulated_starts,
)
from analytics.evidence.predictions import (
    paired_draws,
    spreads_of,
    structures_of,
)
from analytics.evidence.verdict import (
    AGREES,
    CAUSES,
    DISAGREES,
    LENGTH,
    RIVALS,
    cause_of,
    decide,
)
from analytics.mechanics import LEVERAGE, structures

Array = NDArray[np.float64]

SETS_EACH = (4, 8, 16, 32)  # of all lifters together, in every setup
LIFTERS = 12
SET_SD = 0.0525  # session noise 0.034 (open_trial_log), effort and set 0.04 (assumed)
BETWEEN_SD = 0.035  # between lifters, per setup (assumed)
OWN_SD = 0.03  # of every setup from its posture (assumed)
MODEL_DRAWS = 600
LOGS = (
    300  # per truth and size: a share is known to 2.9 points at worst, standard error
)
FAMILY_SETS = (8, 32)
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


def simulated_movements() -> tuple[str, ...]:
    """Return the movements of which a truth apart from the model is known."""
    variants = load_catalogue().variants
    first = (variants[name].movement for name in other_elbow.POSTURE)
    return tuple(dict.fromkeys([*first, *other_joints.MOVEMENTS]))


def _other(movement: str) -> ModuleType:
    """Return where the truths of a movement are."""
    return other_joints if movement in other_joints.MOVEMENTS else other_elbow


def designs(movement: str) -> dict[str, Design]:
    """Return the simulated logs of one movement.

    Parameters
    ----------
    movement : str
        One of `simulated_movements`.

    Returns
    -------
    designs : dict of str to Design
        ``variants``: every variant of the other elbow in its own range; ``with
        holds``: also later starts, and holds at several angles against one.
    """
    catalogue = load_catalogue()
    reference = str(catalogue.movements[movement].reference)
    own: list[Setup] = [
        Setup(variant=v)
        for v in _other(movement).POSTURE
        if catalogue.variants[v].movement == movement and v != reference
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


def _blank(design: Design, *, lifter: str | None) -> Comparison:
    """Predictions and unexplained spread, before anything is observed."""
    n = len(design.every)
    spread, *further = spreads_of(
        design.every, design.against, np.zeros(n), lifter=lifter, seed=MODEL_SEED
    )
    return Comparison(
        labels=tuple(map(str, range(n))),
        observed=np.zeros(n),
        cov=np.zeros((n, n)),
        spread=spread,
        draws=paired_draws(
            design.every,
            design.against,
            lifter=lifter,
            n_draws=MODEL_DRAWS,
            seed=MODEL_SEED,
        ),
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
        ``variant, range_from_deg, range_to_deg``, ``from_`` each rival shape and
        ``from_leverage``: how many spreads the peaked prediction lies from each rival;
        most about muscle length first. A range of one angle is a hold. [1]
    """
    design = designs(movement)["with holds"]
    blank, every = _blank(design, lifter=None), design.every
    variants = load_catalogue().variants
    spans = [s.span or variants[s.variant].model.range_deg for s in every]
    table = pd.DataFrame(
        {
            "variant": [s.variant for s in every],
            "range_from_deg": [first for first, _ in spans],
            "range_to_deg": [last for _, last in spans],
            **{
                f"from_{rival}": length_information(blank, rival=rival)[0]
                for rival in (*RIVALS, LEVERAGE)
            },
        }
    )
    return table.sort_values("from_leverage", ascending=False, ignore_index=True)


def _sampling(n_setups: int, n_holds: int, sets: int, *, lifters: int) -> Array:
    """Covariance of log ratios from so many sets in every setup."""
    between = BETWEEN_SD**2 / min(lifters, sets) if lifters > 1 else 0.0
    n = n_setups + n_holds
    kind = np.arange(n) >= n_setups
    shared = np.where(kind[:, None] == kind, SET_SD**2 / sets, 0.0)
    return np.asarray((SET_SD**2 / sets + between) * np.eye(n) + shared)


def _truth(truth: str, design: Design, logs: int) -> Array:
    """Give true log ratios of one log a row, by a joint that is not the model's."""
    other, rng = _other(design.movement), np.random.default_rng(TRUTH_SEED)
    drawn = other.draw(truth, design.movement, logs, rng)
    every = dict.fromkeys([*design.every, *design.against])
    limits = {s: other.log_limit(drawn, s.variant, s.span) for s in every}
    pairs = zip(design.every, design.against, strict=True)
    return np.stack([limits[one] - limits[base] for one, base in pairs], axis=1)


def _published(design: Design, logs: int) -> Array:
    """Give true log ratios under the model's own published curves, in turn."""
    return paired_draws(
        design.every, design.against, lifter=None, n_draws=logs, seed=TRUTH_SEED
    )["peaked"]


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
        Per truth and size; a multiple of the number of structures.
    sets_each : tuple of int
        Sets in every setup.
    names : tuple of str
        Which of `designs`.

    Returns
    -------
    table : DataFrame
        ``design, truth, curve, sets, logs, agrees, disagrees, length, leverage``; the
        last two are causes. ``curve`` is ``all``, or one muscle set and curve of the
        model as a peaked truth. [1]

    Notes
    -----
    A truth is another elbow for every log, from closed forms that share nothing with
    the model (``other_elbow``); to it comes what every setup differs from its
    posture (log sd 0.03, assumed) and the sampling noise of the log. Truths that
    swing are of one lifter, the others of a cohort's mean.
    """
    rows: list[dict[str, object]] = []
    for name in names:
        design = designs(movement)[name]
        m, n = len(design.setups), len(design.every)
        for lifter, lifters in ((None, LIFTERS), ("swings", 1)):
            truths = {
                truth: _truth(truth, design, logs)
                for truth in _other(movement).TRUTHS
                if truth.startswith("swings") == (lifter is not None)
            }
            if not truths:
                continue
            blank = _blank(design, lifter=lifter)
            if lifter is None:
                truths["published"] = _published(design, logs)
            for sets in sets_each:
                rng = np.random.default_rng([NOISE_SEED, sets])
                cov = _sampling(m, n - m, sets, lifters=lifters)
                noise = np.linalg.cholesky(cov + OWN_SD**2 * (np.eye(n) + 1.0))
                for truth, mean in truths.items():
                    seen = mean + rng.standard_normal((logs, n)) @ noise.T
                    told = _told(blank.at(seen, cov), sets=sets * (n + 1))
                    where = {"design": name, "truth": truth, "sets": sets * (n + 1)}
                    rows += _rows(where, told, design.reference.variant)
    return pd.DataFrame(rows)


def _told(seen: Comparison, *, sets: int) -> pd.DataFrame:
    """Give verdict and cause on each row of what was observed."""
    setups = len(seen.labels)
    least = np.min([misfit(seen, shape=cause) for cause in CAUSES], axis=0)
    evidence = np.stack([shape_evidence(seen, shape=s) for s in seen.draws], axis=1)
    told = []
    for row, p_value in zip(evidence, stats.chi2.sf(least, setups), strict=True):
        logs = dict(zip(seen.draws, row.tolist(), strict=True))
        verdict = decide(logs, p_value=float(p_value), setups=setups, sets=sets)
        told.append((verdict, cause_of(logs, verdict)))
    return pd.DataFrame(told, columns=["verdict", "cause"])


def _rows(
    where: dict[str, object], told: pd.DataFrame, reference: str
) -> list[dict[str, object]]:
    parts = {"all": slice(None)}
    if where["truth"] == "published":
        where = where | {"truth": "peaked"}
        among = structures(load_catalogue().variants[reference].model.joint)
        pairs = zip(among, structures_of(len(told), reference), strict=True)
        parts = {" with ".join(names): rows for names, rows in pairs}
    columns = ["design", "truth", "curve", "sets", "logs"]
    return [
        {
            **{
                key: (where | {"curve": curve, "logs": len(mine)})[key]
                for key in columns
            },
            "agrees": float(np.mean(mine["verdict"] == AGREES)),
            "disagrees": float(np.mean(mine["verdict"] == DISAGREES)),
            "length": float(np.mean(mine["cause"] == LENGTH)),
            "leverage": float(np.mean(mine["cause"] == LEVERAGE)),
        }
        for curve, rows in parts.items()
        for mine in [told.iloc[rows]]
    ]


def main(logs: int = LOGS, family_logs: int = LOGS) -> None:
    """Renew the shipped tables."""
    first, *families = simulated_movements()
    settings = (
        f"{LIFTERS} lifters, set sd {SET_SD}, between lifters {BETWEEN_SD}, "
        f"{MODEL_DRAWS} model draws; seeds: model {MODEL_SEED}, truth {TRUTH_SEED}, "
        f"noise {NOISE_SEED}"
    )
    if logs:
        ship(simulate_power(first, logs=logs).round(4), "power.csv", settings)
        information = setup_information(first).round(2)
        ship(information, "information.csv", f"seed {MODEL_SEED}")
    if family_logs:
        tables = []
        for movement in families:
            table = simulate_power(movement, logs=family_logs, sets_each=FAMILY_SETS)
            table.insert(0, "movement", movement)
            tables.append(table[table["curve"] == "all"].drop(columns="curve"))
        ship(pd.concat(tables).round(3), "family_power.csv", settings)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
