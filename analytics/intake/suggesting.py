"""How a file could be read, for a person to confirm."""

from __future__ import annotations

from collections.abc import Sequence
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
    sheets : tuple of str
        Of a workbook those that have a header, chosen or not.
    """

    column_map: ColumnMap
    headers: tuple[str, ...]
    remembered: bool
    questions: tuple[str, ...]
    sample: tuple[tuple[str, ...], ...]
    sheets: tuple[str, ...] = ()


def suggest_columns(
    store: Store, path: str | Path, *, sheets: Sequence[str] = ()
) -> Suggestion:
    """How a file could be read, for a person to confirm.

    Parameters
    ----------
    store : Store
        Knows the layouts confirmed before.
    path : str or Path
        File.
    sheets : sequence of str
        Only these of a workbook; all without any.

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
    opened = open_sheets(path, scanned, {})
    every = [(s, h) for s in opened if (h := find_header(s, ColumnMap())) is not None]
    found = [one for one in every if not sheets or one[0].name in sheets]
    if not found:
        choose(store, path, opened, ColumnMap(), [])
    sheet, header = found[0]
    before = remembered(store, header.signature())
    columns, doubts = suggest(header)
    column_map = before or ColumnMap(columns=settled(columns, found[0]))
    read = dict(column_map.read)
    chosen = read.pop("sheet", []) if not sheets else list(sheets)
    chosen = [chosen] if isinstance(chosen, str) else chosen
    if chosen and {*chosen} <= {sheet.name for sheet, _ in every}:
        read["sheet"] = chosen
    column_map = replace(column_map, read=read)
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
        sheets=tuple(s.name for s, _ in every) if header.sheet else (),
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
