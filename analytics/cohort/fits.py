"""The steps of the fit, for one part of the lifters each, and what joins them."""

import io
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import reduce
from operator import add
from typing import Any

import numpy as np
import pandas as pd
import pyarrow.parquet as pq

from analytics.cohort.bundle import packed, unpacked
from analytics.cohort.place import Place
from analytics.reports.counted import count_sets
from analytics.reports.held import Held, held_sets
from analytics.strength import StrengthFit
from analytics.strength.model.contrasts import relation_sums
from analytics.strength.model.fit import finished
from analytics.strength.model.observe import reference_of, setup_keys
from analytics.strength.model.parts import Shared, spread, tell, weigh
from analytics.strength.model.ratios import RatioSums
from analytics.strength.model.sample import sampled

KEPT = ("trend", "personal", "slopes", "sides", "reasons", "outliers")
OWN = ["lifter", "setup", "own_ratio", "own_low", "own_high"]
PER_LIFTER = (
    *("trend", "relation", "loads", "personal", "set_points", "slopes", "days"),
    *("reasons", "outliers", "sides", "last", "holds"),
)


def _by_movement(place: Place, sets: str) -> Iterator[tuple[str, pd.DataFrame]]:
    found = pd.read_parquet(io.BytesIO(place.read(sets)))
    for movement, rows in found.groupby("movement"):
        yield str(movement), rows.reset_index(drop=True)


def usual_arms(arms: Sequence[pd.DataFrame]) -> dict[str, dict[str, float]]:
    """Tell how most sets of each setup count the load, by movement.

    Parameters
    ----------
    arms : sequence of DataFrame
        From :func:`.read.gather`, of every part of the lifters.

    Returns
    -------
    usual : dict of str to dict of str to float
        Working arms by setup.
    """
    counts = pd.concat(arms)
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
) -> tuple[bytes, bytes]:
    """Tell setups, contrasts and the sample of one part.

    Parameters
    ----------
    place : Place
        Where the sets are.
    sets : str
        Name of the part's sets.
    arms : dict
        From :func:`usual_arms`.

    Returns
    -------
    brief : bytes
        By movement: ``setups, relation, sample``.
    told : bytes
        By movement: see :func:`.parts.tell`.
    """
    brief, told = {}, {}
    for movement, rows in _by_movement(place, sets):
        own = tell(rows, usual_arms=arms[movement])
        if own is not None:
            told[movement] = own
            brief[movement] = {
                "setups": own.seen.setups,
                "relation": relation_sums(*own.contrasts),
                "sample": sampled(own.seen.lifters),
            }
    return packed(brief), packed(told)


def agree(
    told: Sequence[dict[str, Any]], arms: dict[str, dict[str, float]]
) -> tuple[dict[str, Shared], dict[str, list[str]]]:
    """Put together what the parts told: setups, reference, relation and sample.

    Parameters
    ----------
    told : sequence of dict
        From :func:`tell_part`, in order.
    arms : dict
        From :func:`usual_arms`.

    Returns
    -------
    shared : dict of str to Shared
    sample : dict of str to list of str
        Both by movement.
    """
    shared, sample = {}, {}
    for movement in sorted({name for part in told for name in part}):
        parts = [part[movement] for part in told if movement in part]
        rows = pd.concat([part["setups"] for part in parts])
        counts = rows.groupby("setup")[["sets", "lifters"]].sum()
        setups = rows.groupby("setup").first().drop(columns=["sets", "lifters"])
        setups = setups.join(counts).reset_index()
        first, second = zip(*(part["relation"] for part in parts), strict=True)
        shared[movement] = Shared(
            usual_arms=arms[movement],
            setups=setups,
            reference=reference_of(movement, setups),
            relation=(np.sum(first, axis=0), np.sum(second, axis=0)),
        )
        sample[movement] = sampled([code for part in parts for code in part["sample"]])
    return shared, sample


def spread_sample(
    place: Place, sets: Sequence[str], shared: str, movement: str, sample: Sequence[str]
) -> tuple[bytes]:
    """Estimate the variance parameters of a movement from the sampled lifters."""
    own = unpacked(place.read(shared))[movement]
    chosen = [("movement", "=", movement), ("lifter", "in", sample)]
    found = []
    for name in sets:
        with place.fs.open(place.path(name), "rb") as file:
            found.append(pq.read_table(file, filters=chosen).to_pandas())
    rows = pd.concat([part for part in found if len(part)], ignore_index=True)
    return (packed(spread(rows, own)),)


def weigh_part(place: Place, told: str, shared: str) -> tuple[bytes, bytes]:
    """Smooth the series of one part.

    Parameters
    ----------
    place : Place
        Where the files are.
    told, shared : str
        Names of what the part told, and of what the cohort shares so far.

    Returns
    -------
    sums : bytes
        What the part's lifters say of the cohort's ratios, by movement.
    smoothed : bytes
        By movement: see :func:`.parts.weigh`.
    """
    given = unpacked(place.read(shared))
    smoothed = {
        movement: weigh(own, given[movement])
        for movement, own in unpacked(place.read(told)).items()
    }
    return packed({m: of.linked.sums for m, of in smoothed.items()}), packed(smoothed)


def with_sums(
    shared: dict[str, Shared], weighed: Sequence[dict[str, RatioSums]]
) -> dict[str, Shared]:
    """Take the sums over all parts into what is shared."""
    return {
        movement: replace(
            own, sums=reduce(add, [p[movement] for p in weighed if movement in p])
        )
        for movement, own in shared.items()
    }


def fit_part(
    place: Place, sets: str, smoothed: str, shared: str
) -> tuple[bytes, bytes, bytes]:
    """Fit the lifters of one part, and count what the tables need of them.

    Parameters
    ----------
    place : Place
        Where the files are.
    sets, smoothed, shared : str
        Names of the part's sets, of its smoothed series, and of what the cohort shares.

    Returns
    -------
    fits : bytes
        The tables ``KEPT``, all movements in each.
    counted : bytes
        By movement: what was counted, in brief, and of a fit what is the same for every
        part, with holds and typical strength.
    held : bytes
        By movement: what each lifter has in each cell.
    """
    given, series = (unpacked(place.read(name)) for name in (shared, smoothed))
    kept: dict[str, list[pd.DataFrame]] = {name: [] for name in KEPT}
    counted: dict[str, dict[str, object]] = {}
    held: dict[str, Held] = {}
    for movement, rows in _by_movement(place, sets):
        if movement not in series:
            held[movement] = held_sets(None, rows)
            brief = count_sets(None, rows, held[movement]).brief()
            counted[movement] = {"counted": brief}
            continue
        fit = finished(series[movement], given[movement].sums)
        for name in KEPT:
            table = getattr(fit, name)
            if len(table):
                kept[name].append(table.assign(movement=movement))
        held[movement] = held_sets(fit, rows)
        counted[movement] = {
            "counted": count_sets(fit, rows, held[movement]).brief(),
            "holds": fit.holds,
            "own": fit.personal[OWN].dropna(),
            "typical": _typical(fit),
            "fit": _of_cohort(fit),
        }
    tables = {k: pd.concat(v, ignore_index=True) for k, v in kept.items() if v}
    return packed(tables), packed(counted), packed(held)


def cells_part(place: Place, held: str, wanted: str) -> tuple[bytes]:
    """Tell which lifters of one part have what in some cells.

    Parameters
    ----------
    place : Place
        Where the files are.
    held, wanted : str
        Names of what the part's lifters have, and of the cells, from
        :func:`.counted.few`, by movement.

    Returns
    -------
    cells : bytes
        By movement and line.
    """
    has, cells = unpacked(place.read(held)), unpacked(place.read(wanted))
    found = {
        movement: {
            line: rows.merge(cells[movement][line]) for line, rows in of.lines().items()
        }
        for movement, of in has.items()
    }
    return (packed(found),)


def _typical(fit: StrengthFit) -> pd.DataFrame:
    logs = np.log(fit.trend["strength_kg"].astype(float))
    sums = logs.groupby(fit.trend["setup"]).agg(["size", "sum"])
    return sums.set_axis(["rows", "log_sum"], axis=1).reset_index()


def _of_cohort(fit: StrengthFit) -> StrengthFit:
    """Leave in a fit only what is the same for every part of the lifters."""
    empty = {name: getattr(fit, name).head(0) for name in PER_LIFTER}
    return replace(fit, **empty, personal_cov={})
