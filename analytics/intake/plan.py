"""A file about to be read: its sheets, its complete map, and the sets of a row."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from analytics.intake.column_map import ColumnMap
from analytics.intake.fields import FIELDS, SIDED
from analytics.intake.headers import Header
from analytics.tables import Scan, Sheet

SHEET_STEP = 1 << 32  # row_no = number of the sheet * SHEET_STEP + row in the sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """A file about to be read.

    Attributes
    ----------
    path : Path
        File.
    scanned : Scan
        What its bytes say.
    sheets : tuple of (Sheet, Header)
        Those to be read.
    column_map : ColumnMap
        Complete: nothing of it is open any more but units and dates.
    notes : tuple of str
        What the person should know, in sentences.
    suggested : bool
        The headers gave the columns, and nobody has confirmed them.
    """

    path: Path
    scanned: Scan
    sheets: tuple[tuple[Sheet, Header], ...]
    column_map: ColumnMap
    notes: tuple[str, ...] = ()
    suggested: bool = False

    @property
    def headers(self) -> list[str]:
        """Mapped headers in the order of the fields, which is that of ``cell_row``."""
        columns = self.column_map.columns
        return list(
            dict.fromkeys(name for field in FIELDS for name in columns.get(field, ()))
        )

    def named(self, sheet: str) -> str:
        """Name of the file, or of a sheet of it.

        Parameters
        ----------
        sheet : str
            Empty for a file without several.

        Returns
        -------
        name : str
            For messages.
        """
        return f"{self.path.name}#{sheet}" if sheet else self.path.name


@dataclass(frozen=True, slots=True)
class Slot:
    """One of the sets that a row of wide columns holds.

    Attributes
    ----------
    headers : dict of str to str
        Field to header.
    own : tuple of str
        Headers of this slot alone; without a value in any, there is no set.
    side : str
        Side of the body that the columns are for, empty if they do not say.
    """

    headers: dict[str, str]
    own: tuple[str, ...]
    side: str


def slots(plan: Plan) -> list[Slot]:
    """List the sets that a row can hold; one unless the file has wide columns.

    Parameters
    ----------
    plan : Plan
        File.

    Returns
    -------
    slots : list of Slot
        In the order of the columns.
    """
    mapped = plan.column_map.columns
    sides = ("left", "right") if any(field in SIDED for field in mapped) else ("",)
    found = []
    for number in range(plan.column_map.slots):
        for side in sides:
            headers, own = {}, []
            for field, names in mapped.items():
                name, _, its_side = field.rpartition("_")
                if field in SIDED and its_side != side:
                    continue
                header = names[number if len(names) > 1 else 0]
                headers[name if field in SIDED else field] = header
                if field in SIDED or len(names) > 1:
                    own.append(header)
            found.append(Slot(headers, tuple(own), side))
    return found
