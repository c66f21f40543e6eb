"""Aggregate tables of research for one movement, and all of them together."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.errors import InputError
from analytics.evidence import CurveTest
from analytics.intervals import Z90, week_of
from analytics.mechanics import angle_column
from analytics.reports.counted import Counted, by_lifter
from analytics.reports.counting import (
    PUBLISHED,
    QUALITY_COLUMNS,
    SUPPRESSED,
    Panel,
    count_line,
    count_panel,
    movement_totals,
    published,
)
from analytics.reports.disclosure import (
    check_smallest_cell,
    may_show,
    pseudonyms,
    rounded_count,
)
from analytics.reports.held import ANGLE_KIND
from analytics.strength import StrengthFit

COUNTS = ["lifters", "sets"]
PERSONAL_ORDER = ["pseudonym", "movement", "setup", "week"]
RATIO_DIGITS = 3
WEEK_COLUMNS = [
    *("movement", "setup", "week", "lifters", "sets", "mean_kg", "change_frac"),
    "status",
]


def aggregate_tables(
    counted: Mapping[str, Counted],
    fits: Mapping[str, StrengthFit],
    curves: Mapping[str, CurveTest],
    hardest: Mapping[str, pd.DataFrame],
    *,
    smallest_cell: int,
    key: bytes | None = None,
) -> dict[str, pd.DataFrame]:
    """Aggregate tables of all movements.

    Parameters
    ----------
    counted : mapping of str to Counted
        What was counted of each movement.
    fits : mapping of str to StrengthFit
        Fit of every movement that has lifters enough.
    curves : mapping of str to CurveTest
        Curve test of those of them that are modelled.
    hardest : mapping of str to DataFrame
        Their modelled angles, see :func:`sticking_table`.
    smallest_cell : int
        Lifters a published cell must hold at least, 5 or more.
    key : bytes, optional
        Secret for pseudonyms; without it no row is about a single lifter.

    Returns
    -------
    tables : dict of str to DataFrame
        By name of the file they become; sticking angles and the curve test only
        where a published movement is modelled.

    Raises
    ------
    InputError
        If the cell size is too small or no movement has lifters enough.
    """
    check_smallest_cell(smallest_cell)
    codes = {movement: by_lifter(of.everyone) for movement, of in counted.items()}
    panels = {}
    for movement, fit in fits.items():
        panel = count_panel(fit, counted[movement], smallest_cell=smallest_cell)
        codes[movement] = panel.counted.lifters
        if may_show(codes[movement], smallest_cell=smallest_cell):
            panels[movement] = panel
    if not panels:
        most = max((len(who) for who in codes.values()), default=0)
        raise InputError(
            f"lifters with sets of one movement: {most} at most, a table needs "
            f"{smallest_cell} or more, none with over half of the sets and no two with "
            "over three quarters; nothing was written"
        )
    filled = {movement: who for movement, who in codes.items() if who}
    totals = movement_totals(filled, smallest_cell=smallest_cell)
    parts: dict[str, list[pd.DataFrame]] = {"data_quality": [totals]}
    for movement, panel in panels.items():
        found = _tables_of(
            panel, fits[movement], curves.get(movement), hardest.get(movement), key
        )
        for name, table in found.items():
            parts.setdefault(name, []).append(table)
    tables = {name: _stacked(of_all) for name, of_all in parts.items()}
    for name in ("personal_ratios", "personal_strength"):
        if name in tables:
            tables[name] = tables[name].sort_values(
                [c for c in PERSONAL_ORDER if c in tables[name]], ignore_index=True
            )
    return tables


def _tables_of(
    panel: Panel,
    fit: StrengthFit,
    curve: CurveTest | None,
    modelled: pd.DataFrame | None,
    key: bytes | None,
) -> dict[str, pd.DataFrame]:
    """Tables of one published movement."""
    weeks = week_table(panel)
    found = {
        "ratios": ratio_table(panel, fit, curve),
        "strength_by_week": weeks,
        "data_quality": quality_table(panel),
    }
    if curve is not None:
        found["sticking_angles"] = sticking_table(panel, modelled)
        found["curve_test"] = curve_table(panel, curve)
    if key is not None:
        found |= personal_tables(panel, fit, weeks, key=key)
    return found


def _stacked(parts: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [part for part in parts if len(part)] or parts[:1]
    return pd.concat(filled, ignore_index=True)


def ratio_table(
    panel: Panel, fit: StrengthFit, curve: CurveTest | None
) -> pd.DataFrame:
    """Cohort ratios beside the modelled ones.

    Parameters
    ----------
    panel : Panel
        What is shown.
    fit : StrengthFit
        The same movement's fit.
    curve : CurveTest or None
        Its curve test, for the predictions; None where it is not modelled.

    Returns
    -------
    ratios : DataFrame
        One row per setup; estimates empty where withheld. Predictions have nobody in
        them and stay; that of a withheld setup is its variant's, over its own range.
    """
    table = count_line(panel, "setup").merge(
        fit.ratios.drop(columns=["lifters", "sets"]), on="setup"
    )
    withheld = table["status"] == SUPPRESSED
    variant = fit.setups.set_index("setup")["variant"]
    posed = table["setup"].where(~withheld, table["setup"].map(variant))
    modelled = _predictions(curve, variant).reindex(posed)
    estimated = ["ratio", "low", "high", "between_sd"]
    numbers = [*estimated, *modelled.columns]
    table[list(modelled.columns)] = modelled.to_numpy()
    table[numbers] = table[numbers].astype(float).round(RATIO_DIGITS)
    linked = panel.counted.line("linked")
    hidden = [
        not may_show(linked.get(setup, {}), smallest_cell=panel.smallest_cell)
        for setup in table["setup"]
    ]
    table.loc[hidden, estimated] = np.nan
    table.loc[withheld, estimated] = np.nan
    for column in ("setup", "reference"):
        table[column] = table[column].map(panel.labels)
    table = table.assign(movement=panel.movement)
    return table[["movement", "setup", "reference", *COUNTS, *numbers, "status"]]


def _predictions(curve: CurveTest | None, variant: pd.Series) -> pd.DataFrame:
    """Predicted ratios by setup, and by variant for its own range on any station."""
    wanted = ["setup", "predicted", "predicted_low", "predicted_high"]
    residuals = pd.DataFrame() if curve is None else curve.residuals
    rows = residuals.reindex(columns=wanted).astype({"setup": "object"})
    of_variant = rows[~rows["setup"].str.contains("[", regex=False).astype(bool)]
    of_variant = of_variant.assign(setup=of_variant["setup"].map(variant))
    both = pd.concat([rows, of_variant]).dropna(subset="setup")
    return both.drop_duplicates("setup").set_index("setup")


def week_table(panel: Panel) -> pd.DataFrame:
    """Mean strength by setup and week.

    Parameters
    ----------
    panel : Panel
        What is shown.

    Returns
    -------
    weeks : DataFrame
        ``movement, setup, week, lifters, sets, mean_kg, change_frac, status``.
        ``change_frac`` is the mean strength of the lifters who trained that week
        relative to the same lifters' own mean of the whole log; ``mean_kg`` is
        that change applied to the mean of all lifters of the setup.

    Notes
    -----
    A plain mean of each week would rise and fall with who came, and subtracting
    two weeks would give away the strength of the one who did not.
    """
    weekly = panel.counted.changes
    weekly = weekly[weekly["setup"].isin(panel.shown)].set_index(["setup", "week"])
    change = np.expm1(weekly["change"] / weekly["lifters"]).round(2)
    change = change[weekly["lifters"] >= panel.smallest_cell].rename("change_frac")
    levels = panel.counted.levels.set_index("setup")
    whole = levels["level"] / levels["lifters"]
    parts = [
        count_line(panel, "week", setup=setup).assign(setup=setup)
        for setup in panel.shown
    ]
    if not parts:
        return pd.DataFrame(columns=WEEK_COLUMNS)
    table = pd.concat(parts, ignore_index=True).astype(
        {"week": change.index.levels[1].dtype}
    )
    table = table.merge(change.reset_index(), on=["setup", "week"], how="left")
    table.loc[table["status"] == SUPPRESSED, "change_frac"] = np.nan
    mean_kg = np.exp(table["setup"].map(whole)) * (1 + table["change_frac"])
    table = table.assign(movement=panel.movement, mean_kg=mean_kg.round(1))
    return table[WEEK_COLUMNS]


def quality_table(panel: Panel) -> pd.DataFrame:
    """Count what the sets of each setup rest on.

    Parameters
    ----------
    panel : Panel
        What is shown.

    Returns
    -------
    quality : DataFrame
        ``movement, setup, kind, lifters, sets, status``: one row per setup and kind
        of evidence, one per setup for ``any``, and the movement's total, ``all``.
    """
    everybody = published(panel.counted.lifters, panel.smallest_cell)
    parts = [pd.DataFrame([{"setup": "all", "kind": "any", **everybody}])]
    setups = count_line(panel, "setup").assign(kind="any")
    for setup, row in setups.groupby("setup"):
        parts.append(row)
        if setup in panel.shown:
            parts.append(
                count_line(panel, "kind", setup=str(setup)).assign(setup=setup)
            )
    table = pd.concat(parts, ignore_index=True)
    table["setup"] = table["setup"].map({"all": "all"} | panel.labels)
    table = table.assign(movement=panel.movement)
    return table[QUALITY_COLUMNS].astype({"lifters": "Int64", "sets": "Int64"})


def sticking_table(panel: Panel, modelled: pd.DataFrame | None) -> pd.DataFrame:
    """Angles at which sets failed, by setup, beside the modelled ones.

    Parameters
    ----------
    panel : Panel
        What is shown.
    modelled : DataFrame or None
        ``variant``, the joint's angle, ``low_deg, high_deg, limit_load_ratio,
        evenness`` as the mechanics stage gives them; about no lifter, so never
        withheld.

    Returns
    -------
    sticking : DataFrame
        ``movement, setup, source``, the angle, ``low_deg, high_deg,
        limit_load_ratio, evenness, lifters, status``. Logged angles are the mean over
        lifters, each counted once, with the 5th and 95th percentile of a normal spread
        between them.
    """
    hardest = "joint_deg"  # panels of several joints make one table
    numbers = [hardest, "low_deg", "high_deg", "limit_load_ratio", "evenness"]
    columns = ["movement", "setup", "source", *numbers, "lifters", "status"]
    angle = panel.counted.angles.set_index("setup")
    angle = angle[angle.index.isin(panel.shown)]
    n, mean = angle["lifters"], angle["angle"] / angle["lifters"]
    left = (angle["square"] - n * mean**2).clip(lower=0)
    half = Z90 * np.sqrt(left / (n - 1).where(n > 1))
    logged = pd.DataFrame(
        {
            "source": "logged",
            hardest: mean,
            "low_deg": mean - half,
            "high_deg": mean + half,
        }
    )
    quality = quality_table(panel)
    cells = quality[quality["kind"] == ANGLE_KIND].set_index("setup")
    logged = cells[["lifters", "status"]].join(logged).reset_index()
    logged.loc[logged["status"] == SUPPRESSED, numbers[:3]] = np.nan
    model = pd.DataFrame(columns=columns) if modelled is None else modelled
    own = angle_column(load_catalogue().variants[v] for v in model.get("variant", ()))
    model = model.rename(columns={"variant": "setup", own: hardest})
    model = model.assign(source="modelled", status=PUBLISHED)
    table = pd.concat([part.reindex(columns=columns) for part in (model, logged)])
    for column in numbers:
        digits = 0 if column.endswith("_deg") else RATIO_DIGITS
        table[column] = table[column].astype(float).round(digits)
    table = table.assign(movement=panel.movement)
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
        ``movement, verdict, p_value, weight_peaked, weight_flat, weight_inverted,
        weight_rising, weight_falling, setups, lifters``.
    """
    return pd.DataFrame(
        [
            {
                "movement": panel.movement,
                "verdict": curve.verdict,
                "p_value": round(float(curve.p_value), 4),
                **{
                    f"weight_{shape}": round(float(weight), 4)
                    for shape, weight in curve.weights.items()
                },
                "setups": len(curve.residuals),
                "lifters": rounded_count(
                    len(panel.counted.lifters), smallest_cell=panel.smallest_cell
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
        ``personal_ratios`` (``pseudonym, movement, setup, ratio, low, high``) and
        ``personal_strength`` (``pseudonym, movement, setup, week, strength_kg,
        low_kg, high_kg``), in the order of the pseudonyms.
    """
    mine = fit.personal[fit.personal["sets"] > 0]
    ratios = mine[mine["setup"].isin(panel.shown)]
    open_weeks = weeks.loc[weeks["status"] == PUBLISHED, ["setup", "week"]]
    strength = fit.trend.assign(week=week_of(fit.trend["date"])).merge(open_weeks)
    by_week = strength.groupby(["lifter", "setup", "week"], as_index=False).mean(
        numeric_only=True
    )
    names = pseudonyms(sorted(panel.counted.lifters), key=key)
    numbers = {
        "personal_ratios": (ratios, ["ratio", "low", "high"], 2),
        "personal_strength": (by_week, ["strength_kg", "low_kg", "high_kg"], 1),
    }
    found = {}
    for name, (rows, columns, digits) in numbers.items():
        rounded = rows[columns].astype(float).round(digits)
        rows = rows.assign(
            pseudonym=rows["lifter"].map(names), movement=panel.movement, **rounded
        )
        order = [column for column in PERSONAL_ORDER if column in rows]
        found[name] = rows[[*order, *columns]].sort_values(order, ignore_index=True)
    return found
