"""What became of one file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import pandas as pd

from analytics.intake.column_map import ColumnMap


@dataclass(frozen=True, slots=True, kw_only=True)
class RowIssue:
    """Why one row was rejected.

    Attributes
    ----------
    file : str
        File name, with ``#sheet`` for a workbook of several sheets.
    row : int
        Line or row in the file, counted from 1, header included.
    column : str
        The file's own header.
    value : str
        The cell as found.
    problem, accepted : str
        What is wrong, and what would be accepted.
    """

    file: str
    row: int
    column: str
    value: str
    problem: str
    accepted: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class IntakeResult:
    """What became of one file.

    Attributes
    ----------
    file : str
        File name.
    intake_id : int or None
        Number of the intake, of the earlier one if the same file was taken in before
        the same way, None if nothing is stored (a trial).
    rows_read : int
        Rows below the header with anything in a mapped column. Each is one of
        ``rows_added``, ``rows_known`` and ``rejected``.
    rows_added, rows_known : int
        Rows with at least one new set; rows all of whose sets were known.
    sets_added, already_known : int
        The same counted in sets; equal to the rows where a row is a set.
    rejected : int
        Rejected rows.
    issues : tuple of RowIssue
        The first 1000 of them; `store.rejected` has all.
    preview : DataFrame
        First sets as they would be or are stored.
    efforts_not_read : tuple of RowIssue
        Cells of sets that count without their effort, the first 1000.
    effort_words : dict of str to int
        The texts in all of them, with their numbers of sets.
    notes : tuple of str
        How the file was read, in sentences.
    warnings : tuple of str
        Those of the notes to read before it is stored.
    column_map : ColumnMap
        The map used.
    """

    file: str
    intake_id: int | None
    rows_read: int
    rows_added: int
    rows_known: int
    sets_added: int
    already_known: int
    rejected: int
    issues: tuple[RowIssue, ...]
    preview: pd.DataFrame
    notes: tuple[str, ...]
    column_map: ColumnMap
    efforts_not_read: tuple[RowIssue, ...] = ()
    effort_words: Mapping[str, int] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()

    def row(self) -> dict[str, Any]:
        """Columns of the contract.

        Returns
        -------
        row : dict
            ``file, intake_id, rows_read, sets_added, already_known, rejected``.
        """
        names = ("file", "intake_id", "rows_read", "sets_added", "already_known")
        return {name: getattr(self, name) for name in names} | {
            "rejected": self.rejected
        }
