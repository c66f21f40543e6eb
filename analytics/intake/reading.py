"""Reading the different texts of each column once.

A column of a million rows holds few different texts. Those that are no plain numbers
are read here, one by one, and joined to the rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pyarrow as pa

from analytics.catalogue import load_catalogue, normalise_name
from analytics.errors import FileRefusedError
from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.intake.column_map import ColumnMap, day_zero
from analytics.intake.dates import read_date
from analytics.intake.fields import READERS
from analytics.intake.questions import (
    LONGEST,
    ask_unit,
    settle_decimal,
    settle_order,
    unit_of,
)
from analytics.intake.staged import MOST_TEXTS, Staged, statement
from analytics.intake.unfold import ACCEPTED, unfold
from analytics.intake.values import define_values
from analytics.store import match_names
from analytics.store.limits import LIMITS
from analytics.units import KG_PER_UNIT

MOST_NAMES = 20_000
_TOO_LONG = Refusal("a text too long for its column", "a short value")
_NO_SET = Refusal("a text too long for a set", ACCEPTED)
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
        for field, text, said in (*_numbers(staged), *_words(staged))
    ]
    staged.keep("cell", [("field", _TEXT), ("text", _TEXT), *_CELL], rows)
    _dates(staged)
    _names(staged)
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
    for field, reader in READERS.items():
        for text in staged.odd_texts(field):
            value = reader(text, decimal) if len(text) <= LONGEST else _TOO_LONG
            said = _refused(value) if isinstance(value, Refusal) else {"value": value}
            rows.append((field, text, said))
    for field in ("load", "body_mass"):
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
    rows: list[tuple[Any, ...]] = []
    for key in found:
        sets, load, reps = key
        short = max(map(len, key)) <= LONGEST
        entries = unfold(sets, load, reps, staged.decimal) if short else _NO_SET
        if isinstance(entries, Refusal):
            rows.append((*key, 0, load, reps, "", entries.problem, entries.accepted))
            continue
        rows += [
            (*key, position, entry.load, entry.reps, entry.side, None, None)
            for position, entry in enumerate(entries)
        ]
    names = ("sets", "load", "reps", "position", "its_load", "its_reps", "its_side",
             "problem", "accepted")  # fmt: skip
    kinds = [pa.int32() if name == "position" else _TEXT for name in names]
    staged.keep("unfolded", list(zip(names, kinds, strict=True)), rows)
    staged.con.execute(statement("unfolded_entry"))
    staged.con.execute("DROP VIEW entry")
    staged.con.execute("ALTER TABLE unfolded_entry RENAME TO entry")
    staged.flat = False
    staged.mapped |= {"load", "reps"}
    staged.find_odd()


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


def _names(staged: Staged) -> None:
    texts = staged.texts("exercise") if "exercise" in staged.mapped else []
    if len(texts) > MOST_NAMES:
        raise FileRefusedError(
            f"{staged.file} column {staged.header('exercise')} holds {len(texts)} "
            f"different names, such as `{texts[0][:40]}`; is it the exercise?"
        )
    keys = {text: normalise_name(text)[:LONGEST] for text in texts}
    share = {v.variant: v.body_share for v in load_catalogue().variants.values()}
    taught = staged.plan.column_map.names
    matches = match_names(keys.values())
    rows = [
        (text, key, share.get(taught.get(text) or matches[key].variant or "", 0) > 0)
        for text, key in keys.items()
    ]
    columns = [("text", _TEXT), ("name_key", _TEXT), ("on_body", pa.bool_())]
    staged.keep("name_cell", columns, rows)


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
        "low": {name: float(limit.low) for name, limit in LIMITS.items()},
        "high": {name: float(limit.high) for name, limit in LIMITS.items()},
    }
    for name, value in variables.items():
        staged.con.execute(f"SET VARIABLE {name} = $value", {"value": value})
    if not unit and not staged.bodies:
        ask_unit(staged, "load")
    if not mass_unit and "body_mass" in staged.mapped:
        ask_unit(staged, "body_mass")
