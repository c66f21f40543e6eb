"""Stored sets in a table to be corrected, cell by cell or many at once."""

from typing import Any

import pandas as pd
import streamlit as st

from analytics import intake
from analytics import store as stored
from analytics.shown_loads import loads_in
from analytics.store.fields import BY_COLUMN, IN_FORM
from analytics.store.reserve import reserve_told
from analytics.units import KG_PER_UNIT
from app import figure
from app.figure import counted
from app.state import read, store, unit, variant_titles

COLUMNS = ["exercise", *IN_FORM]
SHOWN = 0.05  # half of the last digit of a load


def rows_of(sets: pd.DataFrame) -> pd.DataFrame:
    """Return sets as the form of corrections has them, by set.

    Parameters
    ----------
    sets : DataFrame
        Of `stored.sets`, or `stored.logged_kg`.

    Returns
    -------
    rows : DataFrame
        Loads in the unit shown, as a person corrects them.
    """
    rows = sets.set_index("set_id")
    if "exercise" not in rows:
        names = read(stored.logged).set_index("set_id")["exercise"]
        rows = rows.assign(exercise=rows.index.map(names))
    rows = rows.assign(rir=reserve_told(rows))  # as typed, since it may be an interval
    return loads_in(rows[COLUMNS], unit()).assign(delete=False)


def editor(rows: pd.DataFrame, *, key: str, about: pd.DataFrame | None = None) -> Any:
    """Draw sets to be corrected, and store what was changed once that is asked for.

    Parameters
    ----------
    rows : DataFrame
        From :func:`rows_of`.
    key : str
        Unique on the page.
    about : DataFrame, optional
        More columns of each set, to be read only.
    """
    about = pd.DataFrame(index=rows.index) if about is None else about
    table = about.join(rows)
    names = {*read(stored.names)["text"], *variant_titles().values()}
    times = st.session_state.get("corrections", 0)
    cells = st.data_editor(
        table,
        hide_index=True,
        disabled=list(about.columns),
        column_config=figure.column_settings(table, unit())
        | {
            "exercise": st.column_config.SelectboxColumn(options=sorted(names)),
            "delete": st.column_config.CheckboxColumn(),
        },
        key="_".join(map(str, (key, unit(), hash(tuple(rows.index)), times))),
        placeholder="–",
        alt="Stored sets, cell by cell, to be corrected",
    )
    after = cells[rows.columns]
    if st.button(
        "Store the corrections", key=f"store_{key}", disabled=after.equals(rows)
    ):
        tell(corrected(rows, after))


def tell(said: str) -> None:
    """Confirm a correction on the page as it is afterwards."""
    st.session_state["corrected"] = said
    st.session_state["corrections"] = st.session_state.get("corrections", 0) + 1
    st.rerun()


def told() -> None:
    """Say what was corrected last, once."""
    if said := st.session_state.pop("corrected", None):
        st.success(figure.lines(said))


def corrected(before: pd.DataFrame, after: pd.DataFrame) -> str:
    """Store what a person changed and say how many sets that were."""
    gone = after.index[after["delete"]]
    for set_id in gone:
        stored.delete_set(store(), set_id)
    changed = (before != after) & (before.notna() | after.notna())
    edited = changed.drop(index=gone)
    edited = edited[edited.any(axis=1)]
    changes = {
        str(set_id): {
            name: _in_kg(name, _plain(name, after.at[set_id, name]))
            for name in cells.index[cells]
        }
        for set_id, cells in edited.iterrows()
    }
    stored.edit_sets(store(), changes)
    return f"{counted(len(edited), 'set')} corrected, {len(gone)} deleted."


def replaced(rows: pd.DataFrame, column: str, where: str, put: str) -> str:
    """Put one value into many sets and say how many those were.

    Parameters
    ----------
    rows : DataFrame
        Sets as :func:`rows_of` gives them.
    column : str
        One of its columns.
    where : str
        Only where this stands now; empty for all.
    put : str
        As a person types it; loads also as ``x0.1``, times what they are.
    """
    some = rows
    if where.strip():
        _, now = intake.read_correction(f"{_field(column)}={where}")
        same = rows[column].map(lambda value: _same(column, _plain(column, value), now))
        some = rows[same]
    if column == "load_kg" and put.strip().lower().startswith(("x", "×", "*")):
        factor = float(intake.read_correction(f"reps={put.strip()[1:]}")[1] or 0)
        values = {
            at: _in_kg(column, load * factor) for at, load in some[column].items()
        }
    else:
        _, value = intake.read_correction(f"{_field(column)}={put}")
        values = dict.fromkeys(some.index, _in_kg(column, value))
    stored.edit_sets(store(), {set_id: {column: v} for set_id, v in values.items()})
    return f"{counted(len(values), 'set')} corrected: {_field(column)} is now {put}."


def _field(column: str) -> str:
    return column if column == "exercise" else BY_COLUMN[column].name


def _same(name: str, stands: Any, asked: Any) -> bool:
    """Tell whether a cell holds what is asked for, a load as it is shown."""
    if name.endswith("_kg") and None not in (stands, asked):
        return abs(stands - asked) < SHOWN
    return bool(stands == asked)


def _in_kg(name: str, value: Any) -> Any:
    """Turn a load in the unit shown into kilograms."""
    mass = name.endswith("_kg") and value is not None
    return value * KG_PER_UNIT[unit()] if mass else value


def _plain(name: str, value: Any) -> Any:
    if name == "exercise":
        return value
    if pd.isna(value):
        return "" if BY_COLUMN[name].type == "TEXT" else None
    if name == "rir":
        return intake.read_correction(f"rir={value}")[1]
    if BY_COLUMN[name].type == "DATE":
        return pd.Timestamp(value).date()
    return value.item() if hasattr(value, "item") else value
