"""Checks, columns, identity, correction and headers know every field."""

from __future__ import annotations

from datetime import date

import pytest

from analytics.errors import InputError
from analytics.intake import cells
from analytics.intake.headers import field_of
from analytics.intake.steps import statement
from analytics.store import edit_set, sets
from analytics.store.append import DETAIL
from analytics.store.fields import EDITABLE, FIELDS, IN_FORM
from analytics.store.limits import HIGHEST, LOWEST

BASE = {
    "lifter": "R01", "performed_on": "2025-01-06", "exercise": "barbell curl",
    "load": "20", "reps": "8",
}  # fmt: skip
# A cell of each field that differs from the row above, which has none of the others.
OTHER = {
    "lifter": "R02", "performed_on": "2025-01-07", "exercise": "hammer curl",
    "equipment": "bar 2", "load": "21", "reps": "9", "rir": "3", "failed": "yes",
    "failed_at_deg": "80", "range_from_deg": "20", "range_to_deg": "110",
    "stance": "wide", "rotation": "neutral", "side": "left", "hold_s": "5",
    "angle_deg": "90", "tempo": "2010", "pain": "4", "body_mass": "80", "lean": "5",
    "cheat": "yes", "note": "felt good", "rpe": "8", "load_unit": "lb",
}  # fmt: skip
STORED = [name for name, field in FIELDS.items() if field.stored in ("core", "detail")]


def test_every_entry_is_whole():
    titles = [field.title for field in FIELDS.values()]
    assert len(set(titles)) == len(titles)
    for name, field in FIELDS.items():
        assert field.words, name
        assert not field.reader or field.reader == "date" or hasattr(
            cells, f"read_{field.reader}"
        ), name  # fmt: skip
        assert (field.stored == "") == (field.type == ""), name
        assert (field.limits is None) == (field.accepted == ""), name
        if field.type == "DOUBLE":
            assert field.limits, name
        if field.limits and field.unit:
            assert field.unit in ("kg", "deg", "m", "s")
    assert FIELDS["load"].unit == "kg"
    assert FIELDS["reps"].unit == ""


def test_the_store_has_a_column_of_its_type_for_every_field(store):
    with store.read() as con:
        found = con.execute(
            "SELECT table_name, column_name, data_type FROM duckdb_columns() "
            "WHERE table_name IN ('logged_set', 'set_detail', 'body')"
        ).fetchall()
    kinds = {"core": "logged_set", "detail": "set_detail", "body": "body"}
    wanted = {
        (kinds[f.stored], f.column, {"TEXT": "VARCHAR"}.get(f.type, f.type))
        for f in FIELDS.values() if f.stored
    }  # fmt: skip
    assert wanted <= set(found)
    ours = {column for _, column, _ in wanted}
    others = {column for _, column, _ in found} - ours
    assert others == {
        "set_key", "body_key", "intake_id", "source_row", "source_sheet", "on_body",
        "load_counts", "rir_half",
    }  # fmt: skip
    assert set(DETAIL) == {
        c for table, c, _ in found if table == "set_detail"
    } - {"set_key", "source_sheet"}  # fmt: skip


@pytest.mark.parametrize("name", [n for n in FIELDS if n not in ("sets", "shorthand")])
def test_every_field_is_checked(name):
    field = FIELDS[name]
    body = field.stored == "body"
    checks = statement("typed_bodies" if body else "typed_sets")
    checks += statement("effort_unread")
    wanted = ["unread"] if field.reader else []
    wanted += ["range"] if field.limits else []
    wanted += ["long"] if field.letters and name != "side" else []
    for kind in wanted:
        assert f"'{name}:{kind}'" in checks
    if field.letters and name not in ("side",):
        assert f"{name}_text) > {field.letters}" in checks


@pytest.mark.parametrize("name", [n for n, f in FIELDS.items() if f.limits])
def test_limits_are_held_at_both_ends(name):
    field = FIELDS[name]
    low, high = field.limits
    assert (LOWEST[field.column], HIGHEST[field.column]) == (low, high)
    assert low < high


@pytest.mark.parametrize("name", OTHER)
def test_a_set_is_another_set_if_a_field_of_its_identity_differs(store, bring, name):
    row = BASE | {name: OTHER[name]}
    header = ",".join({**BASE, name: ""})
    text = [",".join({**BASE, name: ""}.values()) if name not in BASE
            else ",".join(BASE.values()), ",".join(row.values())]  # fmt: skip
    columns = "".join(f'{key} = "{key}"\n' for key in {**BASE, name: ""})
    options = {"columns": f"[columns]\n{columns}", "dates": "iso"}
    options["unit"] = "kg"
    bring(f"{header}\n{text[0]}\n", name="a.csv", **options)
    result = bring(f"{header}\n{text[1]}\n", name="b.csv", **options)
    identity = FIELDS[name].identity or FIELDS[name].reader in ("exertion", "unit")
    assert result.sets_added == bool(identity)


def test_every_stored_field_has_a_row_above():
    assert set(STORED) <= set(OTHER)


@pytest.mark.parametrize("column", EDITABLE)
def test_a_person_can_correct_every_editable_field_and_no_other(store, bring, column):
    bring(",".join(BASE) + "\n" + ",".join(BASE.values()), unit="kg")
    (set_id,) = sets(store)["set_id"]
    field = EDITABLE[column]
    assert set(IN_FORM) <= set(EDITABLE)
    value = {
        "DATE": date(2025, 1, 9), "BOOLEAN": True, "TEXT": "left",
        "DOUBLE": field.limits and sum(field.limits) / 2 + 1,
    }[field.type]  # fmt: skip
    if column == "name_key":
        edit_set(store, set_id, exercise="hammer curl")
        assert sets(store)["variant"].tolist() == ["hammer_curl"]
        return
    edit_set(store, set_id, **{column: value})
    (after,) = sets(store)[column]
    assert after == value or after.date() == value
    if field.limits and field.type == "DOUBLE":
        for beyond in (field.limits[0] - 1, field.limits[1] + 1):
            with pytest.raises(InputError, match=field.column):
                edit_set(store, set_id, **{column: beyond})
    if field.letters:
        with pytest.raises(InputError):
            edit_set(store, set_id, **{column: "x" * (field.letters + 1)})


def test_what_is_not_editable_is_refused(store, bring):
    bring(",".join(BASE) + "\n" + ",".join(BASE.values()), unit="kg")
    (set_id,) = sets(store)["set_id"]
    for name in ("set_key", "rpe", "stature_m", "source_row", "on_body"):
        with pytest.raises(InputError, match="cannot be edited"):
            edit_set(store, set_id, **{name: 1})


def test_every_header_word_means_its_field():
    for name, field in FIELDS.items():
        for word in field.words:
            assert field_of(word) in (name, "day"), (word, name)
        assert field_of(name) == name
