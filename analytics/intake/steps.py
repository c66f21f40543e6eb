"""The steps from the bytes of a file to sets, and what each hands to the next.

`planning` makes a `Plan` of the bytes, `staging` its `Rows`; `reading` finds what they
mean and gives `Values`, which `checks` makes `Judged`; `store.append` keeps those.
Every step names its relations: tables or views of the connection of this one file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import duckdb
import pyarrow as pa

from analytics.errors import FileRefusedError
from analytics.intake.fields import BODY_FIELDS, LOADS, READERS
from analytics.intake.plan import SHEET_STEP, Plan
from analytics.store.engine import first_row
from analytics.tables import bounds

_SQL = files("analytics.intake") / "sql"


def statement(name: str) -> str:
    """Text of one statement of `sql/`.

    Parameters
    ----------
    name : str
        File name without its ending.

    Returns
    -------
    text : str
        The statement.
    """
    return (_SQL / f"{name}.sql").read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """Cells of the file: the relation ``entry``, a row per set and a column per field.

    Attributes
    ----------
    con : DuckDBPyConnection
        Where the relations of this file are.
    plan : Plan
        File.
    mapped : frozenset of str
        Fields that have a cell.
    flat : bool
        Every row of the file is one set.
    """

    con: duckdb.DuckDBPyConnection
    plan: Plan
    mapped: frozenset[str]
    flat: bool

    @property
    def columns(self) -> Mapping[str, tuple[str, ...]]:
        """Headers by field."""
        return self.plan.column_map.columns

    @property
    def settings(self) -> Mapping[str, Any]:
        """Settings of the column map."""
        return self.plan.column_map.settings

    @property
    def bodies(self) -> bool:
        """Whether the file holds measurements of bodies."""
        return self.plan.column_map.kind == "bodies"

    @property
    def file(self) -> str:
        """Name for messages."""
        return f"`{self.plan.path.name}`"

    def texts(self, field: str, condition: str = "true") -> list[str]:
        """List the different texts of a field.

        Parameters
        ----------
        field : str
            One of the fields.
        condition : str
            SQL on that field.

        Returns
        -------
        texts : list of str
            In no order.

        Raises
        ------
        FileRefusedError
            If there are more than any log has.
        """
        found = self.con.execute(
            f"SELECT DISTINCT {field} FROM entry WHERE {field} IS NOT NULL "
            f"AND {condition} LIMIT {bounds.MOST_TEXTS + 1}"
        ).fetchall()
        if len(found) > bounds.MOST_TEXTS:
            raise FileRefusedError(
                f"{self.file} column {self.header(field)} holds more than "
                f"{bounds.MOST_TEXTS} different texts, such as "
                f"`{found[0][0][:40]}`; is it {field}?"
            )
        return [row[0] for row in found]

    def unplain_texts(self, field: str) -> list[str]:
        """List the texts of a field that hold more than printable ASCII.

        Parameters
        ----------
        field : str
            One of the fields.

        Returns
        -------
        texts : list of str
            In no order.
        """
        # Materialised, since else every row and not every text is looked through.
        found = self.con.execute(
            f"WITH text AS MATERIALIZED (SELECT DISTINCT {field} AS it FROM entry) "
            "SELECT it FROM text WHERE regexp_matches(it, '[^ -~]')"
        ).fetchall()
        return [row[0] for row in found]

    def header(self, field: str) -> str:
        """Name the column of a field in a message.

        Parameters
        ----------
        field : str
            One of the fields.

        Returns
        -------
        header : str
            The file's own header.
        """
        return f"`{self.columns.get(field, (field,))[0]}`"

    def row_of(self, field: str, text: str) -> int:
        """Find the first row with a text.

        Parameters
        ----------
        field, text : str
            Field and its cell.

        Returns
        -------
        row : int
            The file's own number.
        """
        query = f"SELECT min(row_no) FROM entry WHERE {field} = $text"
        found = first_row(self.con, query, {"text": text})
        return int(found[0]) % SHEET_STEP if found else 0

    def keep(
        self, name: str, columns: Sequence[tuple[str, pa.DataType]], rows: Sequence[Any]
    ) -> None:
        """Make a table of what was read.

        Parameters
        ----------
        name : str
            Of the table.
        columns : sequence of (str, DataType)
            Names and types.
        rows : sequence of tuple
            Values.
        """
        arrays = [
            pa.array([row[at] for row in rows], kind)
            for at, (_, kind) in enumerate(columns)
        ]
        self.con.register("read", pa.table(arrays, names=[name for name, _ in columns]))
        self.con.execute(f"CREATE TEMP TABLE {name} AS SELECT * FROM read")
        self.con.unregister("read")


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbers:
    """How plain numbers are read; the macro ``plain`` of the connection does it.

    Attributes
    ----------
    sign : str
        ``.``, ``,`` or ``?`` while no number shows which.
    irregular : frozenset of str
        Fields with a cell that is no plain number.
    note : str
        What proved the sign, if anything had to.
    """

    sign: str
    irregular: frozenset[str]
    note: str = ""

    def irregular_texts(self, rows: Rows, field: str) -> list[str]:
        """List the texts of a field that are no plain numbers.

        Parameters
        ----------
        rows : Rows
            Cells.
        field : str
            One of the fields.

        Returns
        -------
        texts : list of str
            None at all for a field without such cells.
        """
        return (
            rows.texts(field, f"plain({field}) IS NULL")
            if field in self.irregular
            else []
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Values:
    """Value of every cell: ``valued``, with ``cell``, ``day_cell`` and ``name_cell``.

    Attributes
    ----------
    rows : Rows
        Cells.
    sign, order : str
        Decimal sign, and order of day and month.
    filled : list of str
        Columns of the store that can have a value in this file.
    params : dict
        What holds for the whole file: unit, lifter, effort.
    notes : tuple of str
        What the file proved, in sentences.
    """

    rows: Rows
    sign: str
    order: str
    filled: list[str]
    params: dict[str, Any]
    notes: tuple[str, ...]


def plain_numbers(rows: Rows, sign: str) -> Numbers:
    """Read plain numbers with a decimal sign, and find the fields with others.

    Parameters
    ----------
    rows : Rows
        Cells.
    sign : str
        ``.`` or ``,``.

    Returns
    -------
    numbers : Numbers
        From one pass over the cells.
    """
    rows.con.execute(statement("plain_comma" if sign == "," else "plain_point"))
    return Numbers(sign=sign, irregular=irregular_fields(rows))


def irregular_fields(rows: Rows) -> frozenset[str]:
    """Find the fields with a cell that is no plain number.

    Parameters
    ----------
    rows : Rows
        Cells, with the macro ``plain`` defined.

    Returns
    -------
    irregular : frozenset of str
        From one pass over the cells.
    """
    known = rows.mapped | ({"reps", "load"} if "shorthand" in rows.mapped else set())
    fields = [field for field in (*READERS, *LOADS) if field in known]
    if rows.bodies:
        fields = [field for field in fields if field in BODY_FIELDS]
    if not fields:
        return frozenset()
    tests = ", ".join(
        f"bool_or({field} IS NOT NULL AND plain({field}) IS NULL)" for field in fields
    )
    found = first_row(rows.con, f"SELECT {tests} FROM entry") or ()
    return frozenset(f for f, irregular in zip(fields, found, strict=True) if irregular)
