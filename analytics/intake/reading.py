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
from analytics.intake.fields import LABELS, LENGTHS, LOADS, READERS
from analytics.intake.headers import length_scale_m
from analytics.intake.numerals import read_number
from analytics.intake.questions import (
    LONGEST,
    ask_unit,
    settle_decimal,
    settle_order,
    unit_of,
)
from analytics.intake.staged import MOST_TEXTS, Staged, statement
from analytics.intake.unfold import ACCEPTED, Entry, unfold
from analytics.intake.values import define_values
from analytics.store import match_names
from analytics.store.limits import HIGHEST, LOWEST
from analytics.units import KG_PER_UNIT

MOST_NAMES = 20_000
_TOO_LONG = Refusal("a text too long for its column", "a short value")
_NO_SET = Refusal("a text too long for a set", ACCEPTED)
_MARKS = ("rir", "rpe", "failed")
_TEXT = pa.string()
# What a cell can say; a row of the table `cell` has the field and the text before it.
_CELL = (
    ("value", pa.float64()), ("unit_kg", pa.float64()), ("on_body", pa.bool_()),
    ("word", _TEXT), ("problem", _TEXT), ("accepted", _TEXT),
)  # fmt: skip


def read_cells(staged: Staged) -> None:
    """Read every text and define ``valued``, the view with the value of each cell.

    Parameters
    ----------
    staged : Staged
        File.

    Raises
    ------
    FileRefusedError
        If the file leaves open what only a person can settle.
    """
    settle_decimal(staged)
    if not staged.bodies:
        _unfold(staged)
    rows = [
        (field, text, *(said.get(name) for name, _ in _CELL))
        for field, text, said in (
            *_numbers(staged),
            *_words(staged),
            *_labels(staged),
            *_names(staged),
        )
    ]
    staged.keep("cell", [("field", _TEXT), ("text", _TEXT), *_CELL], rows)
    _dates(staged)
    _settings(staged)
    define_values(staged, rows)


def resolved(staged: Staged) -> ColumnMap:
    """Complete the map with what the file proved, for rows of it that come later.

    Parameters
    ----------
    staged : Staged
        File.

    Returns
    -------
    column_map : ColumnMap
        As given, with decimal sign and order of dates.
    """
    given = staged.plan.column_map
    decimal = {} if staged.decimal == "?" else {"decimal": staged.decimal}
    return replace(
        given,
        read={**given.read, **decimal},
        settings={**given.settings, "dates": staged.order},
    )


def _refused(refusal: Refusal) -> dict[str, Any]:
    return {"problem": refusal.problem, "accepted": refusal.accepted}


def _numbers(staged: Staged) -> list[tuple[str, str, dict[str, Any]]]:
    rows: list[tuple[str, str, dict[str, Any]]] = []
    decimal = "." if staged.decimal == "?" else staged.decimal
    lengths = staged.mapped & set(LENGTHS)
    for field, reader in READERS.items():
        scale = length_scale_m(staged.columns[field][0]) if field in lengths else None
        for text in staged.odd_texts(field):
            value = reader(text, decimal) if len(text) <= LONGEST else _TOO_LONG
            if scale and (bare := read_number(text, decimal)) is not None:
                value = bare * scale
            said = _refused(value) if isinstance(value, Refusal) else {"value": value}
            rows.append((field, text, said))
    for field in LOADS:
        for text in staged.odd_texts(field):
            load = cells.read_load(text, decimal) if len(text) <= LONGEST else _TOO_LONG
            if isinstance(load, Refusal):
                rows.append((field, text, _refused(load)))
            else:
                said = {"value": load.value, "unit_kg": KG_PER_UNIT.get(load.unit),
                        "on_body": load.on_body, "word": load.counts}  # fmt: skip
                rows.append((field, text, said))
    return rows


def _words(staged: Staged) -> list[tuple[str, str, dict[str, Any]]]:
    rows: list[tuple[str, str, dict[str, Any]]] = []
    if staged.bodies:
        return rows
    for text in staged.texts("load_unit"):
        unit = cells.read_unit(text)
        refused = isinstance(unit, Refusal)
        said = _refused(unit) if refused else {"unit_kg": KG_PER_UNIT[unit]}  # type: ignore[arg-type, index]
        rows.append(("load_unit", text, said))
    for text in staged.texts("side"):
        side = cells.read_side(text)
        said = _refused(side) if isinstance(side, Refusal) else {"word": side}
        rows.append(("side", text, said))
    return rows


def _labels(staged: Staged) -> list[tuple[str, str, dict[str, Any]]]:
    """Names that hold what cannot be seen."""
    return [
        (field, text, _refused(label))
        for field in LABELS if field in staged.mapped
        for text in staged.unplain_texts(field)
        if isinstance(label := cells.read_label(text), Refusal)
    ]  # fmt: skip


def _unfold(staged: Staged) -> None:
    """Make rows that hold several sets into several rows of ``entry``."""
    mapped = staged.mapped & {"sets", "shorthand", "reps"}
    several = bool({"sets", "shorthand"} & mapped) or "reps" not in mapped
    if not several and "reps" not in staged.odd:
        return
    condition = "true" if several else "reps IS NOT NULL AND plain(reps) IS NULL"
    found = staged.con.execute(
        "SELECT DISTINCT coalesce(sets, ''), coalesce(load, ''), "
        "coalesce(shorthand, reps, '') "
        f"FROM entry WHERE {condition} LIMIT {MOST_TEXTS + 1}"
    ).fetchall()
    if len(found) > MOST_TEXTS:
        raise FileRefusedError(
            f"{staged.file} holds more than {MOST_TEXTS} different combinations of "
            "sets, load and repetitions that are no plain numbers; check the columns"
        )
    read = {key: _several(key, staged.decimal) for key in found}
    names = ["sets", "load", "reps", "position", "problem", "accepted"]
    names += [f"its_{field.name}" for field in fields(Entry)]
    staged.keep(
        "unfolded",
        [(name, pa.int32() if name == "position" else _TEXT) for name in names],
        [
            (*key, position, *said, *astuple(entry))
            for key, (entries, said) in read.items()
            for position, entry in enumerate(entries)
        ],
    )
    staged.con.execute(statement("unfolded_entry"))
    staged.con.execute("DROP VIEW entry")
    staged.con.execute("ALTER TABLE unfolded_entry RENAME TO entry")
    marks = [
        {name for name in _MARKS if getattr(entry, name)}
        for entries, _ in read.values() for entry in entries
    ]  # fmt: skip
    staged.mapped |= {"load", "reps"}.union(*marks)
    staged.flat = False
    staged.find_odd()


def _several(
    key: tuple[str, str, str], decimal: str
) -> tuple[list[Entry], tuple[str | None, str | None]]:
    """Read the sets of one row, or its one entry and why it cannot be read."""
    sets, load, reps = key
    short = max(map(len, key)) <= LONGEST
    entries = unfold(sets, load, reps, decimal) if short else _NO_SET
    if isinstance(entries, Refusal):
        return [Entry(load, reps)], (entries.problem, entries.accepted)
    return entries, (None, None)


def _dates(staged: Staged) -> None:
    field = "measured_on" if staged.bodies else "performed_on"
    texts = staged.texts(field) if field in staged.mapped else []
    settle_order(staged, field, texts)
    epoch = staged.plan.sheets[0][0].epoch
    rows: list[Sequence[Any]] = []
    for text in texts:
        short = len(text) <= LONGEST
        day = read_date(text, staged.order, epoch=epoch) if short else _TOO_LONG
        refused = isinstance(day, Refusal)
        rows.append((text, None, *_refused(day).values()) if refused  # type: ignore[arg-type]
                    else (text, day, None, None))  # fmt: skip
    columns = [
        ("text", _TEXT),
        ("day", pa.date32()),
        ("problem", _TEXT),
        ("accepted", _TEXT),
    ]
    staged.keep("day_cell", columns, rows)


def _names(staged: Staged) -> list[tuple[str, str, dict[str, Any]]]:
    texts = staged.texts("exercise") if "exercise" in staged.mapped else []
    if len(texts) > MOST_NAMES:
        raise FileRefusedError(
            f"{staged.file} column {staged.header('exercise')} holds {len(texts)} "
            f"different names, such as `{texts[0][:40]}`; is it the exercise?"
        )
    read = {text: cells.read_exercise(text) for text in texts if len(text) <= LONGEST}
    refused = {text: key for text, key in read.items() if isinstance(key, Refusal)}
    keys = {
        text: str(read[text]) if text in read.keys() - refused else "" for text in texts
    }
    named = staged.plan.column_map.names
    taught = {normalise_name(text): name.variant for text, name in named.items()}
    matches = match_names(keys.values())
    meant = {
        text: load_catalogue().variants.get(
            taught.get(key) or matches[key].variant or ""
        )
        for text, key in keys.items()
    }
    rows = [
        (text, key, variant is not None and variant.body_share > 0)
        for (text, key), variant in zip(keys.items(), meant.values(), strict=True)
    ]
    if "dumbbells" not in staged.settings and any(
        variant and variant.implement == "dumbbell" and variant.arms == 2
        for variant in meant.values()
    ):
        staged.notes.append(
            "loads of two dumbbells are taken per hand where a cell does not say; "
            'otherwise give `dumbbells = "total"` under [settings]'
        )
    columns = [("text", _TEXT), ("name_key", _TEXT), ("on_body", pa.bool_())]
    staged.keep("name_cell", columns, rows)
    return [("exercise", text, _refused(key)) for text, key in refused.items()]


def _settings(staged: Staged) -> None:
    """Set what the checks need as variables; ask for a unit nobody gave."""
    unit = unit_of(staged, "load")
    mass_unit = unit_of(staged, "body_mass") or unit
    variables = {
        "lifter": staged.settings.get("lifter"),
        "unit_kg": KG_PER_UNIT.get(unit),
        "mass_unit_kg": KG_PER_UNIT.get(mass_unit),
        "day_zero": day_zero(staged.plan.column_map),
        "counts": staged.settings.get("dumbbells", ""),
        "rir": staged.settings.get("rir"),
        "failed": staged.settings.get("failed") == "yes",
        "low": LOWEST,
        "high": HIGHEST,
    }
    for name, value in variables.items():
        staged.con.execute(f"SET VARIABLE {name} = $value", {"value": value})
    if not unit and not staged.bodies:
        ask_unit(staged, "load")
    if not mass_unit and "body_mass" in staged.mapped:
        ask_unit(staged, "body_mass")
