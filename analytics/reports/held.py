"""What each lifter has in each cell of the research tables."""

from dataclasses import dataclass

import pandas as pd

from analytics.intervals import week_of
from analytics.strength import StrengthFit

ANGLE_KIND = "failure with angle"
LIFTED = (
    *("performed_on", "variant", "equipment", "side", "load_kg", "body_mass_kg"),
    *("arms_share", "reps", "rir", "failed", "failed_at_deg", "hold_s", "angle_deg"),
    *("range_from_deg", "range_to_deg"),
)
NONE = pd.Series([], dtype="datetime64[us]")
CELLS = ["lifter", "setup", "week", "kind"]
# Lines of cells within a movement. Linked are the sets of those who did the reference
# too: only they tell the ratio of a setup.
LINES = {
    "setup": ["setup"],
    "linked": ["setup"],
    "week": ["setup", "week"],
    "kind": ["setup", "kind"],
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """What each lifter has in a movement.

    Attributes
    ----------
    everyone : DataFrame
        ``lifter, sets, digest``: all stored sets.
    cells : DataFrame
        ``lifter, setup, week, kind, sets, digest``: those the fit has.
    reference : str
        Setup the ratios refer to.
    """

    everyone: pd.DataFrame
    cells: pd.DataFrame
    reference: str

    def lines(self) -> dict[str, pd.DataFrame]:
        """Count the sets of each lifter in the cells of each of ``LINES``."""
        cells = self.cells
        linked = linked_rows(cells, self.reference)
        return {
            line: (linked if line == "linked" else cells)
            .groupby([*keys, "lifter"], as_index=False)["sets"]
            .sum()
            for line, keys in LINES.items()
        }


def linked_rows(rows: pd.DataFrame, reference: str) -> pd.DataFrame:
    """Leave the rows of those who did the reference too.

    Parameters
    ----------
    rows : DataFrame
        With ``lifter`` and ``setup``.
    reference : str
        The setup ratios refer to.

    Returns
    -------
    rows : DataFrame
    """
    there = rows.loc[rows["setup"] == reference, "lifter"]
    return rows[rows["lifter"].isin(there)]


def held_sets(fit: StrengthFit | None, sets: pd.DataFrame) -> Held:
    """Tell what each of some lifters has in one movement.

    Parameters
    ----------
    fit : StrengthFit or None
        Of these lifters; None where nothing but their sets is to be counted.
    sets : DataFrame
        Their stored sets of the movement.

    Returns
    -------
    held : Held
    """
    added = {"sets": ("digest", "size"), "digest": ("digest", "sum")}
    every = sets[["lifter"]].assign(digest=digests(sets))
    if fit is None:
        known = every.head(0).assign(setup="", kind="", week=week_of(NONE))
    else:
        known = counted_sets(fit, sets)
    kinds = {"sets": "int64", "digest": "uint64"}  # of no rows too
    return Held(
        everyone=every.groupby("lifter", as_index=False).agg(**added).astype(kinds),
        cells=known.groupby(CELLS, as_index=False).agg(**added).astype(kinds),
        reference="" if fit is None else fit.reference,
    )


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
