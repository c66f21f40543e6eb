"""Aggregate tables for research, with small cells withheld.

Counts form a tree: all sets = the setups, a setup = its weeks, a setup = its
kinds of evidence. Every level is one line for the rule in
:mod:`analytics.reports.disclosure`, and no other totals are published.
"""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analytics.errors import InputError
from analytics.evidence import CurveTest
from analytics.reports.disclosure import (
    check_smallest_cell,
    pseudonyms,
    suppressed_cells,
)
from analytics.strength import StrengthFit

PUBLISHED, SUPPRESSED = "published", "suppressed"
RATIO_DIGITS = 3
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
        "failure with angle",
    )
    panel = pd.DataFrame(
        {
            "set_id": known["set_id"],
            "lifter": known["lifter"],
            "setup": known["setup"],
            "week": known["performed_on"].dt.to_period("W-SUN").dt.start_time,
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
    who = _who(panel, "setup")
    withheld = suppressed_cells(who, smallest_cell=smallest_cell)
    variant = fit.setups.set_index("setup")["variant"]
    return Panel(
        sets=panel,
        shown=tuple(s for s in fit.setups["setup"] if s in who and s not in withheld),
        labels={str(s): str(variant[s]) if s in withheld else str(s) for s in who},
        smallest_cell=smallest_cell,
    )


def _who(panel: pd.DataFrame, column: str) -> dict[object, frozenset[str]]:
    return {cell: frozenset(group["lifter"]) for cell, group in panel.groupby(column)}


def _status(hidden: Iterable[bool]) -> list[str]:
    return [SUPPRESSED if h else PUBLISHED for h in hidden]


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
    counts = panel.sets.groupby("setup").agg(
        lifters=("lifter", "nunique"), sets=("set_id", "size")
    )
    table = fit.ratios.drop(columns=["lifters", "sets"]).merge(
        counts.reset_index(), on="setup", how="inner"
    )
    wanted = ["setup", "predicted", "predicted_low", "predicted_high"]
    modelled = curve.residuals.reindex(columns=wanted)
    table = table.merge(modelled.drop_duplicates("setup"), on="setup", how="left")
    hidden = ~table["setup"].isin(panel.shown)
    numbers = ["ratio", "low", "high", "between_sd", *wanted[1:]]
    table[numbers] = table[numbers].astype(float).round(RATIO_DIGITS)
    table = _blank(table, hidden, [*numbers, "lifters", "sets"])
    table["setup"] = table["setup"].map(panel.labels)
    order = ["setup", "reference", "lifters", "sets", *numbers, "status"]
    return table.assign(status=_status(hidden))[order]


def _blank(table: pd.DataFrame, hidden: pd.Series, columns: list[str]) -> pd.DataFrame:
    """Empty the numbers of withheld rows, keeping whole numbers whole."""
    table = table.copy()
    for column in columns:
        whole = column in ("lifters", "sets")
        table[column] = (
            table[column].astype("Int64" if whole else "Float64").mask(hidden)
        )
    return table


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
    trend = trend.assign(
        week=trend["date"].dt.to_period("W-SUN").dt.start_time,
        change=level - own,
        own=own,
    )
    change = trend.groupby(["setup", "week", "lifter"])["change"].mean()
    change = np.expm1(change.groupby(["setup", "week"]).mean()).round(2)
    whole = trend.groupby(["setup", "lifter"])["own"].first().groupby("setup").mean()
    parts = []
    for setup in panel.shown:
        line = panel.sets[panel.sets["setup"] == setup]
        hidden = suppressed_cells(_who(line, "week"), smallest_cell=panel.smallest_cell)
        table = line.groupby("week", as_index=False).agg(
            lifters=("lifter", "nunique"), sets=("set_id", "size")
        )
        table["change_frac"] = table["week"].map(change[setup])
        mean_kg = np.exp(whole[setup]) * (1 + table["change_frac"])
        table = table.assign(mean_kg=mean_kg.round(1), setup=panel.labels[setup])
        withheld = table["week"].isin(hidden)
        table = _blank(table, withheld, ["lifters", "sets", "mean_kg", "change_frac"])
        parts.append(table.assign(status=_status(withheld)))
    if not parts:
        return pd.DataFrame(columns=WEEK_COLUMNS)
    return pd.concat(parts, ignore_index=True)[WEEK_COLUMNS]


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
    rows = [_count_row("all", "any", panel.sets, hidden=False)]
    for setup, line in panel.sets.groupby("setup"):
        label = panel.labels[str(setup)]
        whole_hidden = setup not in panel.shown
        rows.append(_count_row(label, "any", line, hidden=whole_hidden))
        if whole_hidden:
            continue
        hidden = suppressed_cells(_who(line, "kind"), smallest_cell=panel.smallest_cell)
        rows += [
            _count_row(label, str(kind), cell, hidden=kind in hidden)
            for kind, cell in line.groupby("kind")
        ]
    table = pd.DataFrame(rows)
    return table.astype({"lifters": "Int64", "sets": "Int64"})


def _count_row(
    setup: str, kind: str, cell: pd.DataFrame, *, hidden: bool
) -> dict[str, object]:
    return {
        "setup": setup,
        "kind": kind,
        "lifters": pd.NA if hidden else cell["lifter"].nunique(),
        "sets": pd.NA if hidden else len(cell),
        "status": SUPPRESSED if hidden else PUBLISHED,
    }


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
    model = pd.DataFrame() if modelled is None else modelled
    model = model.rename(columns={"variant": "setup"})
    model = model.assign(source="modelled", status=PUBLISHED, lifters=pd.NA)
    quality = quality_table(panel)
    rows = []
    for setup in panel.shown:
        cell = quality[
            (quality["setup"] == panel.labels[setup])
            & (quality["kind"] == "failure with angle")
        ]
        if cell.empty:
            continue
        row = {"setup": panel.labels[setup], "source": "logged"}
        row |= cell.iloc[0][["lifters", "status"]].to_dict()
        if row["status"] == PUBLISHED:
            own = panel.sets[panel.sets["setup"] == setup]
            angle = own.groupby("lifter")["failed_at_deg"].mean().dropna()
            row |= {
                "elbow_deg": angle.mean(),
                "low_deg": angle.mean() - 1.645 * angle.std(),
                "high_deg": angle.mean() + 1.645 * angle.std(),
            }
        rows.append(row)
    logged = pd.DataFrame(
        rows, columns=["setup", "source", *numbers, "lifters", "status"]
    )
    table = pd.DataFrame(
        [*model.to_dict("records"), *logged.to_dict("records")],
        columns=["setup", "source", *numbers, "lifters", "status"],
    )
    for column in numbers:
        digits = 0 if column.endswith("_deg") else RATIO_DIGITS
        table[column] = table[column].astype(float).round(digits)
    return table.astype({"lifters": "Int64"})


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
                "lifters": panel.sets["lifter"].nunique(),
            }
        ]
    )


def personal_table(panel: Panel, fit: StrengthFit, *, key: bytes) -> pd.DataFrame:
    """Personal ratios under keyed pseudonyms: rows about single lifters.

    Parameters
    ----------
    panel : Panel
        Only its shown setups appear.
    fit : StrengthFit
        The same movement's fit.
    key : bytes
        Secret that stays with the owner.

    Returns
    -------
    personal : DataFrame
        ``pseudonym, setup, ratio, low, high`` in the order of the pseudonyms.
    """
    mine = fit.personal[
        (fit.personal["sets"] > 0) & fit.personal["setup"].isin(panel.shown)
    ]
    names = pseudonyms(sorted(mine["lifter"].unique()), key=key)
    numbers = ["ratio", "low", "high"]
    table = mine[["lifter", "setup", *numbers]].astype({c: float for c in numbers})
    table = table.round(2).assign(
        pseudonym=table["lifter"].map(names), setup=table["setup"].map(panel.labels)
    )
    table = table.sort_values(["pseudonym", "setup"], ignore_index=True)
    return table[["pseudonym", "setup", *numbers]]
