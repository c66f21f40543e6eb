"""The staged cells of one file, as the stages that read them ask for them."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files
from typing import Any

import duckdb
import pyarrow as pa

from analytics.errors import FileRefusedError
from analytics.intake.fields import BODY_FIELDS, READERS, unsided
from analytics.intake.staging import SHEET_STEP, Plan, slots
from analytics.store.engine import first_row

MOST_TEXTS = 300_000
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


class Staged:
    """Cells in the view ``entry``, and what is known of them so far.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection after `staging.stage`.
    plan : Plan
        File.

    Attributes
    ----------
    mapped : set of str
        Fields that have a column.
    odd : set of str
        Fields with a cell that is no plain number.
    decimal : str
        ``.``, ``,`` or ``?`` while no number shows which.
    order : str
        Order of day and month.
    flat : bool
        Every row is one set.
    notes : list of str
        What the file proved, in sentences.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
        self.con = con
        self.plan = plan
        self.columns = plan.column_map.columns
        self.settings = plan.column_map.settings
        self.bodies = plan.column_map.kind == "bodies"
        self.file = f"`{plan.path.name}`"
        self.mapped = {unsided(field) for field in self.columns}
        self.odd: set[str] = set()
        self.decimal, self.order = ".", "iso"
        self.flat = len(slots(plan)) == 1
        self.notes: list[str] = []

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
            f"AND {condition} LIMIT {MOST_TEXTS + 1}"
        ).fetchall()
        if len(found) > MOST_TEXTS:
            raise FileRefusedError(
                f"{self.file} column {self.header(field)} holds more than {MOST_TEXTS} "
                f"different texts, such as `{found[0][0][:40]}`; is it {field}?"
            )
        return [row[0] for row in found]

    def odd_texts(self, field: str) -> list[str]:
        """List the texts of a field that are no plain numbers.

        Parameters
        ----------
        field : str
            One of the fields.

        Returns
        -------
        texts : list of str
            None at all for a field without such cells.
        """
        return self.texts(field, f"plain({field}) IS NULL") if field in self.odd else []

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

    def set_decimal(self, decimal: str) -> None:
        """Read plain numbers with a decimal sign, and find the fields with others.

        Parameters
        ----------
        decimal : str
            ``.``, ``,`` or ``?``.
        """
        self.decimal = decimal
        self.con.execute(statement("plain_comma" if decimal == "," else "plain_point"))
        self.find_odd()

    def find_odd(self) -> None:
        """Set ``odd`` in one pass over the cells."""
        known = self.mapped | (
            {"reps", "load"} if "shorthand" in self.mapped else set()
        )
        fields = [field for field in (*READERS, "load", "body_mass") if field in known]
        if self.bodies:
            fields = [field for field in fields if field in BODY_FIELDS]
        if fields:
            tests = ", ".join(
                f"bool_or({field} IS NOT NULL AND plain({field}) IS NULL)"
                for field in fields
            )
            found = first_row(self.con, f"SELECT {tests} FROM entry") or ()
            self.odd = {f for f, odd in zip(fields, found, strict=True) if odd}
