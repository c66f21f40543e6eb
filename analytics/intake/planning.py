"""Deciding how a file is read: the map given, remembered or suggested by its header."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

from analytics.errors import FileRefusedError
from analytics.intake.column_map import ColumnMap, day_zero, parse_column_map
from analytics.intake.fields import LENGTHS, MEASURES
from analytics.intake.headers import (
    SHEET_NAME,
    Header,
    find_header,
    positions,
    suggest,
)
from analytics.intake.numerals import read_number
from analytics.intake.plan import Plan
from analytics.intake.steps import statement
from analytics.store import Store
from analytics.store.engine import first_row
from analytics.tables import LEAD, Sheet, open_sheets, scan

_WORDS = {
    "lifter": "who lifted", "performed_on": "the date", "exercise": "the exercise",
    "load": "the load", "reps": "the repetitions or the hold",
    "measured_on": "the date of measuring",
}  # fmt: skip


def remembered(store: Store, signature: str) -> ColumnMap | None:
    """Column map confirmed for a header.

    Parameters
    ----------
    store : Store
        The store.
    signature : str
        From `Header.signature`.

    Returns
    -------
    column_map : ColumnMap or None
        None if this header is new.
    """
    if not store.exists:
        return None
    with store.read() as con:
        found = first_row(
            con,
            statement("known_layout"),
            {"signature": store.asking.mark + signature},
        )
    return parse_column_map(found[0]) if found else None


def make_plan(
    store: Store, path: Path, column_map: ColumnMap | None, settings: dict[str, Any]
) -> Plan:
    """Open a file and decide how it is read.

    Parameters
    ----------
    store : Store
        Knows the layouts confirmed before.
    path : Path
        File.
    column_map : ColumnMap or None
        Its headers decide; without any, the remembered or suggested ones do.
    settings : dict
        ``lifter, unit, dates`` that take precedence where they are not None.

    Returns
    -------
    plan : Plan
        Ready to be staged.

    Raises
    ------
    FileRefusedError
        If it is no table, or a required column is not found.
    """
    given = (column_map or ColumnMap()).with_settings(**settings)
    scanned = scan(path, given.read.get("encoding"))
    sheets = open_sheets(path, scanned, dict(given.read))
    notes: list[str] = []
    if scanned.kind == "text" and scanned.encoding == "cp1252":
        notes.append(
            "read as Windows-1252 text, since it is no UTF-8; "
            "another encoding goes under [read] in the column map"
        )
    chosen, found, suggested = choose(store, path, sheets, given, notes)
    kept = []
    for sheet, header in found:
        try:
            positions(header, chosen, f"`{path.name}`")
            kept.append((sheet, header))
        except FileRefusedError:
            if len(found) == 1:
                raise
            notes.append(f"sheet `{sheet.name}` is not read: it lacks mapped columns")
    if not kept:
        positions(found[0][1], chosen, f"`{path.name}`")
    mapped = {n for names in chosen.columns.values() for n in names}
    spare = [name for name in kept[0][1].names if name not in mapped]
    if spare:
        more = f" and {len(spare) - 10} more" if len(spare) > 10 else ""
        notes.append(
            f"columns not read: {', '.join(f'`{n}`' for n in spare[:10])}{more}"
        )
    if len(kept) > 1:
        notes.append(f"sheets read: {', '.join(sheet.name for sheet, _ in kept)}")
    _require(path, chosen, kept[0])
    for sheet, header in kept:
        if len(sheet.lead) < LEAD and all(
            number <= header.row or not any(cells) for number, cells in sheet.lead
        ):
            raise FileRefusedError(
                f"`{path.name}` has a header (row {header.row}) and no rows below it"
            )
    return Plan(path=path, scanned=scanned, sheets=tuple(kept), column_map=chosen,
                notes=tuple(notes), suggested=suggested)  # fmt: skip


def choose(
    store: Store, path: Path, sheets: list[Sheet], given: ColumnMap, notes: list[str]
) -> tuple[ColumnMap, list[tuple[Sheet, Header]], bool]:
    """Choose the map: the one given, remembered, or suggested by the header.

    Parameters
    ----------
    store : Store
        Knows the layouts confirmed before.
    path : Path
        File, for messages.
    sheets : list of Sheet
        Its sheets.
    given : ColumnMap
        What the person said.
    notes : list of str
        What was chosen is added to them.

    Returns
    -------
    column_map : ColumnMap
        With columns.
    found : list of (Sheet, Header)
        Sheets that have a header.
    suggested : bool
        The columns are suggested.

    Raises
    ------
    FileRefusedError
        If no row names the columns, or a header has several meanings.
    """
    found = []
    for sheet in sheets:
        header = find_header(sheet, given)
        if header is not None:
            found.append((sheet, header))
        elif len(sheets) > 1:
            notes.append(f"sheet `{sheet.name}` is not read: no header found")
    if not found and given.columns:
        # Name the mapped header that is not there, beside those that are.
        number, names = next((n, c) for n, c in sheets[0].lead if any(c))
        header = find_header(sheets[0], ColumnMap(read=given.read))
        header = header or Header(row=number, names=tuple(names))
        positions(header, given, f"`{path.name}`")
    if not found:
        first = next((cells for _, cells in sheets[0].lead if any(cells)), [])
        raise FileRefusedError(
            f"`{path.name}` has no row that names its columns; it begins with "
            f"{', '.join(f'`{cell[:40]}`' for cell in first[:8])}; give the headers "
            "with `--columns MAP.toml`, and `skip_rows` under [read] if text stands "
            "above"
        )
    # Only the name of the sheet names no header, so those are still to be found.
    if any(at != (SHEET_NAME,) for at in given.columns.values()):
        return given, found, False
    header = found[0][1]
    before = remembered(store, header.signature())
    if before is not None:
        known = merged(before, given)
        notes.append("layout remembered: " + _shown(known))
        return known, found, False
    columns, doubts = suggest(header, given.off | given.columns.keys())
    if doubts:
        raise FileRefusedError(
            f"`{path.name}`: {'; '.join(doubts)}; say which with `--columns MAP.toml`"
        )
    columns = settled(columns, found[0])
    mapped = replace(given, columns={**columns, **given.columns})
    notes.append("columns taken from the header: " + _shown(mapped))
    return mapped, found, True


def merged(before: ColumnMap, given: ColumnMap) -> ColumnMap:
    """Complete a remembered map with what the person says of this file.

    Parameters
    ----------
    before : ColumnMap
        Remembered.
    given : ColumnMap
        Goes before; its columns are none but the name of the sheet.

    Returns
    -------
    column_map : ColumnMap
        Both.
    """
    kept = dict(before.settings)
    if "lifter" in {**given.settings, **given.columns}:
        kept = {n: value for n, value in kept.items() if "lifter" not in n}
    settings = {**kept, **given.settings}
    columns = {n: at for n, at in before.columns.items() if n not in given.off}
    columns |= given.columns
    return ColumnMap(
        read={**before.read, **given.read}, columns=columns,
        off=before.off | given.off, settings=settings,
        effort={**before.effort, **given.effort},
        names={**before.names, **given.names},
    )  # fmt: skip


def settled(
    columns: dict[str, tuple[str, ...]], sheet: tuple[Sheet, Header]
) -> dict[str, tuple[str, ...]]:
    """Take date and weight for those of the body where no exercise is, and settle days.

    Lengths of the body in a log of sets are left out, and so noted as not read.

    Parameters
    ----------
    columns : dict of str to tuple of str
        Field to headers, as suggested.
    sheet : (Sheet, Header)
        Where they stand.

    Returns
    -------
    columns : dict of str to tuple of str
        Settled.
    """
    columns = _settle_day(columns, sheet)
    if "measured_on" in columns or not columns.keys() & set(MEASURES):
        return columns
    if columns.keys() & {"exercise", "reps", "hold_s", "shorthand"}:
        return {name: at for name, at in columns.items() if name not in LENGTHS}
    meant = {"performed_on": "measured_on"}
    if "body_mass" not in columns:
        meant["load"] = "body_mass"
    return {meant.get(name, name): at for name, at in columns.items()}


def _settle_day(
    columns: dict[str, tuple[str, ...]], sheet: tuple[Sheet, Header]
) -> dict[str, tuple[str, ...]]:
    """Take a column `Day` with dates for the date, with numbers for day numbers."""
    if "day" not in columns:
        return columns
    at = sheet[1].position(columns["day"][0])
    values = [
        cells[at]
        for number, cells in sheet[0].lead
        if number > sheet[1].row and at is not None and at < len(cells) and cells[at]
    ]
    numbers = [read_number(value) for value in values]
    if "performed_on" in columns:
        return {name: at for name, at in columns.items() if name != "day"}
    if any(number is None or number > 20_000 for number in numbers):
        return {
            ("performed_on" if name == "day" else name): at
            for name, at in columns.items()
        }
    return columns


def _shown(column_map: ColumnMap) -> str:
    shown = [
        f"{field} = {' + '.join(f'`{n}`' for n in names)}"
        for field, names in column_map.columns.items()
    ]
    shown += [f"{name} = {value}" for name, value in column_map.settings.items()]
    return ", ".join(shown)


def _require(path: Path, column_map: ColumnMap, found: tuple[Sheet, Header]) -> None:
    """Refuse a file that lacks a column without which no row can be read."""
    columns = {
        name.removesuffix("_left").removesuffix("_right") for name in column_map.columns
    }
    lifter = bool(column_map.settings.get("lifter"))
    missing = []
    if column_map.kind == "bodies":
        missing += ["measured_on"] * ("measured_on" not in columns)
    else:
        shorthand = "shorthand" in columns or _shorthand_in(column_map, found)
        missing += ["performed_on"] * (not columns & {"performed_on", "day"})
        missing += ["exercise"] * ("exercise" not in columns)
        missing += ["load"] * ("load" not in columns and not shorthand)
        missing += ["reps"] * (not columns & {"reps", "hold_s"} and not shorthand)
    missing += ["lifter"] * ("lifter" not in columns and not lifter)
    if missing:
        has = ", ".join(f"`{name}`" for name in found[1].names[:40])
        ways = "; ".join(
            f'{name} ({_WORDS[name]}): {name} = "its header"' for name in missing
        )
        code = ", or give `--lifter CODE`" if "lifter" in missing else ""
        if code and found[1].sheet:
            code += f', or lifter = "{SHEET_NAME}" if each sheet is named after one'
        raise FileRefusedError(
            f"`{path.name}` has no column known for {' and '.join(missing)}; its "
            f"header (row {found[1].row}) has {has}; map it under [columns] with "
            f"`--columns MAP.toml`, {ways}{code}"
        )
    if (
        "day" in columns
        and "performed_on" not in columns
        and day_zero(column_map) is None
    ):
        raise FileRefusedError(
            f"`{path.name}` counts days in `{column_map.columns['day'][0]}`; say which "
            'date is day 0 with `day_zero = "2025-01-06"` under [settings]'
        )


def _shorthand_in(column_map: ColumnMap, found: tuple[Sheet, Header]) -> bool:
    """Whether a mapped column of loads, repetitions or sets holds shorthand."""
    sheet, header = found
    at = [header.position(name) for field in ("load", "reps", "sets")
          for name in column_map.columns.get(field, ())]  # fmt: skip
    return any(
        re.search(r"\d\s*[x×]\s*\d|@", cells[position].lower())
        for number, cells in sheet.lead if number > header.row
        for position in at if position is not None and position < len(cells)
    )  # fmt: skip
