"""Opening a file of any format."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.tables.delimited import delimited_sheet
from analytics.tables.json_file import is_json_file, json_sheet
from analytics.tables.parquet import parquet_sheet
from analytics.tables.scan import ACCEPTED, Scan
from analytics.tables.sheets import Sheet
from analytics.tables.workbook import workbook_sheets


def open_sheets(path: Path, scanned: Scan, read: dict[str, Any]) -> list[Sheet]:
    """Open a file.

    Parameters
    ----------
    path : Path
        File.
    scanned : Scan
        What its bytes say.
    read : dict
        ``[read]`` of a column map.

    Returns
    -------
    sheets : list of Sheet
        Those that hold anything.

    Raises
    ------
    FileRefusedError
        If it is damaged, hostile, holds no table, or a sheet is asked of no workbook.
    """
    if scanned.kind == "zip":
        sheets = workbook_sheets(path, read.get("sheet"))
    elif "sheet" in read:
        raise FileRefusedError(
            f"`{path.name}` is no workbook and has no sheets; leave `sheet` out for it"
        )
    elif scanned.kind == "parquet":
        sheets = [parquet_sheet(path)]
    elif is_json_file(path, scanned):
        sheets = [json_sheet(path, scanned)]
    else:
        sheets = [delimited_sheet(path, scanned, read)]
    sheets = [sheet for sheet in sheets if any(any(cells) for _, cells in sheet.lead)]
    if not sheets:
        raise FileRefusedError(f"`{path.name}` holds no rows; {ACCEPTED} is accepted")
    return sheets
