"""The steps of the fit, for one part of the lifters each, and what joins them."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import reduce
from operator import add

import numpy as np
import pandas as pd
import pyarrow.parquet as pq

from analytics.cohort.bundle import (
    Bundle,
    get_shared,
    put_counted,
    put_shared,
    sums_from_plain,
    sums_to_plain,
)
from analytics.cohort.place import Place
from analytics.reports.counting import count_sets
from analytics.strength import StrengthFit
from analytics.strength.model.cache import pack
from analytics.strength.model.fit import fit_strength
from analytics.strength.model.observe import reference_of, setup_keys
from analytics.strength.model.parts import Shared, spread, tell, weigh
from analytics.strength.model.sample import sampled

KEPT = ("trend", "personal", "slopes", "sides", "reasons", "outliers")
PER_LIFTER = (
    *("trend", "relation", "loads", "personal", "set_points", "slopes", "days"),
    *("reasons", "outliers", "sides", "last", "holds"),
)


def _by_movement(place: Place, sets: str) -> Iterator[tuple[str, pd.DataFrame]]:
    found = pd.read_parquet(io.BytesIO(place.read(sets)))
    for movement, rows in found.groupby("movement"):
        yield str(movement), rows.reset_index(drop=True)


def usual_arms(statistics: Sequence[pd.DataFrame]) -> dict[str, dict[str, float]]:
    """Tell how most sets of each setup count the load, by movement.

    Parameters
    ----------
    statistics : sequence of DataFrame
        Of every part of the lifters.

    Returns
    -------
    usual : dict of str to dict of str to float
        Working arms by setup.
    """
    counts = pd.concat(statistics)
    counts = counts.assign(setup=setup_keys(counts.reset_index(drop=True)).to_numpy())
    sums = counts.groupby(["movement", "setup", "arms_share"], as_index=False)["sets"]
    most = sums.sum().sort_values("sets", ascending=False, kind="stable")
    most = most.drop_duplicates(["movement", "setup"]).sort_values("setup")
    return {
        str(movement): dict(zip(rows["setup"], rows["arms_share"], strict=True))
        for movement, rows in most.groupby("movement")
    }


def tell_part(
    place: Place, sets: str, arms: dict[str, dict[str, float]]
) -> tuple[bytes]:
    """Tell setups, contrasts and the sample of one part, by movement."""
    told = Bundle()
    for movement, rows in _by_movement(place, sets):
        found = tell(rows, usual_arms=arms[movement])
        if found is not None:
            setups, relation, lifters = found
            told.tables[movement] = setups
            told.plain[movement] = {"relation": relation, "sample": sampled(lifters)}
    return (told.packed(),)


def agree(told: Sequence[Bundle], arms: dict[str, dict[str, float]]) -> Bundle:
    """Put together what the parts told: setups, reference, relation and sample.

    Parameters
    ----------
    told : sequence of Bundle
        From :func:`tell_part`, in order.
    arms : dict
        From :func:`usual_arms`.

    Returns
    -------
    shared : Bundle
        See :func:`.bundle.get_shared`; ``plain["sample"]`` by movement.
    """
    shared = Bundle(plain={"sample": {}})
    for movement in sorted({name for part in told for name in part.tables}):
        parts = [part for part in told if movement in part.tables]
        rows = pd.concat([part.tables[movement] for part in parts])
        counts = rows.groupby("setup")[["sets", "lifters"]].sum()
        setups = rows.groupby("setup").first().drop(columns=["sets", "lifters"])
        setups = setups.join(counts).reset_index()
        relations = [part.plain[movement]["relation"] for part in parts]
        own = Shared(
            usual_arms=arms[movement],
            setups=setups,
            reference=reference_of(movement, setups),
            relation=(
                np.sum([first for first, _ in relations], axis=0),
                np.sum([second for _, second in relations], axis=0),
            ),
        )
        put_shared(shared, movement, own)
        codes = [code for part in parts for code in part.plain[movement]["sample"]]
        shared.plain["sample"][movement] = sampled(codes)
    return shared


def spread_sample(
    place: Place, sets: Sequence[str], shared: str, movement: str
) -> tuple[bytes]:
    """Estimate the variance parameters of a movement from the sampled lifters."""
    given = Bundle.of(place.read(shared))
    wanted = given.plain["sample"][movement]
    chosen = [("movement", "=", movement), ("lifter", "in", wanted)]
    found = []
    for name in sets:
        with place.fs.open(place.path(name), "rb") as file:
            found.append(pq.read_table(file, filters=chosen).to_pandas())
    rows = pd.concat([part for part in found if len(part)], ignore_index=True)
    out = Bundle()
    put_shared(out, movement, spread(rows, get_shared(given, movement)))
    return (out.packed(),)


def with_spreads(shared: Bundle, spreads: dict[str, Bundle]) -> Bundle:
    """Take the variance parameters of every movement into what is shared."""
    out = Bundle(plain={"sample": shared.plain["sample"]})
    for movement, own in spreads.items():
        put_shared(out, movement, get_shared(own, movement))
    return out


def weigh_part(place: Place, sets: str, shared: str) -> tuple[bytes]:
    """Sum what the lifters of one part say of the cohort's ratios, by movement."""
    given, out = Bundle.of(place.read(shared)), Bundle()
    for movement, rows in _by_movement(place, sets):
        if movement in given.plain:
            sums = weigh(rows, get_shared(given, movement))
            out.plain[movement] = sums and sums_to_plain(sums)
    return (out.packed(),)


def with_sums(shared: Bundle, weighed: Sequence[Bundle]) -> Bundle:
    """Take the sums over all parts into what is shared."""
    out = Bundle(plain={"sample": shared.plain["sample"]})
    for movement in shared.plain["sample"]:
        sums = [
            sums_from_plain(part.plain[movement])
            for part in weighed
            if part.plain.get(movement)
        ]
        own = replace(get_shared(shared, movement), sums=reduce(add, sums))
        put_shared(out, movement, own)
    return out


def fit_part(place: Place, sets: str, shared: str) -> tuple[bytes, bytes]:
    """Fit the lifters of one part, and count what the tables need of them.

    Parameters
    ----------
    place : Place
        Where the sets are.
    sets, shared : str
        Names of the part's sets and of what the cohort shares.

    Returns
    -------
    fits : bytes
        A bundle of the tables ``KEPT``, all movements in each.
    counted : bytes
        A bundle: what was counted, holds, typical strength, and the cohort's part of
        the fit, by movement.
    """
    given, counted = Bundle.of(place.read(shared)), Bundle()
    kept: dict[str, list[pd.DataFrame]] = {name: [] for name in KEPT}
    for movement, rows in _by_movement(place, sets):
        known = movement in given.plain
        own = get_shared(given, movement) if known else None
        fit = fit_strength(rows, shared=own) if known else None
        put_counted(counted, movement, count_sets(fit, rows))
        if fit is None or not fit.n_obs:
            continue
        for name in KEPT:
            table = getattr(fit, name)
            if len(table):
                kept[name].append(table.assign(movement=movement))
        counted.tables[f"holds {movement}"] = fit.holds
        counted.tables[f"typical {movement}"] = _typical(fit)
        counted.plain[movement] = pack(_of_cohort(fit)).hex()
    tables = {k: pd.concat(v, ignore_index=True) for k, v in kept.items() if v}
    return Bundle(tables=tables).packed(), counted.packed()


def _typical(fit: StrengthFit) -> pd.DataFrame:
    logs = np.log(fit.trend["strength_kg"].astype(float))
    sums = logs.groupby(fit.trend["setup"]).agg(["size", "sum"])
    return sums.set_axis(["rows", "log_sum"], axis=1).reset_index()


def _of_cohort(fit: StrengthFit) -> StrengthFit:
    """Leave in a fit only what is the same for every part of the lifters."""
    empty = {name: getattr(fit, name).head(0) for name in PER_LIFTER}
    return replace(fit, **empty, personal_cov={})
