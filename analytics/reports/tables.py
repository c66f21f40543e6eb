"""Aggregate tables for research, with small cells withheld.

Counts form a tree: all sets = the setups, a setup = its weeks, a setup = its
kinds of evidence. Every level is one line for the rule in
:mod:`analytics.reports.disclosure`, and no other totals are published.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analytics.errors import InputError
from analytics.evidence import CurveTest
from analytics.reports.disclosure import (
    check_smallest_cell,
    pseudonyms,
    rounded_lifters,
    suppressed_cells,
)
from analytics.strength import StrengthFit

PUBLISHED, SUPPRESSED = "published", "suppressed"
ANGLE_KIND = "failure with angle"
RATIO_DIGITS = 3
SPREAD_SDS = 1.645  # 5th to 95th percentile of a normal distribution
WEEK_COLUMNS = [
    *("setup", "week", "lifters", "sets", "mean_kg", "change_frac"),
    "status",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """The counted sets, and which setups may be shown.

    Attributes
    ----------
    sets : DataFrame
        ``set_id, lifter, setup, week, kind`` of every set of the movement.
    shown : tuple of str
        Setups that are published.
    labels : dict of str to str
        Label of every setup; a withheld one is called by its variant alone.
    smallest_cell : int
        Lifters a published cell holds at least.
    """

    sets: pd.DataFrame
    shown: tuple[str, ...]
    labels: dict[str, str]
    smallest_cell: int


def count_panel(fit: StrengthFit, sets: pd.DataFrame, *, smallest_cell: int) -> Panel:
    """Sort the sets into setups, weeks and kinds and choose what is shown.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    sets : DataFrame
        Stored sets of the same movement.
    smallest_cell : int
        Lifters a published cell must hold at least, 5 or more.

    Returns
    -------
    panel : Panel
        What all count tables are made of.

    Raises
    ------
    InputError
        If the cell size is too small or the movement has fewer lifters.
    """
    check_smallest_cell(smallest_cell)
    points = fit.set_points[["set_id", "setup", "kind"]]
    known = sets.merge(points, on="set_id", how="inner")
    kind = known["kind"].where(
        ~((known["kind"] == "failure") & known["failed_at_deg"].notna()),
        ANGLE_KIND,
    )
    panel = pd.DataFrame(
        {
            "set_id": known["set_id"],
            "lifter": known["lifter"],
            "setup": known["setup"],
            "week": _week(known["performed_on"]),
            "kind": kind,
            "failed_at_deg": known["failed_at_deg"],
        }
    )
    present = panel["lifter"].nunique()
    if present < smallest_cell:
        raise InputError(
            f"lifters with sets of this movement: {present}, a table needs "
            f"{smallest_cell} or more; nothing was written"
        )
    done = _line(panel, "setup")
    withheld = suppressed_cells(done, smallest_cell=smallest_cell)
    variant = fit.setups.set_index("setup")["variant"]
    listed = {} if withheld == set(done) else done
    return Panel(
        sets=panel,
        shown=tuple(s for s in fit.setups["setup"] if s in done and s not in withheld),
        labels={str(s): str(variant[s]) if s in withheld else str(s) for s in listed},
        smallest_cell=smallest_cell,
    )


def _line(panel: pd.DataFrame, column: str) -> dict[Any, list[str]]:
    """Who did each set of each cell of a line."""
    return {cell: list(group["lifter"]) for cell, group in panel.groupby(column)}


def _counts(panel: Panel, column: str, *, setup: str | None = None) -> pd.DataFrame:
    """Count one line: its cells with lifters, sets, status; nothing if all withheld."""
    sets = panel.sets if setup is None else panel.sets[panel.sets["setup"] == setup]
    line = _line(sets, column)
    withheld = suppressed_cells(line, smallest_cell=panel.smallest_cell)
    rows = [
        {column: cell, "lifters": pd.NA, "sets": pd.NA, "status": SUPPRESSED}
        if cell in withheld
        else {column: cell, **_published(codes, panel.smallest_cell)}
        for cell, codes in line.items()
        if withheld != set(line)
    ]
    table = pd.DataFrame(rows, columns=[column, "lifters", "sets", "status"])
    return table.astype({"lifters": "Int64", "sets": "Int64"})


def _published(codes: list[str], smallest_cell: int) -> dict[str, object]:
    lifters = rounded_lifters(len(set(codes)), smallest_cell=smallest_cell)
    return {"lifters": lifters, "sets": len(codes), "status": PUBLISHED}


def ratio_table(panel: Panel, fit: StrengthFit, curve: CurveTest) -> pd.DataFrame:
    """Cohort ratios beside the modelled ones.

    Parameters
    ----------
    panel : Panel
        What is shown.
    fit : StrengthFit
        The same movement's fit.
    curve : CurveTest
        Its curve test, for the predictions.

    Returns
    -------
    ratios : DataFrame
        One row per setup; numbers empty where withheld.
    """
    table = _counts(panel, "setup").merge(
        fit.ratios.drop(columns=["lifters", "sets"]), on="setup"
    )
    wanted = ["setup", "predicted", "predicted_low", "predicted_high"]
    modelled = curve.residuals.reindex(columns=wanted)
    table = table.merge(modelled.drop_duplicates("setup"), on="setup", how="left")
    estimated = ["ratio", "low", "high", "between_sd"]
    numbers = [*estimated, *wanted[1:]]
    table[numbers] = table[numbers].astype(float).round(RATIO_DIGITS)
    linked = table["setup"].map(_linked(panel, fit.reference))
    table.loc[linked < panel.smallest_cell, estimated] = np.nan
    table.loc[table["status"] == SUPPRESSED, numbers] = np.nan
    table["setup"] = table["setup"].map(panel.labels)
    return table[["setup", "reference", "lifters", "sets", *numbers, "status"]]


def _linked(panel: Panel, reference: str) -> pd.Series:
    """How many lifters of each setup did the reference too."""
    there = panel.sets.loc[panel.sets["setup"] == reference, "lifter"]
    both = panel.sets[panel.sets["lifter"].isin(there)]
    return (
        both.groupby("setup")["lifter"]
        .nunique()
        .reindex(panel.sets["setup"].unique(), fill_value=0)
    )


def week_table(panel: Panel, fit: StrengthFit) -> pd.DataFrame:
    """Mean strength by setup and week.

    Parameters
    ----------
    panel : Panel
        What is shown.
    fit : StrengthFit
        The same movement's fit.

    Returns
    -------
    weeks : DataFrame
        ``setup, week, lifters, sets, mean_kg, change_frac, status``.
        ``change_frac`` is the mean strength of the lifters who trained that week
        relative to the same lifters' own mean of the whole log; ``mean_kg`` is
        that change applied to the mean of all lifters of the setup.

    Notes
    -----
    A plain mean of each week would rise and fall with who came, and subtracting
    two weeks would give away the strength of the one who did not.
    """
    trend = fit.trend[fit.trend["setup"].isin(panel.shown)]
    level = np.log(trend["strength_kg"].astype(float))
    own = level.groupby([trend["lifter"], trend["setup"]]).transform("mean")
    trend = trend.assign(week=_week(trend["date"]), change=level - own, own=own)
    weekly = trend.groupby(["setup", "week", "lifter"])["change"].mean()
    weekly = weekly.groupby(["setup", "week"]).agg(["mean", "size"])
    change = np.expm1(weekly["mean"]).round(2)
    change = change[weekly["size"] >= panel.smallest_cell].rename("change_frac")
    whole = trend.groupby(["setup", "lifter"])["own"].first().groupby("setup").mean()
    parts = [
        _counts(panel, "week", setup=setup).assign(setup=setup) for setup in panel.shown
    ]
    if not parts:
        return pd.DataFrame(columns=WEEK_COLUMNS)
    table = pd.concat(parts, ignore_index=True).astype(
        {"week": change.index.levels[1].dtype}
    )
    table = table.merge(change.reset_index(), on=["setup", "week"], how="left")
    table.loc[table["status"] == SUPPRESSED, "change_frac"] = np.nan
    mean_kg = np.exp(table["setup"].map(whole)) * (1 + table["change_frac"])
    return table.assign(mean_kg=mean_kg.round(1))[WEEK_COLUMNS]


def _week(date: pd.Series) -> pd.Series:
    """Monday of each date."""
    return date.dt.to_period("W-SUN").dt.start_time


def quality_table(panel: Panel) -> pd.DataFrame:
    """Count what the sets of each setup rest on.

    Parameters
    ----------
    panel : Panel
        What is shown.

    Returns
    -------
    quality : DataFrame
        ``setup, kind, lifters, sets, status``: one row per setup and kind of
        evidence, one per setup for ``any``, and the grand total ``all``.
    """
    everybody = _published(list(panel.sets["lifter"]), panel.smallest_cell)
    parts = [pd.DataFrame([{"setup": "all", "kind": "any", **everybody}])]
    setups = _counts(panel, "setup").assign(kind="any")
    for setup, row in setups.groupby("setup"):
        parts.append(row)
        if setup in panel.shown:
            parts.append(_counts(panel, "kind", setup=str(setup)).assign(setup=setup))
    table = pd.concat(parts, ignore_index=True)
    table["setup"] = table["setup"].map({"all": "all"} | panel.labels)
    return table[["setup", "kind", "lifters", "sets", "status"]].astype(
        {"lifters": "Int64", "sets": "Int64"}
    )


def sticking_table(panel: Panel, modelled: pd.DataFrame | None) -> pd.DataFrame:
    """Angles at which sets failed, by setup, beside the modelled ones.

    Parameters
    ----------
    panel : Panel
        What is shown.
    modelled : DataFrame or None
        ``variant, elbow_deg, low_deg, high_deg, limit_load_ratio, evenness`` as
        the mechanics stage gives them; about no lifter, so never withheld.

    Returns
    -------
    sticking : DataFrame
        ``setup, source, elbow_deg, low_deg, high_deg, limit_load_ratio, evenness,
        lifters, status``. Logged angles are the mean over lifters, each counted
        once, with the 5th and 95th percentile of a normal spread between them.
    """
    numbers = ["elbow_deg", "low_deg", "high_deg", "limit_load_ratio", "evenness"]
    columns = ["setup", "source", *numbers, "lifters", "status"]
    failed = panel.sets[panel.sets["setup"].isin(panel.shown)]
    angle = failed[failed["kind"] == ANGLE_KIND]
    angle = angle.groupby(["setup", "lifter"])["failed_at_deg"].mean()
    angle = angle.groupby("setup").agg(["mean", "std"])
    half = SPREAD_SDS * angle["std"]
    logged = pd.DataFrame(
        {
            "source": "logged",
            "elbow_deg": angle["mean"],
            "low_deg": angle["mean"] - half,
            "high_deg": angle["mean"] + half,
        }
    )
    cells = quality_table(panel).query("kind == @ANGLE_KIND").set_index("setup")
    logged = cells[["lifters", "status"]].join(logged).reset_index()
    logged.loc[logged["status"] == SUPPRESSED, numbers[:3]] = np.nan
    model = pd.DataFrame(columns=columns) if modelled is None else modelled
    model = model.rename(columns={"variant": "setup"}).assign(
        source="modelled", status=PUBLISHED
    )
    table = pd.concat([part.reindex(columns=columns) for part in (model, logged)])
    for column in numbers:
        digits = 0 if column.endswith("_deg") else RATIO_DIGITS
        table[column] = table[column].astype(float).round(digits)
    return table.astype({"lifters": "Int64"}).reset_index(drop=True)


def curve_table(panel: Panel, curve: CurveTest) -> pd.DataFrame:
    """Curve test in one row.

    Parameters
    ----------
    panel : Panel
        For the counts.
    curve : CurveTest
        The cohort's.

    Returns
    -------
    test : DataFrame
        ``verdict, p_value, weight_peaked, weight_flat, weight_inverted, setups,
        lifters``.
    """
    return pd.DataFrame(
        [
            {
                "verdict": curve.verdict,
                "p_value": round(float(curve.p_value), 4),
                **{
                    f"weight_{shape}": round(float(curve.weights[shape]), 4)
                    for shape in ("peaked", "flat", "inverted")
                },
                "setups": len(curve.residuals),
                "lifters": rounded_lifters(
                    panel.sets["lifter"].nunique(), smallest_cell=panel.smallest_cell
                ),
            }
        ]
    )


def personal_tables(
    panel: Panel, fit: StrengthFit, weeks: pd.DataFrame, *, key: bytes
) -> dict[str, pd.DataFrame]:
    """Personal ratios and strength by week: rows about single lifters.

    Parameters
    ----------
    panel : Panel
        Only its shown setups appear.
    fit : StrengthFit
        The same movement's fit.
    weeks : DataFrame
        From :func:`week_table`; only its published weeks appear.
    key : bytes
        Secret that stays with the owner.

    Returns
    -------
    tables : dict of str to DataFrame
        ``personal_ratios`` (``pseudonym, setup, ratio, low, high``) and
        ``personal_strength`` (``pseudonym, setup, week, strength_kg, low_kg,
        high_kg``), in the order of the pseudonyms.
    """
    mine = fit.personal[fit.personal["sets"] > 0]
    ratios = mine[mine["setup"].isin(panel.shown)]
    open_weeks = weeks.loc[weeks["status"] == PUBLISHED, ["setup", "week"]]
    strength = fit.trend.assign(week=_week(fit.trend["date"])).merge(open_weeks)
    by_week = strength.groupby(["lifter", "setup", "week"], as_index=False).mean(
        numeric_only=True
    )
    names = pseudonyms(sorted(panel.sets["lifter"].unique()), key=key)
    return {
        "personal_ratios": _under_pseudonym(
            ratios, names, ["setup"], ["ratio", "low", "high"], digits=2
        ),
        "personal_strength": _under_pseudonym(
            by_week,
            names,
            ["setup", "week"],
            ["strength_kg", "low_kg", "high_kg"],
            digits=1,
        ),
    }


def _under_pseudonym(
    table: pd.DataFrame,
    names: dict[str, str],
    cells: list[str],
    numbers: list[str],
    *,
    digits: int,
) -> pd.DataFrame:
    rounded = table[numbers].astype(float).round(digits)
    table = table.assign(pseudonym=table["lifter"].map(names), **rounded)
    order = ["pseudonym", *cells]
    return table.sort_values(order, ignore_index=True)[[*order, *numbers]]
