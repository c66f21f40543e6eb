"""Who did what: the counted sets, and which cells of the counts are withheld.

Counts form a tree: all sets = the movements, a movement = its setups, a setup = its
weeks, a setup = its kinds of evidence. Every level is one line for the rule in
:mod:`analytics.reports.disclosure`, and no other totals are published.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.intervals import week_of
from analytics.reports.disclosure import may_show, rounded_count, suppressed_cells
from analytics.strength import StrengthFit

PUBLISHED, SUPPRESSED = "published", "suppressed"
ANGLE_KIND = "failure with angle"
WITHHELD_NAME = "one's own"  # a name people made up may tell who they are
LIFTED = (
    *("performed_on", "variant", "equipment", "side", "load_kg", "body_mass_kg"),
    *("arms_share", "reps", "rir", "failed", "failed_at_deg", "hold_s", "angle_deg"),
    *("range_from_deg", "range_to_deg"),
)
QUALITY_COLUMNS = ["movement", "setup", "kind", "lifters", "sets", "status"]


CELLS = ["lifter", "setup", "week", "kind"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Counted:
    """What tables of one movement are made of; that of several lifters adds up.

    Attributes
    ----------
    everyone : DataFrame
        ``lifter, sets``: all stored sets.
    cells : DataFrame
        ``lifter, setup, week, kind, sets``: those the fit has.
    changes : DataFrame
        ``setup, week, lifters, change``: sum over lifters of their mean log strength
        of the week less that of their whole log.
    levels : DataFrame
        ``setup, lifters, level``: sum of the means of their whole logs.
    angles : DataFrame
        ``setup, lifters, angle, square``: sums of each lifter's mean failure angle and
        of its square.
    """

    everyone: pd.DataFrame
    cells: pd.DataFrame
    changes: pd.DataFrame
    levels: pd.DataFrame
    angles: pd.DataFrame

    @property
    def lifters(self) -> Counter[str]:
        """How many sets of the fit each lifter did."""
        return by_lifter(self.cells)


def count_sets(fit: StrengthFit | None, sets: pd.DataFrame) -> Counted:
    """Count what some lifters add to the tables of one movement.

    Parameters
    ----------
    fit : StrengthFit or None
        Of these lifters; None where nothing but their sets is to be counted.
    sets : DataFrame
        Their stored sets of the movement.

    Returns
    -------
    counted : Counted
    """
    everyone = sets.groupby("lifter").size().rename("sets").reset_index()
    none = pd.DataFrame(columns=[*CELLS, "failed_at_deg", "sets"])
    known = none if fit is None else counted_sets(fit, sets)
    trend = pd.DataFrame(columns=["lifter", "setup", "date", "strength_kg"])
    changes, levels = _changes(trend if fit is None else fit.trend)
    own = ["setup", "lifter"]
    angle = known[known["kind"] == ANGLE_KIND].groupby(own)["failed_at_deg"].mean()
    angle = angle.astype(float).reset_index(name="angle")
    return Counted(
        everyone=everyone,
        cells=known.groupby(CELLS).size().rename("sets").reset_index(),
        changes=changes,
        levels=levels,
        angles=angle.assign(lifters=1, square=angle["angle"] ** 2)
        .groupby("setup", as_index=False)[["lifters", "angle", "square"]]
        .sum(),
    )


def _changes(trend: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    level = np.log(trend["strength_kg"].astype(float))
    own = level.groupby([trend["lifter"], trend["setup"]]).transform("mean")
    trend = trend.assign(
        week=week_of(pd.to_datetime(trend["date"])), change=level - own, level=own
    )
    weekly = trend.groupby(["setup", "week", "lifter"])["change"].mean()
    whole = trend.groupby(["setup", "lifter"])["level"].first()
    return (
        weekly.groupby(["setup", "week"]).agg(["size", "sum"]).reset_index()
        .set_axis(["setup", "week", "lifters", "change"], axis=1),
        whole.groupby("setup").agg(["size", "sum"]).reset_index()
        .set_axis(["setup", "lifters", "level"], axis=1),
    )  # fmt: skip


def together(parts: Sequence[Counted]) -> Counted:
    """Add up what was counted of groups of lifters that have none in common.

    Parameters
    ----------
    parts : sequence of Counted
        One or more, always in the same order for the same sums to the last digit.

    Returns
    -------
    counted : Counted
    """

    def added(name: str, keys: list[str]) -> pd.DataFrame:
        tables = [getattr(part, name) for part in parts]
        filled = [table for table in tables if len(table)] or tables[:1]
        return pd.concat(filled).groupby(keys, as_index=False).sum()

    return Counted(
        everyone=added("everyone", ["lifter"]),
        cells=added("cells", CELLS),
        changes=added("changes", ["setup", "week"]),
        levels=added("levels", ["setup"]),
        angles=added("angles", ["setup"]),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Panel:
    """The counted sets, and which setups may be shown.

    Attributes
    ----------
    movement : str
        Which movement.
    counted : Counted
        Of every set of the movement.
    shown : tuple of str
        Setups that are published.
    labels : dict of str to str
        Label of every setup, each another; a withheld one is called by its variant in
        the catalogue alone, and numbered where that is taken.
    smallest_cell : int
        Lifters a published cell holds at least.
    """

    movement: str
    counted: Counted
    shown: tuple[str, ...]
    labels: dict[str, str]
    smallest_cell: int


def counted_sets(fit: StrengthFit, sets: pd.DataFrame) -> pd.DataFrame:
    """Sort the sets of a fit into setups, weeks and kinds of evidence.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    sets : DataFrame
        Stored sets of the same movement.

    Returns
    -------
    counted : DataFrame
        ``set_id, lifter, setup, week, kind, failed_at_deg, digest``; the last of what
        was lifted.
    """
    points = fit.set_points[["set_id", "setup", "kind"]]
    known = sets.merge(points, on="set_id", how="inner")
    angle = (known["kind"] == "failure") & known["failed_at_deg"].notna()
    names = ["set_id", "lifter", "setup", "failed_at_deg"]
    return known[names].assign(
        week=week_of(known["performed_on"]),
        kind=known["kind"].where(~angle, ANGLE_KIND),
        digest=digests(known),
    )


def digests(sets: pd.DataFrame) -> pd.Series:
    """Return a number for each set that changes with what was lifted.

    Parameters
    ----------
    sets : DataFrame
        Stored sets.

    Returns
    -------
    digest : Series of int
    """
    lifted = [name for name in LIFTED if name in sets]
    return pd.util.hash_pandas_object(sets[lifted], index=False)


def count_panel(fit: StrengthFit, counted: Counted, *, smallest_cell: int) -> Panel:
    """Choose which setups are shown.

    Parameters
    ----------
    fit : StrengthFit
        Of one movement.
    counted : Counted
        The same movement's sets.
    smallest_cell : int
        Lifters a published cell must hold at least, 5 or more.

    Returns
    -------
    panel : Panel
        What all count tables are made of.
    """
    done = _line(counted.cells, "setup")
    withheld = suppressed_cells(done, smallest_cell=smallest_cell)
    variant = fit.setups.set_index("setup")["variant"]
    shown = tuple(s for s in fit.setups["setup"] if s in done and s not in withheld)
    hidden = [] if withheld == set(done) else [s for s in done if s in withheld]
    names = _numbered([_in_catalogue(str(variant[s])) for s in hidden], taken=shown)
    return Panel(
        movement=fit.movement,
        counted=counted,
        shown=shown,
        labels={s: s for s in shown} | dict(zip(hidden, names, strict=True)),
        smallest_cell=smallest_cell,
    )


def _line(cells: pd.DataFrame, column: str) -> dict[Any, Counter[str]]:
    """How many sets of each cell of a line each lifter did."""
    return {cell: by_lifter(group) for cell, group in cells.groupby(column)}


def by_lifter(rows: pd.DataFrame) -> Counter[str]:
    """Count sets by lifter.

    Parameters
    ----------
    rows : DataFrame
        ``lifter, sets``.

    Returns
    -------
    sets : Counter
    """
    return Counter(rows.groupby("lifter")["sets"].sum().to_dict())


def count_line(panel: Panel, column: str, *, setup: str | None = None) -> pd.DataFrame:
    """Count one line of the tree.

    Parameters
    ----------
    panel : Panel
        The counted sets.
    column : str
        ``setup``, ``week`` or ``kind``.
    setup : str, optional
        Whose weeks or kinds.

    Returns
    -------
    line : DataFrame
        ``column, lifters, sets, status``; no rows if every cell is withheld.
    """
    cells = panel.counted.cells
    line = _line(cells if setup is None else cells[cells["setup"] == setup], column)
    withheld = suppressed_cells(line, smallest_cell=panel.smallest_cell)
    rows = [
        {column: cell, "lifters": pd.NA, "sets": pd.NA, "status": SUPPRESSED}
        if cell in withheld
        else {column: cell, **published(codes, panel.smallest_cell)}
        for cell, codes in line.items()
        if withheld != set(line)
    ]
    table = pd.DataFrame(rows, columns=[column, "lifters", "sets", "status"])
    return table.astype({"lifters": "Int64", "sets": "Int64"})


def linked_sets(cells: pd.DataFrame, reference: str) -> dict[str, Counter[str]]:
    """Count the sets of a setup by those who did the reference too.

    Parameters
    ----------
    cells : DataFrame
        ``lifter, setup, sets``.
    reference : str
        The setup ratios refer to.

    Returns
    -------
    linked : dict of str to Counter
        Sets by lifter, by setup: only they tell its ratio.
    """
    there = cells.loc[cells["setup"] == reference, "lifter"]
    return _line(cells[cells["lifter"].isin(there)], "setup")


def published(codes: Counter[str], smallest_cell: int) -> dict[str, object]:
    """Return lifters, sets and status of a cell that may be shown.

    Parameters
    ----------
    codes : Counter
        How many sets each lifter did.
    smallest_cell : int
        Lifters a published cell holds at least.

    Returns
    -------
    cell : dict
        ``lifters, sets, status``.
    """
    lifters, sets = (
        rounded_count(count, smallest_cell=smallest_cell)
        for count in (len(codes), codes.total())
    )
    return {"lifters": lifters, "sets": sets, "status": PUBLISHED}


def _in_catalogue(name: str) -> str:
    """Return a name of the catalogue, and none that people made up."""
    catalogue = load_catalogue()
    known = name in catalogue.variants or name in catalogue.movements
    return name if known else WITHHELD_NAME


def _numbered(names: Sequence[str], *, taken: Iterable[str]) -> list[str]:
    """Tell equal names apart by a number, so that no two rows share a key."""
    counts = Counter(["all", *taken])
    told = []
    for name in names:
        counts[name] += 1
        told.append(name if counts[name] == 1 else f"{name} ({counts[name]})")
    return told


def movement_totals(
    lifter_of_sets: Mapping[str, Counter[str]], *, smallest_cell: int
) -> pd.DataFrame:
    """Count the line above the movements: their total, and those withheld.

    Parameters
    ----------
    lifter_of_sets : mapping of str to Counter
        How many sets of each movement each lifter did; one at least may be shown.
    smallest_cell : int
        Lifters a published movement holds at least.

    Returns
    -------
    totals : DataFrame
        ``movement, setup, kind, lifters, sets, status``: the total of several
        movements as movement ``all``, and a row per movement of fewer lifters.

    Notes
    -----
    Where the total less the published movements would tell of few lifters, the total
    is withheld and not another movement: of all cells of the line it says least.
    """
    small = {
        movement
        for movement, codes in lifter_of_sets.items()
        if not may_show(codes, smallest_cell=smallest_cell)
    }
    everything: Counter[str] = Counter()
    for codes in lifter_of_sets.values():
        everything.update(codes)
    safe = suppressed_cells(
        lifter_of_sets, smallest_cell=smallest_cell
    ) == small and may_show(everything, smallest_cell=smallest_cell)
    nothing = {"lifters": pd.NA, "sets": pd.NA, "status": SUPPRESSED}
    rows = [
        {"movement": "all"}
        | (published(everything, smallest_cell) if safe else nothing)
    ] * (len(lifter_of_sets) > 1)
    hidden = [_in_catalogue(m) for m in lifter_of_sets if m in small]
    published_ones = [m for m in lifter_of_sets if m not in small]
    rows += [
        {"movement": name} | nothing for name in _numbered(hidden, taken=published_ones)
    ]
    table = pd.DataFrame(rows, columns=QUALITY_COLUMNS).assign(setup="all", kind="any")
    return table.astype({"lifters": "Int64", "sets": "Int64"})
