"""The view with the value of every cell, which the checks read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from analytics.intake.effort import EFFORTS, FAILED
from analytics.intake.fields import (
    BODY_FIELDS,
    LABELS,
    LENGTHS,
    LOADS,
    READERS,
    SET_FIELDS,
)
from analytics.intake.headers import length_scale_m
from analytics.intake.steps import Rows
from analytics.store.fields import FIELDS as REGISTRY

_ALWAYS = {"row_no", "slot", "lifter", "performed_on", "name_key", "load_kg", "fault"}


def define_values(rows: Rows, said: Sequence[tuple[Any, ...]]) -> list[str]:
    """Define ``valued``; a field is joined only if some cell was no plain number.

    Parameters
    ----------
    rows : Rows
        Cells.
    said : sequence of tuple
        Rows of the table ``cell``: field, text, value, unit, on_body, word, ..., half.

    Returns
    -------
    filled : list of str
        Columns of the store that can have a value in this file.
    """
    read = {row[0] for row in said}
    columns = ["e.row_no", "e.slot", "e.surplus"]
    joins = []
    for field in BODY_FIELDS if rows.bodies else SET_FIELDS:
        if field in ("sets", "set_no", "shorthand"):
            continue
        header = rows.columns.get(field, ("",))[0]
        scale = length_scale_m(header) if field in LENGTHS else None
        columns += _columns(field, joined=field in read, scale=scale or 1)
        if field in read:
            joins.append(
                f"LEFT JOIN cell AS {field}_cell ON {field}_cell.field = '{field}' "
                f"AND {field}_cell.text = e.{field}"
            )
    if not rows.bodies:
        columns.append("e.sets AS unfold_problem")
    rows.con.execute(
        f"CREATE TEMP VIEW valued AS SELECT {', '.join(columns)} "
        f"FROM entry AS e {' '.join(joins)}"
    )
    return _filled(rows, said)


def _columns(field: str, *, joined: bool, scale: float) -> list[str]:
    """Text of a field and, where it has one, its value, unit and word."""
    cell = f"{field}_cell"
    plain = f"plain(e.{field})" + (f" * {scale}" if scale != 1 else "")
    said = {
        "value": f"coalesce({plain}, {cell}.value)",
        "unit_kg": f"{cell}.unit_kg", "on_body": f"coalesce({cell}.on_body, false)",
        "word": f"{cell}.word", "bad": f"{cell}.problem IS NOT NULL",
        "half": f"{cell}.half",
    } if joined else {
        "value": plain, "unit_kg": "CAST(NULL AS DOUBLE)",
        "on_body": "false", "word": "CAST(NULL AS TEXT)", "bad": "false",
        "half": "CAST(NULL AS DOUBLE)",
    }  # fmt: skip
    columns = [f"e.{field} AS {field}_text"]
    if field in (*READERS, *LOADS):
        name = "day_number" if field == "day" else field
        columns.append(f"{said['value']} AS {name}")
    if field in LABELS:
        columns.append(f"{said['bad']} AS {field}_bad")
    if field in LOADS:
        columns.append(f"{said['unit_kg']} AS {field}_unit_kg")
    if field == "load":
        columns.append(f"{said['on_body']} AS on_body")
        columns.append(f"{said['word']} AS load_counts")
    if field in EFFORTS:
        columns.append(f"{said['word']} AS {field}_word")
        columns.append(f"{said['half']} AS {field}_half")
    if field == "load_unit":
        columns.append(f"{said['unit_kg']} AS unit_kg")
    if field == "side":
        columns.append(f"{said['word']} AS side")
    return columns


def _filled(rows: Rows, said: Sequence[tuple[Any, ...]]) -> list[str]:
    """Columns of the store that can have a value in this file."""
    filled = _ALWAYS | {REGISTRY[field].column for field in rows.mapped}
    loads = [row for row in said if row[0] == "load"]
    extra = {
        "rir": "rpe" in rows.mapped or "rir" in rows.settings,
        "rir_half": any(row[-1] for row in said),
        "failed": "failed" in rows.settings
        or any(row[0] in EFFORTS and row[5] == FAILED for row in said),
        "reps": "shorthand" in rows.mapped or not rows.flat,
        "side": any(row[0] == "side" for row in said),
        "on_body": any(row[4] for row in loads),
        "load_counts": any(row[5] for row in loads) or "dumbbells" in rows.settings,
    }
    filled |= {name for name, has in extra.items() if has}
    return sorted(filled)
