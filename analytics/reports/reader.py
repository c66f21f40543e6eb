"""What one lifter may see of a fit of several: the one place that decides it."""

from dataclasses import fields, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.intervals import Z90
from analytics.reports.disclosure import SMALLEST_CELL, may_show, rounded_count
from analytics.reports.held import linked_rows
from analytics.strength import StrengthFit, gain_table

DIGITS = 2  # of a ratio: with ten others, one of them is less than the last digit
RATIOS, OWN = ["ratio", "low", "high"], ["own_ratio", "own_low", "own_high"]


def seen_by(
    fit: StrengthFit, reader: str | None, *, smallest_cell: int = SMALLEST_CELL
) -> StrengthFit:
    """Return a fit without what would tell its reader about single others.

    Parameters
    ----------
    fit : StrengthFit
        Of everybody's sets of one movement.
    reader : str or None
        Code of the lifter who reads; None for somebody who may see all.
    smallest_cell : int
        Others a cohort figure must be about at least.

    Returns
    -------
    seen : StrengthFit
        Rows of other lifters are gone. A cohort ratio stays, rounded with its counts,
        where enough others did the setup and the reference and none dominates.
        Elsewhere the reader's ratio is that of the own sets alone, and one that has
        none is gone, with every strength carried over it. Gains are then told anew
        over own ratios. The spreads of all are rounded, and all lifters counted so.

    Notes
    -----
    The reader's own sets are not counted: who knows them subtracts them. Beside a
    cohort's ratio of two, one's own is the other's; so is one's own drawn towards the
    cohort. Strength in what the reader did rests on own sets anyway.
    """
    if reader is None:
        return fit
    points = fit.set_points
    own = points.loc[points["lifter"] == reader, "setup"].value_counts()
    others = points[points["lifter"] != reader]
    linked = linked_rows(others, fit.reference).groupby("setup")["lifter"].agg(list)
    shown = [
        setup
        for setup in fit.ratios["setup"]
        if may_show(linked.get(setup, []), smallest_cell=smallest_cell)
    ]
    closed = set(others["setup"]) - {*shown, fit.reference}
    mine = fit.personal[fit.personal["lifter"] == reader].set_index("setup")
    alone = mine[mine.index.isin(closed) & mine["own_ratio"].notna()]
    kept = {*shown, fit.reference, *own.index}
    tables = {
        field.name: _own_rows(getattr(fit, field.name), reader, kept)
        for field in fields(fit)
        if isinstance(getattr(fit, field.name), pd.DataFrame)
    }
    shift, extra_var = _own_alone(alone)
    hyper = {name: float(f"{sd:.{DIGITS}g}") for name, sd in fit.hyper.items()}
    if closed & set(own.index):
        tables["slopes"] = _gains(
            tables, own, {*shown, fit.reference, *alone.index}, alone, hyper
        )
    tables["personal"] = _personal(mine.reset_index(), closed)
    tables["ratios"] = _cohort(fit.ratios, shown, smallest_cell)
    tables["last"] = _carried(
        tables["last"], own, {*shown, fit.reference}, shift, extra_var
    )
    at = [i for i, setup in enumerate(fit.ratio_setups) if setup in shown]
    return replace(
        fit,
        **tables,
        hyper=hyper,
        n_obs=int(own.sum()),
        n_lifters=rounded_count(fit.n_lifters, smallest_cell=smallest_cell)
        if may_show(list(others["lifter"]), smallest_cell=smallest_cell)
        else 1,
        log_ratio=fit.log_ratio[at].round(DIGITS),
        log_ratio_cov=fit.log_ratio_cov[np.ix_(at, at)],
        ratio_setups=tuple(fit.ratio_setups[i] for i in at),
        personal_cov=_covariance(fit, reader, {*shown, *alone.index}, shift, extra_var),
    )


def withheld_words(fit: StrengthFit, seen: StrengthFit) -> str:
    """Say what of a fit its reader does not see, and why.

    Parameters
    ----------
    fit, seen : StrengthFit
        Of everybody, and what :func:`seen_by` made of it.

    Returns
    -------
    words : str
        Two sentences, empty where nothing is withheld.
    """
    hidden = len(fit.ratios) - len(seen.ratios)
    if not hidden:
        return ""
    return (
        f"Everyone's ratio is not shown in {hidden} of {len(fit.ratios)} exercises: "
        f"fewer than {SMALLEST_CELL} others did both it and the reference, or one or "
        "two of them did most sets, and it would tell what they lifted. Your own ratio "
        "and strength then rest on your sets alone."
    )


def _own_rows(table: pd.DataFrame, reader: str, kept: set[str]) -> pd.DataFrame:
    if "lifter" in table:
        table = table[table["lifter"] == reader]
    return table[table["setup"].isin(kept)] if "setup" in table else table


def _own_alone(alone: pd.DataFrame) -> tuple[pd.Series, pd.Series]:
    """How far, and by what variance, own sets alone differ from the drawn estimate."""
    log = np.log(alone[[*RATIOS, *OWN]].astype(float))
    drawn_sd = (log["high"] - log["low"]) / (2 * Z90)
    own_sd = (log["own_high"] - log["own_low"]) / (2 * Z90)
    return log["own_ratio"] - log["ratio"], (own_sd**2 - drawn_sd**2).clip(lower=0)


def _gains(
    tables: dict[str, pd.DataFrame],
    own: pd.Series,
    known: set[str],
    alone: pd.DataFrame,
    hyper: dict[str, float],
) -> pd.DataFrame:
    """Tell the reader's gains over own ratios: over drawn ones, others move them."""
    slopes, days = tables["slopes"], tables["days"]
    if not known & set(days["setup"]):  # nothing links them: that done most, alone
        known = {str(own.sort_index().idxmax())}
    days = days[days["setup"].isin(known)]
    # Rounded, since the others still move the own ratio by a thousandth of theirs.
    ratios = alone[["own_ratio", "ratio"]].astype(float).round({"own_ratio": DIGITS})
    moved = days["setup"].map(np.log(ratios["own_ratio"] / ratios["ratio"])).fillna(0.0)
    days = days.assign(log_level=days["log_level"] - moved)
    anew = gain_table(days, slopes[["lifter", "setup"]], hyper=hyper)
    return slopes.assign(**anew.drop(columns=["lifter", "setup"]))


def _carried(
    last: pd.DataFrame,
    own: pd.Series,
    shown: set[str],
    shift: pd.Series,
    extra_var: pd.Series,
) -> pd.DataFrame:
    """Carry strength in what was not done over own ratios, not over drawn ones."""
    most = str(own.sort_index().idxmax()) if len(own) else ""  # as the fit carries
    if most in shown:
        return last
    done = last["used"].astype(bool)
    if most not in shift:
        return last[done]
    wider = np.sqrt(last["log_sd"] ** 2 + extra_var[most])
    return last.assign(
        log_strength=last["log_strength"].where(
            done, last["log_strength"] - shift[most]
        ),
        log_sd=last["log_sd"].where(done, wider),
    )


def _personal(mine: pd.DataFrame, closed: set[str]) -> pd.DataFrame:
    """Round the reader's ratios, and take the cohort out where it is withheld."""
    alone = mine["setup"].isin(closed)
    mine.loc[alone, RATIOS] = mine.loc[alone, OWN].to_numpy()
    mine.loc[alone, "shrinkage"] = 0.0
    digits = dict.fromkeys([*RATIOS, *OWN, "shrinkage"], DIGITS)
    return mine.dropna(subset="ratio").round(digits)


def _cohort(ratios: pd.DataFrame, shown: list[str], smallest_cell: int) -> pd.DataFrame:
    rows = ratios[ratios["setup"].isin(shown)]
    counts = {
        name: [rounded_count(n, smallest_cell=smallest_cell) for n in rows[name]]
        for name in ("lifters", "sets")
    }
    return rows.assign(**counts).round(dict.fromkeys([*RATIOS, "between_sd"], DIGITS))


def _covariance(
    fit: StrengthFit,
    reader: str,
    kept: set[str],
    shift: pd.Series,
    extra_var: pd.Series,
) -> dict[str, tuple[tuple[str, ...], NDArray[np.float64], NDArray[np.float64]]]:
    if reader not in fit.personal_cov:
        return {}
    setups, mean, cov = fit.personal_cov[reader]
    at = [i for i, setup in enumerate(setups) if setup in kept]
    names = [setups[i] for i in at]
    mean = mean[at] + shift.reindex(names).fillna(0.0).to_numpy()
    wider = np.diag(extra_var.reindex(names).fillna(0.0).to_numpy())
    return {reader: (tuple(names), mean, cov[np.ix_(at, at)] + wider)}
