"""How a file could be read, for a person to confirm."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from analytics.errors import FileRefusedError
from analytics.intake.column_map import ColumnMap
from analytics.intake.headers import SHEET_NAME, find_header, suggest
from analytics.intake.plan import Plan
from analytics.intake.planning import choose, remembered, settled
from analytics.intake.set_numbers import BOTH, settle_set_numbers
from analytics.intake.staging import stage
from analytics.intake.steps import plain_numbers
from analytics.intake.take_in import take_in
from analytics.store import Store
from analytics.store.engine import in_memory
from analytics.tables import open_sheets, scan


@dataclass(frozen=True, slots=True, kw_only=True)
class Suggestion:
    """How a file could be read, for a person to confirm.

    Attributes
    ----------
    column_map : ColumnMap
        From the header, or remembered from a file with the same header.
    headers : tuple of str
        All headers of the file; of a workbook the name of its sheet besides.
    remembered : bool
        The layout was confirmed before.
    questions : tuple of str
        What is open, with the evidence in the file.
    sample : tuple of tuple of str
        First rows below the header.
    """

    column_map: ColumnMap
    headers: tuple[str, ...]
    remembered: bool
    questions: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]


def suggest_columns(store: Store, path: str | Path) -> Suggestion:
    """How a file could be read, for a person to confirm.

    Parameters
    ----------
    store : Store
        Knows the layouts confirmed before.
    path : str or Path
        File.

    Returns
    -------
    suggestion : Suggestion
        Column map, open questions and first rows.

    Raises
    ------
    FileRefusedError
        If the file is no table.
    """
    path = Path(path)
    scanned = scan(path)
    sheets = open_sheets(path, scanned, {})
    found = [(s, h) for s in sheets if (h := find_header(s, ColumnMap())) is not None]
    if not found:
        choose(store, path, sheets, ColumnMap(), [])
    sheet, header = found[0]
    before = remembered(store, header.signature())
    columns, doubts = suggest(header)
    column_map = before or ColumnMap(columns=settled(columns, found[0]))
    questions = [] if before else list(doubts)
    if not before and not doubts and column_map.columns.keys() & set(BOTH):
        plan = Plan(path=path, scanned=scanned, sheets=(found[0],),
                    column_map=column_map, suggested=True)  # fmt: skip
        try:
            column_map = _with_set_numbers(plan)
        except FileRefusedError as refused:
            questions.append(str(refused).removeprefix(f"`{path.name}` "))
            kept = {n: at for n, at in column_map.columns.items() if n not in BOTH}
            column_map = replace(column_map, columns=kept)
    try:
        take_in(store, path, column_map=column_map, trial=True)
    except FileRefusedError as refused:
        questions.append(str(refused))
    sample = tuple(
        tuple(cells)
        for number, cells in sheet.lead
        if number > header.row and any(cells)
    )[:20]
    headers = header.names + ((SHEET_NAME,) if header.sheet else ())
    return Suggestion(
        column_map=column_map, headers=headers, remembered=before is not None,
        questions=tuple(questions), sample=sample,
    )  # fmt: skip


def _with_set_numbers(plan: Plan) -> ColumnMap:
    """Settle what numbers the sets, whatever else the file leaves open."""
    read = {**plan.column_map.read, "fill_down": False}
    open_map = replace(plan.column_map, read=read)
    with in_memory() as con:
        rows = stage(con, replace(plan, column_map=open_map))
        plain_numbers(rows, ".")
        columns = settle_set_numbers(rows).columns
    return replace(plan.column_map, columns=columns)
