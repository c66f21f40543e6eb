"""What a whole file can leave open: decimal sign, order of dates, unit.

Each is given, or proven by the file and noted, or asked by refusing the file with
the evidence in it. Nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from analytics.errors import FileRefusedError
from analytics.intake import numerals
from analytics.intake.dates import order_evidence
from analytics.intake.fields import unsided
from analytics.intake.headers import header_unit
from analytics.intake.plan import SHEET_STEP
from analytics.intake.steps import Numbers, Rows, plain_numbers
from analytics.store.engine import first_row
from analytics.tables import bounds

# Lists of repetitions hold commas too, so they prove no decimal sign.
_EVIDENCE_FROM = ("load", "body_mass", "stature", "rir", "rpe", "hold_s")
# One to three digits, a point and three digits may be thousands in these; a stature
# of 1.785 can only be metres.
_MASSES = ("load", "body_mass")
_OPEN_POINT = r"\s*[1-9]\d{0,2}\.\d{3}\s*"


def settle_decimal(rows: Rows) -> Numbers:
    """Find the decimal sign that the map gives or the numbers prove.

    Parameters
    ----------
    rows : Rows
        Cells.

    Returns
    -------
    numbers : Numbers
        Sign, and the fields with other cells than plain numbers.

    Raises
    ------
    FileRefusedError
        If a number has two readings and nothing in the file decides.
    """
    given = rows.plan.column_map.read.get("decimal")
    numbers = plain_numbers(rows, given or ".")
    if given is not None:
        return numbers
    sign, note = _proven_decimal(rows, numbers)
    if sign == ",":
        numbers = plain_numbers(rows, ",")
    return replace(numbers, sign=sign, note=note)


def _signs_seen(rows: Rows, numbers: Numbers) -> dict[str, tuple[str, str]]:
    """First field and cell for each sign; ``?`` an open comma, ``?.`` an open point."""
    seen: dict[str, tuple[str, str]] = {}
    for field in _EVIDENCE_FROM:
        for text in numbers.irregular_texts(rows, field):
            sign = numerals.decimal_evidence(text[: bounds.LONGEST])
            if sign == "?" and "," not in text:
                sign = "?." if field in _MASSES else ""
            seen.setdefault(sign, (field, text))
    for field in ("reps", "sets", "shorthand"):
        if field in (numbers.irregular if field == "reps" else rows.mapped):
            for text in rows.texts(field, f"contains({field}, ',')"):
                for sign in numerals.load_evidence(text[: bounds.LONGEST]):
                    seen.setdefault(sign, (field, text))
    return seen


def _proven_decimal(rows: Rows, numbers: Numbers) -> tuple[str, str]:
    seen = _signs_seen(rows, numbers)
    point = "." in seen or _plain_point(rows, proven=True) is not None
    if "," in seen and not point:
        field, text = seen[","]
        return ",", (
            f"commas read as decimal commas, as `{text}` "
            f"(row {rows.row_of(field, text)}) proves"
        )
    open_point = seen.get("?.") or _plain_point(rows, proven=False)
    if open_point and not point:
        raise _either(rows, *open_point, mark="point")
    if "?" in seen and ("," in seen or not point):
        raise _either(rows, *seen["?"], mark="comma")
    # Signs of both kinds: what only one reading fits is read, the rest rejected.
    return ("." if point and "," not in seen else "?"), ""


def _either(rows: Rows, field: str, text: str, *, mark: str) -> FileRefusedError:
    return FileRefusedError(
        f"{rows.file} row {rows.row_of(field, text)}, column "
        f"{rows.header(field)}: `{text}` can be read with a decimal {mark} or a "
        f'thousands {mark}; say which with `decimal = ","` or `decimal = "."` under '
        "[read] in the column map"
    )


def _plain_point(rows: Rows, *, proven: bool) -> tuple[str, str] | None:
    """Find a number with a point that must be decimal, or one that may not be."""
    for field in _EVIDENCE_FROM:
        if field not in rows.mapped or (field not in _MASSES and not proven):
            continue
        # LIKE rules out most cells, and is much the faster of the two.
        form = f"({field} LIKE '%.___%' AND regexp_full_match({field}, $form))"
        decides = f"contains({field}, '.') AND plain({field}) IS NOT NULL"
        if field in _MASSES:
            decides = f"{decides} AND NOT {form}" if proven else form
        found = first_row(
            rows.con,
            f"SELECT {field} FROM entry WHERE {decides} LIMIT 1",
            {"form": _OPEN_POINT} if field in _MASSES else {},
        )
        if found:
            return field, str(found[0])
    return None


def settle_order(rows: Rows, field: str, texts: Iterable[str]) -> tuple[str, str]:
    """Find the order of day and month that the map gives or the dates prove.

    Parameters
    ----------
    rows : Rows
        Cells.
    field : str
        Field of the dates.
    texts : iterable of str
        All different dates.

    Returns
    -------
    order, note : str
        ``dmy``, ``mdy`` or ``iso``, and what proved it, if anything had to.

    Raises
    ------
    FileRefusedError
        If the order is open, mixed, or against the one given.
    """
    given = rows.settings.get("dates")
    seen = order_evidence(texts)
    where = f"{rows.file} column {rows.header(field)}"
    proofs = {"dmy": seen.day_first, "mdy": seen.month_first}
    shown = {
        text: f"`{text}` (row {rows.row_of(field, text)})"
        for text in (*proofs.values(), seen.either, seen.year_first) if text
    }  # fmt: skip
    ask = "give `--dates dmy` or `--dates mdy`"
    if given:
        against = {"dmy": "mdy", "mdy": "dmy"}.get(given, "")
        if proofs.get(against) and not proofs[given]:
            raise FileRefusedError(
                f"{where}: dates are to be read as {given}, but "
                f"{shown[proofs[against]]} can only be the other order; {ask}"
            )
        return str(given), ""
    if seen.year_first:
        raise FileRefusedError(
            f"{where}: {shown[seen.year_first]} can begin with the year or end with "
            "it; give `--dates iso` for the year first, or `--dates dmy` or `mdy`"
        )
    if seen.day_first and seen.month_first:
        raise FileRefusedError(
            f"{where} mixes two orders of day and month: {shown[seen.day_first]} and "
            f"{shown[seen.month_first]}; {ask}, and rows that do not fit are rejected"
        )
    if seen.day_first or seen.month_first:
        order = "dmy" if seen.day_first else "mdy"
        words = "day" if seen.day_first else "month"
        return order, f"dates read {words} first, as {shown[proofs[order]]} proves"
    if seen.either:
        raise FileRefusedError(
            f"{where}: {shown[seen.either]} can be day first or month first, and no "
            f"date in the file settles it (none has a part above 12 there); {ask}"
        )
    return "iso", ""


def unit_of(rows: Rows, field: str) -> str:
    """Find the unit that the header or the settings give for a column.

    Parameters
    ----------
    rows : Rows
        Cells.
    field : str
        ``load`` or ``body_mass``.

    Returns
    -------
    unit : str
        Empty if neither says.

    Raises
    ------
    FileRefusedError
        If header and settings contradict each other.
    """
    names = [
        name
        for key, headers in rows.columns.items()
        for name in headers
        if unsided(key) == field
    ]
    said = {header_unit(name) for name in names} - {""}
    given = rows.settings.get("unit", "")
    if len(said) > 1 or (field == "load" and said and given and said != {given}):
        raise FileRefusedError(
            f"{rows.file}: header `{names[0]}` says {' and '.join(sorted(said))}, "
            f"the unit given is {given or 'none'}; give the unit of the header with "
            "`--unit`, or fix the header"
        )
    return said.pop() if said else str(given)


def ask_unit(rows: Rows, field: str) -> None:
    """Refuse the file if a value has no unit at all; zero needs none.

    Parameters
    ----------
    rows : Rows
        Cells, after its cells were read.
    field : str
        ``load`` or ``body_mass``.

    Raises
    ------
    FileRefusedError
        With the first such row and the span of the values.
    """
    if field not in rows.mapped | ({"load"} if "shorthand" in rows.mapped else set()):
        return
    value = f"coalesce(plain(e.{field}), c.value)"
    beside = "e.load_unit" if field == "load" else "NULL"
    found = first_row(
        rows.con,
        f"SELECT count(*), arg_min(e.{field}, e.row_no), min(e.row_no), "
        f"min({value}), max({value}) FROM entry AS e "
        f"LEFT JOIN cell AS c ON c.field = $field AND c.text = e.{field} "
        f"LEFT JOIN cell AS u ON u.field = 'load_unit' AND u.text = {beside} "
        # A unit that cannot be read rejects its row, and asks nothing of the file.
        f"WHERE {value} <> 0 AND c.unit_kg IS NULL AND u.text IS NULL",
        {"field": field},
    )
    if found and found[0]:
        raise FileRefusedError(
            f"{rows.file} column {rows.header(field)} has no unit: row "
            f"{found[2] % SHEET_STEP} says `{found[1]}`, values run from {found[3]:g} "
            f"to {found[4]:g}; give `--unit kg` or `--unit lb`, or a column of units"
        )
