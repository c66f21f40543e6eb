"""Published parameter tables as printed, and the spreads of parameters.

Converting to SI is the reader's one job here; choosing between tables is left
to the stage that uses them.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from analytics.catalogue.fields import Kind, Text, entry
from analytics.catalogue.files import Entry, TomlFile
from analytics.units import STANDARD_GRAVITY_M_PER_S2

# Printed unit: factor to SI; angles stay in degrees. "" marks a text column.
_FACTORS = {
    "N": 1.0,
    "kgf": STANDARD_GRAVITY_M_PER_S2,
    "Nm": 1.0,
    "m": 1.0,
    "cm": 1e-2,
    "mm": 1e-3,
    "deg": 1.0,
    "rad": 1.0,
    "1": 1.0,
}


@entry
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


def _check_licence(
    table: Table, head: Entry, sources: Mapping[str, Mapping[str, Any]]
) -> None:
    """Refuse a table any of whose sources forbids that anyone may use it."""
    origins = [x for name, x in table.columns.items() if name.endswith("origin")]
    for key in dict.fromkeys([table.source, *(cell for x in origins for cell in x)]):
        if key in sources and not sources[key]["may_ship"]:
            licence = sources[key]["licence"]
            problem = f"source {key!r} may not be shipped (licence: {licence})"
            head.refuse("source", f"{problem}; accepted are sources that may")


def read_table(file: TomlFile, sources: Mapping[str, Mapping[str, Any]]) -> Table:
    """Check one table file: ``[table]``, ``[units]`` and ``[columns]``."""
    parts = {part: file.content.get(part, {}) for part in ("table", "units", "columns")}
    head = Entry(file, (), "[table]", {})
    table = head.read(Table, {"name": file.path.stem, **parts.pop("table"), **parts})
    head.check_source(table.source, sources)
    _check_licence(table, head, sources)
    body = Entry(file, ("columns",), "[columns]", {})
    if not table.columns or set(table.units) != set(table.columns):
        body.refuse("", "expected the same names as in [units]")
    lengths = {len(values) for values in table.columns.values()}
    if len(lengths) != 1:
        body.refuse("", f"columns differ in length: {sorted(lengths)}")
    for column, values in table.columns.items():
        unit = table.units[column]
        if unit not in {"", *_FACTORS}:
            units = Entry(file, ("units",), f"column {column!r}", {})
            known = ", ".join(_FACTORS)
            units.refuse(column, f"unit {unit!r}; accepted are {known}, '' for text")
        for value in values if unit else ():
            try:
                float(value)
            except ValueError:
                cells = Entry(file, ("columns",), f"column {column!r}", {})
                cells.refuse(column, f"{value!r}: expected digits in quotes")
    return table


def read_spreads(file: TomlFile, sources: Mapping[str, object]) -> dict[str, Spread]:
    """Check the parameter spreads."""
    spreads = {}
    for found in file.entries("spread", "parameter"):
        spread = found.read(Spread, found.stated)
        found.check_source(spread.source, sources)
        spreads[spread.parameter] = spread
    return spreads
