"""One field of a stored set as a person types it, read as a cell of a log is."""

from __future__ import annotations

from analytics.errors import InputError
from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.intake.dates import read_date
from analytics.intake.fields import READERS
from analytics.store.fields import BY_COLUMN, EDITABLE, FIELDS, Field
from analytics.units import KG_PER_UNIT


def read_correction(text: str) -> tuple[str, object]:
    """Read ``FIELD=VALUE``.

    Parameters
    ----------
    text : str
        Field of a log or column of the store, and a value as a log has it: ``load=50
        lb``, ``performed_on=2025-01-31``, ``failed=no``; nothing behind the sign
        empties it.

    Returns
    -------
    column : str
        As `edit_set` wants it.
    value : object
        Of the column's type and unit; None for an emptied number.

    Raises
    ------
    InputError
        If there is no such field, it cannot be corrected, or the value not be read.
    """
    name, sign, typed = text.partition("=")
    name, typed = name.strip(), typed.strip()
    if not sign:
        raise InputError(f"`{text}` is no FIELD=VALUE, such as load=22.5")
    field = FIELDS.get(name) or BY_COLUMN.get(name)
    if field is None or field.column not in EDITABLE:
        known = "cannot be corrected" if field else "is no field of a set"
        raise InputError(
            f"`{name}` {known}; can be: {', '.join(f.name for f in EDITABLE.values())}"
        )
    value = _value(field, typed)
    if isinstance(value, Refusal):
        raise InputError(
            f"{name} `{typed}`: {value.problem}; accepted is {value.accepted}"
        )
    return ("exercise" if field.name == "exercise" else field.column), value


def _value(field: Field, typed: str) -> object:
    if field.type == "TEXT":
        if field.reader == "side" and typed:
            return cells.read_side(typed)
        key = cells.read_exercise(typed) if field.reader == "exercise" else typed
        return key if isinstance(key, Refusal) else typed
    if field.reader == "date":
        return read_date(typed, "iso")
    if not typed:
        return None
    if field.reader == "load":
        return _load_kg(typed)
    value = READERS[field.name](typed, ".")
    whole = field.type == "BOOLEAN" and not isinstance(value, Refusal)
    return bool(value) if whole else value


def _load_kg(typed: str) -> float | Refusal:
    load = cells.read_load(typed)
    if isinstance(load, Refusal):
        return load
    if load.on_body or load.counts:
        accepted = "the number alone, such as 22.5, 50 lb, or -20 for help"
        return Refusal("how a load counts cannot be corrected", accepted)
    return load.value * KG_PER_UNIT[load.unit or "kg"]
