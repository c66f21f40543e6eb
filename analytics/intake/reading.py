"""Reading the different texts of each column once.

A column of a million rows holds few different texts. Those that are no plain numbers
are read here, one by one, and joined to the rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import astuple, fields, replace
from typing import Any

import pyarrow as pa

from analytics.catalogue import load_catalogue, normalise_name
from analytics.errors import FileRefusedError
from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.intake.column_map import ColumnMap, day_zero
from analytics.intake.dates import read_date
from analytics.intake.effort import EFFORTS, effort_said
from analytics.intake.fields import LABELS, LENGTHS, LOADS, READERS
from analytics.intake.headers import length_scale_m
from analytics.intake.numerals import read_number
from analytics.intake.questions import (
    ask_unit,
    settle_decimal,
    settle_order,
    unit_of,
)
from analytics.intake.set_numbers import set_number_note, settle_set_numbers
from analytics.intake.steps import Numbers, Rows, Values, irregular_fields, statement
from analytics.intake.unfold import ACCEPTED, Entry, unfold
from analytics.intake.values import define_values
from analytics.store import match_names
from analytics.store.engine import first_row
from analytics.store.limits import HIGHEST, LOWEST
from analytics.tables import bounds
from analytics.units import KG_PER_UNIT

_TOO_LONG = Refusal("a text too long for its column", "a short value")
_NO_SET = Refusal("a text too long for a set", ACCEPTED)
_TEXT = pa.string()
_NAME = (("text", _TEXT), ("name_key", _TEXT), ("on_body", pa.bool_()))
# What a cell can say; a row of the table `cell` has the field and the text before it.
_CELL = (
    ("value", pa.float64()), ("unit_kg", pa.float64()), ("on_body", pa.bool_()),
    ("word", _TEXT), ("problem", _TEXT), ("accepted", _TEXT), ("half", pa.float64()),
)  # fmt: skip


def read_values(rows: Rows) -> Values:
    """Read every text and define ``valued``, the view with the value of each cell.

    Parameters
    ----------
    rows : Rows
        Cells.

    Returns
    -------
    values : Values
        And what holds for the whole file.

    Raises
    ------
    FileRefusedError
        If the file leaves open what only a person can settle.
    """
    numbers = settle_decimal(rows)
    rows = settle_set_numbers(rows)
    numbered = set_number_note(rows)
    if not rows.bodies:
        rows, numbers = _unfolded(rows, numbers)
    names, named, note = _names(rows)
    said = [
        (field, text, *(told.get(name) for name, _ in _CELL))
        for field, text, told in (
            *_numbers(rows, numbers), *_words(rows), *_labels(rows), *named
        )
    ]  # fmt: skip
    rows.keep("cell", [("field", _TEXT), ("text", _TEXT), *_CELL], said)
    rows.keep("name_cell", _NAME, names)
    order, proof = _dates(rows)
    params = _params(rows)
    notes = tuple(filter(None, (numbers.note, proof, numbered, note)))
    return Values(rows=rows, sign=numbers.sign, order=order, params=params,
                  filled=define_values(rows, said), notes=notes)  # fmt: skip


def resolved(values: Values) -> ColumnMap:
    """Complete the map with what the file proved, for rows of it that come later.

    Parameters
    ----------
    values : Values
        File.

    Returns
    -------
    column_map : ColumnMap
        As given, with decimal sign and order of dates.
    """
    given = values.rows.plan.column_map
    decimal = {} if values.sign == "?" else {"decimal": values.sign}
    return replace(
        given,
        read={**given.read, **decimal},
        settings={**given.settings, "dates": values.order},
    )


def _refused(refusal: Refusal) -> dict[str, Any]:
    return {"problem": refusal.problem, "accepted": refusal.accepted}


def _numbers(rows: Rows, numbers: Numbers) -> list[tuple[str, str, dict[str, Any]]]:
    said_of: list[tuple[str, str, dict[str, Any]]] = []
    decimal = "." if numbers.sign == "?" else numbers.sign
    lengths = rows.mapped & set(LENGTHS)
    for field, reader in READERS.items():
        scale = length_scale_m(rows.columns[field][0]) if field in lengths else None
        for text in numbers.irregular_texts(rows, field):
            if field in EFFORTS and len(text) <= bounds.LONGEST:
                meanings = rows.plan.column_map.effort
                said_of.append(
                    (field, text, effort_said(field, text, decimal, meanings))
                )
                continue
            value = reader(text, decimal) if len(text) <= bounds.LONGEST else _TOO_LONG
            if scale and (bare := read_number(text, decimal)) is not None:
                value = bare * scale
            said = _refused(value) if isinstance(value, Refusal) else {"value": value}
            said_of.append((field, text, said))
    for field in LOADS:
        for text in numbers.irregular_texts(rows, field):
            load = (
                cells.read_load(text, decimal)
                if len(text) <= bounds.LONGEST
                else _TOO_LONG
            )
            if isinstance(load, Refusal):
                said_of.append((field, text, _refused(load)))
            else:
                said = {"value": load.value, "unit_kg": KG_PER_UNIT.get(load.unit),
                        "on_body": load.on_body, "word": load.counts}  # fmt: skip
                said_of.append((field, text, said))
    return said_of


def _words(rows: Rows) -> list[tuple[str, str, dict[str, Any]]]:
    said_of: list[tuple[str, str, dict[str, Any]]] = []
    if rows.bodies:
        return said_of
    for text in rows.texts("load_unit"):
        unit = cells.read_unit(text)
        refused = isinstance(unit, Refusal)
        said = _refused(unit) if refused else {"unit_kg": KG_PER_UNIT[unit]}  # type: ignore[arg-type, index]
        said_of.append(("load_unit", text, said))
    for text in rows.texts("side"):
        side = cells.read_side(text)
        said = _refused(side) if isinstance(side, Refusal) else {"word": side}
        said_of.append(("side", text, said))
    return said_of


def _labels(rows: Rows) -> list[tuple[str, str, dict[str, Any]]]:
    """Names that hold what cannot be seen."""
    return [
        (field, text, _refused(label))
        for field in LABELS if field in rows.mapped
        for text in rows.unplain_texts(field)
        if isinstance(label := cells.read_label(text), Refusal)
    ]  # fmt: skip


def _unfolded(rows: Rows, numbers: Numbers) -> tuple[Rows, Numbers]:
    """Make rows that hold several sets into several rows of ``entry``."""
    mapped = rows.mapped & {"sets", "shorthand", "reps"}
    several = bool({"sets", "shorthand"} & mapped) or "reps" not in mapped
    if not several and "reps" not in numbers.irregular:
        return rows, numbers
    condition = "true" if several else "reps IS NOT NULL AND plain(reps) IS NULL"
    found = rows.con.execute(
        "SELECT DISTINCT coalesce(sets, ''), coalesce(load, ''), "
        "coalesce(shorthand, reps, '') "
        f"FROM entry WHERE {condition} LIMIT {bounds.MOST_TEXTS + 1}"
    ).fetchall()
    if len(found) > bounds.MOST_TEXTS:
        raise FileRefusedError(
            f"{rows.file} holds more than {bounds.MOST_TEXTS} different combinations "
            "of sets, load and repetitions that are no plain numbers; check the columns"
        )
    read = {key: _several(key, numbers.sign) for key in found}
    names = ["sets", "load", "reps", "position", "problem", "accepted"]
    names += [f"its_{field.name}" for field in fields(Entry)]
    rows.keep(
        "unfolded",
        [(name, pa.int32() if name == "position" else _TEXT) for name in names],
        [
            (*key, position, *said, *astuple(entry))
            for key, (entries, said) in read.items()
            for position, entry in enumerate(entries)
        ],
    )
    made = first_row(rows.con, statement("unfolded_sets"))
    if made and made[0] > bounds.MOST_ROWS:
        raise bounds.too_much(
            rows.plan.path.name, f"{made[0]:,} sets in its rows", bounds.MOST_ROWS
        )
    rows.con.execute(statement("unfolded_entry"))
    rows.con.execute("DROP VIEW entry")
    rows.con.execute("ALTER TABLE unfolded_entry RENAME TO entry")
    marks = [
        {name for name in EFFORTS if getattr(entry, name)}
        for entries, _ in read.values() for entry in entries
    ]  # fmt: skip
    mapped = rows.mapped.union({"load", "reps"}, *marks)
    unfolded = replace(rows, mapped=mapped, flat=False)
    return unfolded, replace(numbers, irregular=irregular_fields(unfolded))


def _several(
    key: tuple[str, str, str], decimal: str
) -> tuple[list[Entry], tuple[str | None, str | None]]:
    """Read the sets of one row, or its one entry and why it cannot be read."""
    sets, load, reps = key
    short = max(map(len, key)) <= bounds.LONGEST
    entries = unfold(sets, load, reps, decimal) if short else _NO_SET
    if isinstance(entries, Refusal):
        return [Entry(load, reps)], (entries.problem, entries.accepted)
    return entries, (None, None)


def _dates(rows: Rows) -> tuple[str, str]:
    field = "measured_on" if rows.bodies else "performed_on"
    texts = rows.texts(field) if field in rows.mapped else []
    order, proof = settle_order(rows, field, texts)
    epoch = rows.plan.sheets[0][0].epoch
    days: list[Sequence[Any]] = []
    for text in texts:
        short = len(text) <= bounds.LONGEST
        day = read_date(text, order, epoch=epoch) if short else _TOO_LONG
        refused = isinstance(day, Refusal)
        days.append((text, None, *_refused(day).values()) if refused  # type: ignore[arg-type]
                    else (text, day, None, None))  # fmt: skip
    columns = [
        ("text", _TEXT),
        ("day", pa.date32()),
        ("problem", _TEXT),
        ("accepted", _TEXT),
    ]
    rows.keep("day_cell", columns, days)
    return order, proof


def _names(
    rows: Rows,
) -> tuple[list[tuple[str, str, bool]], list[tuple[str, str, dict[str, Any]]], str]:
    """Give keys of exercise names, what cannot be read, and a note on loads."""
    texts = rows.texts("exercise") if "exercise" in rows.mapped else []
    if len(texts) > bounds.MOST_NAMES:
        raise FileRefusedError(
            f"{rows.file} column {rows.header('exercise')} holds {len(texts)} "
            f"different names, such as `{texts[0][:40]}`; is it the exercise?"
        )
    read = {
        text: cells.read_exercise(text) for text in texts if len(text) <= bounds.LONGEST
    }
    refused = {text: key for text, key in read.items() if isinstance(key, Refusal)}
    keys = {
        text: str(read[text]) if text in read.keys() - refused else "" for text in texts
    }
    named = rows.plan.column_map.names
    taught = {normalise_name(text): name.variant for text, name in named.items()}
    matches = match_names(keys.values())
    meant = {
        text: load_catalogue().variants.get(
            taught.get(key) or matches[key].variant or ""
        )
        for text, key in keys.items()
    }
    keyed = [
        (text, key, variant is not None and variant.body_share > 0)
        for (text, key), variant in zip(keys.items(), meant.values(), strict=True)
    ]
    note = ""
    if "dumbbells" not in rows.settings and any(
        variant and variant.implement == "dumbbell" and variant.arms == 2
        for variant in meant.values()
    ):
        note = (
            "loads of two dumbbells are taken per hand where a cell does not say; "
            'otherwise give `dumbbells = "total"` under [settings]'
        )
    told = [("exercise", text, _refused(key)) for text, key in refused.items()]
    return keyed, told, note


def _params(rows: Rows) -> dict[str, Any]:
    """Give what the checks need of the whole file; ask for a unit nobody gave."""
    unit = unit_of(rows, "load")
    mass_unit = unit_of(rows, "body_mass") or unit
    if not unit and not rows.bodies:
        ask_unit(rows, "load")
    if not mass_unit and "body_mass" in rows.mapped:
        ask_unit(rows, "body_mass")
    given = rows.settings
    params = {
        "lifter": given.get("lifter"), "mass_unit_kg": KG_PER_UNIT.get(mass_unit),
        "low": LOWEST, "high": HIGHEST,
    }  # fmt: skip
    if rows.bodies:
        return params
    return params | {
        "unit_kg": KG_PER_UNIT.get(unit), "day_zero": day_zero(rows.plan.column_map),
        "counts": given.get("dumbbells", ""), "rir": given.get("rir"),
        "failed": given.get("failed") == "yes",
    }  # fmt: skip
