"""Invented clubs of two movements and the research tables made of them."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
from hand_made_fit import ONE_RM_KG, made_fit, made_sets

from analytics.reports.counted import count_sets
from analytics.reports.tables import aggregate_tables
from analytics.strength import StrengthFit

STANDING, PAD, DUMBBELL = ONE_RM_KG
KEY = (
    bytes.fromhex("1f0a6c35d2e94b7788c1a05e93f4267bd80c5f1e6aa3947d20b1c8e7f55632d9")
    .hex()
    .encode()
)
ROUNDED = 4  # a count may stand for so many more
CURLS, LEGS = "elbow_flexion", "Anna's leg day"  # a name people made up
OWN = {STANDING: "squat", PAD: "leg press", DUMBBELL: "lunge"}


def cohort(*, pad: int = 12, dumbbell: int = 3, lifters: int = 16) -> pd.DataFrame:
    """Everybody does the standing curl, some the pad, few the dumbbells."""
    done = {}
    for number in range(lifters):
        setups = [STANDING]
        setups += [PAD] if number < pad else []
        setups += [DUMBBELL] if number < dumbbell else []
        done[f"Z{number:02d}"] = setups
    return made_sets(done)


def curve() -> SimpleNamespace:
    residuals = pd.DataFrame(
        {
            "setup": [PAD, DUMBBELL],
            "predicted": [0.62, 1.0],
            "predicted_low": [0.5, 0.9],
            "predicted_high": [0.8, 1.1],
        }
    )
    return SimpleNamespace(
        verdict="not enough data yet",
        p_value=0.4,
        weights={
            **{"peaked": 0.5, "flat": 0.2, "inverted": 0.1},
            **{"rising": 0.1, "falling": 0.1},
        },
        residuals=residuals,
    )


MODELLED = pd.DataFrame(
    {
        "variant": [PAD],
        "elbow_deg": [20.0],
        "low_deg": [20.0],
        "high_deg": [25.0],
        "limit_load_ratio": [0.6],
        "evenness": [0.59],
    }
)


def fitted(sets: pd.DataFrame) -> dict[str, StrengthFit]:
    """Return the hand-made fit of each movement, own setups under own names."""
    fits = {}
    for movement, rows in sets.groupby("movement"):
        fit = made_fit(rows.assign(variant=rows["variant"].replace(CATALOGUED)))
        fits[movement] = fit if movement == CURLS else renamed(fit, OWN, movement)
    return fits


CATALOGUED = {own: variant for variant, own in OWN.items()}


def renamed(fit: StrengthFit, names: dict[str, str], movement: str) -> StrengthFit:
    """Return a fit of another movement whose setups have other names."""
    columns = ["setup", "variant", "reference"]
    tables = {
        name: table.assign(
            **{c: table[c].replace(names) for c in columns if c in table}
        )
        for name in ("setups", "set_points", "ratios", "trend", "personal")
        for table in [getattr(fit, name)]
    }
    reference = names.get(fit.reference, fit.reference)
    return replace(fit, movement=movement, reference=reference, **tables)


def legs(sets: pd.DataFrame, movement: str = LEGS) -> pd.DataFrame:
    """Return the same sets as those of a movement of one's own."""
    return sets.assign(
        movement=movement,
        variant=sets["variant"].replace(OWN),
        set_id=movement + sets["set_id"],
    )


def build(
    sets: pd.DataFrame, k: int = 10, key: bytes | None = None
) -> tuple[dict[str, pd.DataFrame], dict[str, StrengthFit]]:
    """Return the tables of a club, made as the package makes them, and its fits."""
    fits = fitted(sets)
    enough = {movement: fit for movement, fit in fits.items() if fit.n_lifters >= k}
    found = aggregate_tables(
        {
            name: count_sets(enough.get(name), of)
            for name, of in sets.groupby("movement")
        },
        enough,
        {CURLS: curve()} if CURLS in enough else {},
        {CURLS: MODELLED} if CURLS in enough else {},
        smallest_cell=k,
        key=key,
    )
    return found, fits


def random_club(seed: int) -> pd.DataFrame:
    """A club of two or three movements, from one of few sets to a full one.

    Of every two clubs one has few lifters in each movement of its own.
    """
    rng = np.random.default_rng(seed)
    pad, dumbbell, *own = (int(n) for n in rng.integers(1, 16, 6))
    few = [int(n) for n in rng.integers(2, 9, 2)] if seed % 2 else [16, 12]
    parts = [
        cohort(pad=max(8, pad), dumbbell=dumbbell),
        legs(cohort(pad=own[0], dumbbell=own[1], lifters=few[0])),
    ]
    if seed % 3 == 0:
        third = cohort(pad=own[2], dumbbell=own[3], lifters=few[1])
        third["lifter"] = third["lifter"].str.replace("Z0", "Z1")
        parts.append(legs(third, "grip"))
    sets = pd.concat(parts, ignore_index=True)
    sets = sets[rng.random(len(sets)) < rng.choice([0.2, 0.5, 0.9])]
    sets = sets.reset_index(drop=True)
    failed = rng.random(len(sets)) < rng.choice([0.02, 0.3])
    angle = np.where(failed & (rng.random(len(sets)) < 0.5), 80.0, np.nan)
    return sets.assign(failed=failed, failed_at_deg=angle)


def lines(
    found: dict[str, pd.DataFrame],
) -> list[tuple[dict[str, str], str, int, pd.DataFrame]]:
    """Every published total: of what, its cells by what, how many sets, the cells."""
    quality, weeks = found["data_quality"], found["strength_by_week"]
    whole = quality[quality["kind"] == "any"]
    movements = whole[whole["setup"] == "all"]
    told = []

    def tell(of: dict[str, str], by: str, totals: pd.DataFrame, cells: pd.DataFrame):
        total = totals["sets"].dropna()
        if len(total) and len(cells):
            told.append((of, by, int(total.iloc[0]), cells))

    several = movements["movement"] != "all"
    tell({}, "movement", movements[~several], movements[several])
    for movement in movements.loc[several & movements["sets"].notna(), "movement"]:
        of = {"movement": movement}
        own = whole[(whole["movement"] == movement) & (whole["setup"] != "all")]
        tell(of, "setup", movements[movements["movement"] == movement], own)
        for setup in own.loc[own["status"] == "published", "setup"]:
            here = of | {"setup": setup}
            for by, table in (
                ("kind", quality[quality["kind"] != "any"]),
                ("week", weeks),
            ):
                at = (table["movement"] == movement) & (table["setup"] == setup)
                tell(here, by, own[own["setup"] == setup], table[at])
    return told
