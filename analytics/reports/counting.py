"""Who did what: the counted sets, and which cells of the counts are withheld.

Counts form a tree: all sets = the movements, a movement = its setups, a setup = its
weeks, a setup = its kinds of evidence. Every level is one line for the rule in
:mod:`analytics.reports.disclosure`, and no other totals are published.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import pandas as pd

from analytics.catalogue import load_catalogue
from analytics.reports.counted import Counted
from analytics.reports.disclosure import (
    Codes,
    Tally,
    may_show,
    rounded_count,
    suppressed_cells,
)
from analytics.strength import StrengthFit

PUBLISHED, SUPPRESSED = "published", "suppressed"
WITHHELD_NAME = "one's own"  # a name people made up may tell who they are
QUALITY_COLUMNS = ["movement", "setup", "kind", "lifters", "sets", "status"]


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
    done = counted.line("setup")
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
    line = panel.counted.line(column, setup=setup)
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


def published(codes: Codes, smallest_cell: int) -> dict[str, object]:
    """Return lifters, sets and status of a cell that may be shown.

    Parameters
    ----------
    codes : Counter or Tally
        How many sets each lifter did.
    smallest_cell : int
        Lifters a published cell holds at least.

    Returns
    -------
    cell : dict
        ``lifters, sets, status``.
    """
    done = Tally.of(codes)
    lifters, sets = (
        rounded_count(count, smallest_cell=smallest_cell)
        for count in (done.lifters, done.sets)
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
