"""Published parameter tables as printed, and the spreads of parameters.

Converting to SI is the reader's one job here; choosing between tables is left
to the stage that uses them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analytics.catalogue.files import KINDS, TomlFile

# Printed unit: factor to SI; angles stay in degrees. "" marks a text column.
_FACTORS = {"N": 1.0, "m": 1.0, "mm": 1e-3, "deg": 1.0, "rad": 1.0, "1": 1.0}
_HEAD = ("title", "source", "locator", "kind")


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

    name: str
    title: str
    source: str
    locator: str
    kind: str
    note: str
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

    parameter: str
    sd: float
    unit: str
    kind: str
    source: str
    note: str


def _check_columns(
    file: TomlFile, units: Mapping[str, str], columns: Mapping[str, list[str]]
) -> None:
    if not columns or set(units) != set(columns):
        file.refuse(1, "[columns]", "expected the same names as in [units]")
    lengths = {len(values) for values in columns.values()}
    if len(lengths) != 1:
        file.refuse(1, "[columns]", f"columns differ in length: {sorted(lengths)}")
    for column, values in columns.items():
        label, line = f"column {column!r}", file.find(column)
        if units[column] not in {"", *_FACTORS}:
            known = ", ".join(_FACTORS)
            file.refuse(
                line,
                label,
                f"unit {units[column]!r}; accepted are {known}, '' for text",
            )
        for value in values if units[column] else ():
            try:
                float(value)
            except (TypeError, ValueError):
                file.refuse(
                    file.find(column, last=True),
                    label,
                    f"{value!r}: expected digits in quotes",
                )


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
    name = file.path.stem
    head, units, columns = (
        file.content.get(part, {}) for part in ("table", "units", "columns")
    )
    for key in _HEAD:
        if not head.get(key):
            file.refuse(1, "[table]", f"`{key}` is missing; needed are {_HEAD}")
    if head["source"] not in sources:
        file.refuse(
            file.find("source"), "[table]", f"{head['source']!r} is not in sources.toml"
        )
    if head["kind"] not in KINDS:
        file.refuse(
            file.find("kind"), "[table]", f"expected a kind of {', '.join(KINDS)}"
        )
    _check_columns(file, units, columns)
    return Table(
        name=name,
        note=head.get("note", ""),
        **{key: head[key] for key in _HEAD},
        units=dict(units),
        columns={key: tuple(values) for key, values in columns.items()},
    )


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
    fields = tuple(Spread.__slots__)
    spreads = {}
    for number, entry in enumerate(file.entries("spread")):
        line = file.line("spread", number)
        label = f"spread {entry.get('parameter', f'number {number + 1}')!r}"
        if set(entry) != set(fields):
            file.refuse(line, label, f"expected exactly {', '.join(fields)}")
        spread = Spread(**entry)
        if not isinstance(spread.sd, int | float) or not spread.sd >= 0:
            file.refuse(line, label, f"`sd` = {spread.sd!r}: expected 0 or more")
        if spread.source not in sources or spread.kind not in KINDS:
            file.refuse(
                line, label, f"source or kind unknown; kinds are {', '.join(KINDS)}"
            )
        spreads[spread.parameter] = spread
    return spreads
