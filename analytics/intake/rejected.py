"""Rejected rows come back: as a table to fix in the app, or through a CSV file."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterable, Iterator
from pathlib import Path

import duckdb
import pandas as pd

from analytics.errors import FileRefusedError, InputError
from analytics.intake import steps
from analytics.intake.column_map import ColumnMap, parse_column_map
from analytics.intake.results import IntakeResult
from analytics.intake.take_in import take_in
from analytics.outgoing import as_before, exact_csv_text, frame_csv
from analytics.store import Store
from analytics.store.engine import first_row
from analytics.store.people import note
from analytics.store.private import scratch_folder
from analytics.store.schema import statement

NUMBER = "rejected row"


def rejected_table(store: Store, intake_id: int) -> pd.DataFrame:
    """Rows of one intake that wait, with their cells under the file's own headers.

    Parameters
    ----------
    store : Store
        The store.
    intake_id : int
        From `store.intakes`.

    Returns
    -------
    table : DataFrame
        Mapped headers of the file, then ``problem`` and ``accepted``, and first
        ``rejected row``, which must stay so that the row is known again.

    Raises
    ------
    InputError
        If there is no such intake.
    """
    with store.read() as con:
        headers = _headers(con, intake_id)[0]
        rows = con.execute(
            statement("rejected_cells"), {"intake_id": intake_id}
        ).fetchall()
    filled = [
        [
            f"{intake_id}-{key}",
            *("" if cell is None else cell for cell in json.loads(cells)),
            problem,
            accepted,
        ]
        for key, cells, problem, accepted in rows
    ]
    return pd.DataFrame(
        filled, columns=[NUMBER, *headers, "problem", "accepted"], dtype="str"
    )


def export_rejected(store: Store, intake_id: int, path: str | Path) -> int:
    """Write the rows of one intake that wait to a CSV file for fixing.

    Parameters
    ----------
    store : Store
        The store.
    intake_id : int
        From `store.intakes`.
    path : str or Path
        CSV file, UTF-8.

    Returns
    -------
    rows : int
        Rows written.
    """
    table = rejected_table(store, intake_id)
    text = frame_csv(table, line_end="\r\n")
    Path(path).write_text(text, "utf-8-sig", newline="")
    return len(table)


def fix_rejected(store: Store, table: pd.DataFrame | str | Path) -> list[IntakeResult]:
    """Bring fixed rows back; they are checked like any file.

    Parameters
    ----------
    store : Store
        The store.
    table : DataFrame or path
        From `rejected_table`, or a CSV file from `export_rejected`, with cells fixed.
        Rows that are left out go on waiting.

    Returns
    -------
    results : list of IntakeResult
        One for each intake that rows came from. What is rejected again waits in
        place of the row before.

    Raises
    ------
    InputError
        If the table lacks its first column, or a row is not waiting.
    """
    frame = table if isinstance(table, pd.DataFrame) else _read(Path(table))
    return [
        _bring_back(store, intake_id, rows, keys)
        for intake_id, rows, keys in _of_intakes(frame)
    ]


def dismiss_rejected(store: Store, table: pd.DataFrame) -> int:
    """Dismiss rows that wait: they are not asked about again, also in a longer file.

    Parameters
    ----------
    store : Store
        The store.
    table : DataFrame
        Rows of `rejected_table`.

    Returns
    -------
    dismissed : int
        Rows that do not wait any more. Undoing their import forgets them.

    Raises
    ------
    InputError
        If the table lacks its first column, or a row is not waiting.
    """
    dismissed = 0
    with store.write() as con:
        for intake_id, _, keys in _of_intakes(table):
            _all_wait(con, intake_id, keys)
            for key in keys:
                con.execute(
                    "UPDATE rejected_row SET fixed_by = 0 WHERE row_key = $key "
                    "AND fixed_by IS NULL",
                    {"key": key},
                )
            note(con, store.asking, "dismissed rows", intake_id=intake_id)
            dismissed += len(keys)
    return dismissed


def _of_intakes(
    frame: pd.DataFrame,
) -> Iterator[tuple[int, pd.DataFrame, list[int]]]:
    """Part rows by the intake they come from, with the keys they wait under."""
    if NUMBER not in frame.columns:
        raise InputError(f"the table lacks the column `{NUMBER}`; export it anew")
    marks = frame[NUMBER].astype(str).str.lstrip("'").str.extract(r"^(\d+)-(\d+)$")
    if marks.isna().to_numpy().any():
        wrong = frame.loc[marks.isna().any(axis=1), NUMBER].iloc[0]
        raise InputError(f"`{wrong}` in `{NUMBER}` is not as exported; export it anew")
    for intake_id, rows in frame.groupby(marks[0].astype(int)):
        yield int(intake_id), rows, [int(key) for key in marks.loc[rows.index, 1]]


def _all_wait(
    con: duckdb.DuckDBPyConnection, intake_id: int, keys: Iterable[int]
) -> None:
    waiting = {row[0] for row in con.execute(
        steps.statement("waiting_keys"), {"id": intake_id}
    ).fetchall()}  # fmt: skip
    if gone := [key for key in keys if key not in waiting]:
        raise InputError(f"row `{intake_id}-{gone[0]}` does not wait any more")


def _read(path: Path) -> pd.DataFrame:
    try:
        cells = pd.read_csv(
            path, dtype="str", keep_default_na=False, encoding="utf-8-sig",
            sep=None, engine="python",
        )  # fmt: skip
    except (OSError, ValueError, csv.Error) as error:
        raise FileRefusedError(f"`{path.name}` cannot be read: {error}") from error
    return cells.map(as_before).rename(columns=as_before)


def _headers(con: object, intake_id: int) -> tuple[list[str], str, str]:
    found = first_row(
        con,  # type: ignore[arg-type]
        "SELECT headers, column_map, file FROM intake WHERE intake_id = $id",
        {"id": intake_id},
    )
    if found is None:
        raise InputError(
            f"no intake {intake_id}; `lacertus rejected` shows their numbers"
        )
    return json.loads(found[0]), found[1], found[2]


def _bring_back(
    store: Store, intake_id: int, rows: pd.DataFrame, keys: list[int]
) -> IntakeResult:
    with store.read() as con:
        headers, text, file = _headers(con, intake_id)
        _all_wait(con, intake_id, keys)
    if missing := [name for name in headers if name not in rows.columns]:
        raise InputError(f"the table lacks the column `{missing[0]}`; export it anew")
    column_map = parse_column_map(text)
    plain = ColumnMap(
        read={"delimiter": ",", "decimal": column_map.read.get("decimal", "."),
              "fill_down": False},  # the cells that came back are filled
        columns=column_map.columns, settings=column_map.settings,
        effort=column_map.effort,
    )  # fmt: skip
    with scratch_folder() as folder:
        path = folder / f"{Path(file).stem} fixed.csv"
        cells = rows[headers].fillna("").astype(str)
        path.write_text(exact_csv_text(headers, cells.to_numpy()), "utf-8", newline="")
        return take_in(store, path, column_map=plain, fixes=tuple(keys))
