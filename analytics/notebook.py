"""The public face: a store that takes logs in, and a fit of it or of a DataFrame."""

from __future__ import annotations

from pathlib import Path

import pandas as pd

from analytics import intake, strength
from analytics import store as stored
from analytics.catalogue import main_movement
from analytics.errors import InputError
from analytics.evidence import curve_test
from analytics.intake import IntakeResult
from analytics.strength import StrengthFit
from analytics.table_schema import columns

__all__ = ["Store", "columns", "curve_test", "fit"]


class Store(stored.Store):
    """A DuckDB file of logs; it is made when the first log is taken in."""

    def intake(
        self,
        path: str | Path,
        *,
        columns: str | Path | None = None,
        lifter: str | None = None,
        unit: str | None = None,
        dates: str | None = None,
        trial: bool = False,
    ) -> IntakeResult:
        """Take one file in, wholly or not at all.

        Parameters
        ----------
        path : str or Path
            CSV, TSV, XLSX, JSON or Parquet file.
        columns : str or Path, optional
            A column map, TOML.
        lifter : str, optional
            Code for rows without one.
        unit : str, optional
            ``kg``, ``lb`` or ``stone`` for loads without one.
        dates : str, optional
            ``dmy``, ``mdy`` or ``iso``.
        trial : bool
            Count and check, but store nothing.

        Returns
        -------
        result : IntakeResult
            Counts, and the rejected rows with the reason.

        Raises
        ------
        FileRefusedError
            If the file is no log, or leaves units or the order of dates open.
        """
        return intake.take_in(
            self,
            path,
            column_map=None if columns is None else intake.read_column_map(columns),
            lifter=lifter,
            unit=unit,
            dates=dates,
            trial=trial,
        )

    def sets(self, movement: str | None = None) -> pd.DataFrame:
        """List the sets that are stored.

        Parameters
        ----------
        movement : str, optional
            Only of this one.

        Returns
        -------
        sets : DataFrame
            One row per set, ready for `fit`.
        """
        return stored.sets(self, movement=movement)

    def rejected(self) -> pd.DataFrame:
        """List the rows that were not taken in, and why.

        Returns
        -------
        rejected : DataFrame
            ``intake_id, file, row, column, value, problem, accepted``.
        """
        return stored.rejected(self)


def fit(
    data: stored.Store | pd.DataFrame,
    movement: str | None = None,
    *,
    reference: str | None = None,
) -> StrengthFit:
    """Estimate strength over time and ratios between variants of one movement.

    Parameters
    ----------
    data : Store or DataFrame
        A store, or sets with the columns that ``columns()`` lists for ``sets``.
    movement : str, optional
        Family of variants; default the one with most sets.
    reference : str, optional
        Variant or setup the ratios refer to; default that of the movement.

    Returns
    -------
    fit : StrengthFit
        With ``summary()``; a store keeps it until its sets change.

    Raises
    ------
    InputError
        If a needed column is missing or holds what cannot be read, or nobody did the
        reference asked for.
    """
    found = _fitted(data, movement, reference)
    there = {*found.setups["variant"], *found.setups["setup"]}
    if reference is not None and reference not in there:
        done = ", ".join(sorted(there))
        raise InputError(f"no set of the reference {reference!r}; there are {done}")
    return found


def _fitted(
    data: stored.Store | pd.DataFrame, movement: str | None, reference: str | None
) -> StrengthFit:
    if isinstance(data, stored.Store):
        if movement is None:
            counts = stored.movements(data).set_index("movement")["sets"]
            movement = main_movement(counts.to_dict())
        return strength.fitted(data, movement, reference=reference)
    sets = strength.completed(data)
    if movement is None:
        counts = sets["movement"].value_counts().to_dict()
        movement = main_movement(counts) if any(counts) else ""  # names of one's own
    return strength.fit_strength(
        sets[sets["movement"] == movement], reference=reference
    )
