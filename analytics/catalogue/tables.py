"""Published parameter tables as printed, and the spreads of parameters.

Converting to SI is the reader's one job here; choosing between tables is left
to the stage that uses them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from analytics.catalogue.entries import Kind, Text, entry
from analytics.catalogue.files import TomlFile

# Printed unit: factor to SI; angles stay in degrees. "" marks a text column.
_FACTORS = {"N": 1.0, "m": 1.0, "mm": 1e-3, "deg": 1.0, "rad": 1.0, "1": 1.0}


@entry
@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Table:
    """One published table, digits as printed.

    Attributes
    ----------
    name, title, source, locator, kind, note : str
        Key, content, key in ``sources.toml``, place in the source, evidence.
    units : dict of str to str
        Printed unit of each column, empty for text.
    columns : dict of str to tuple of str
        Printed values.
    """

    name: Text
    title: Text
    source: Text
    locator: Text
    kind: Kind
    note: str = ""
    units: dict[str, str]
    columns: dict[str, tuple[str, ...]]

    def numbers(self, column: str) -> NDArray[np.float64]:
        """Values of one column in SI units, angles in degrees.

        Parameters
        ----------
        column : str
            Name of a numeric column.

        Returns
        -------
        values : ndarray, shape (n_rows,)
            In the order printed.
        """
        factor = _FACTORS[self.units[column]]
        return np.array([float(value) for value in self.columns[column]]) * factor


@entry
@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """How uncertain one parameter of the model is.

    Attributes
    ----------
    parameter : str
        What is drawn.
    sd : float
        One standard deviation, of the logarithm where the unit is 1.
    unit, kind, source, note : str
        Unit, evidence, key in ``sources.toml``, reason.
    """

    parameter: Text
    sd: Annotated[float, Field(strict=True, ge=0)]
    unit: str
    kind: Kind
    source: Text
    note: str


def read_table(file: TomlFile, sources: Mapping[str, object]) -> Table:
    """Check one table file.

    Parameters
    ----------
    file : TomlFile
        File with ``[table]``, ``[units]`` and ``[columns]``.
    sources : mapping
        Known source keys.

    Returns
    -------
    table : Table
        Its content.

    Raises
    ------
    CatalogueError
        If a part, a source, a unit or a number is wrong.
    """
    parts = {part: file.content.get(part, {}) for part in ("table", "units", "columns")}
    raw = {"name": file.path.stem, **parts.pop("table"), **parts}
    table = file.read(Table, raw, label="[table]")
    file.check_source(table.source, sources, label="[table]")
    if not table.columns or set(table.units) != set(table.columns):
        file.refuse(("columns",), "[columns]", "expected the same names as in [units]")
    lengths = {len(values) for values in table.columns.values()}
    if len(lengths) != 1:
        problem = f"columns differ in length: {sorted(lengths)}"
        file.refuse(("columns",), "[columns]", problem)
    for column, values in table.columns.items():
        label, place = f"column {column!r}", ("units", column)
        if table.units[column] not in {"", *_FACTORS}:
            said = f"accepted are {', '.join(_FACTORS)}, '' for text"
            file.refuse(place, label, f"unit {table.units[column]!r}; {said}")
        for value in values if table.units[column] else ():
            try:
                float(value)
            except ValueError:
                problem = f"{value!r}: expected digits in quotes"
                file.refuse(("columns", column), label, problem)
    return table


def read_spreads(file: TomlFile, sources: Mapping[str, object]) -> dict[str, Spread]:
    """Check the parameter spreads.

    Parameters
    ----------
    file : TomlFile
        File of ``[[spread]]`` entries.
    sources : mapping
        Known source keys.

    Returns
    -------
    spreads : dict of str to Spread
        By parameter.

    Raises
    ------
    CatalogueError
        If an entry lacks a field, is negative or cites an unknown source.
    """
    spreads = {}
    for place, label, raw in file.entries("spread", "parameter"):
        spread = file.read(Spread, raw, place=place, label=label)
        file.check_source(spread.source, sources, place=place, label=label)
        spreads[spread.parameter] = spread
    return spreads
