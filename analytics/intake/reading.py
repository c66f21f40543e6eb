"""Reading the different texts of each column once, and asking what is open.

A column of a million rows holds few different texts. Those that are no plain numbers
are read here and joined to the rows; whatever the whole file leaves open (order of
day and month, unit, decimal sign) is asked by refusing the file with its evidence.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from importlib.resources import files
from typing import Any

import duckdb
import pyarrow as pa

from analytics.catalogue import load_catalogue, normalise_name
from analytics.errors import FileRefusedError
from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.intake.column_map import ColumnMap, day_zero
from analytics.intake.dates import order_evidence, read_date
from analytics.intake.fields import BODY_FIELDS, COLUMN_OF, CORE, READERS, SET_FIELDS
from analytics.intake.headers import header_unit
from analytics.intake.staging import SHEET_STEP, Plan, slots
from analytics.intake.unfold import ACCEPTED, unfold
from analytics.store import match_names
from analytics.store.connection import first_row
from analytics.store.limits import LIMITS
from analytics.units import KG_PER_UNIT

LONGEST = 200
MOST_TEXTS = 300_000
_EVIDENCE_FROM = ("load", "body_mass", "stature", "rir", "rpe", "hold_s")
_SQL = files("analytics.intake") / "sql"


def statement(name: str) -> str:
    """Text of one statement of `sql/`.

    Parameters
    ----------
    name : str
        File name without its ending.

    Returns
    -------
    text : str
        The statement.
    """
    return (_SQL / f"{name}.sql").read_text(encoding="utf-8")


class Reading:
    """Reads the cells of a staged file into the tables the checks join with.

    Parameters
    ----------
    con : DuckDBPyConnection
        Connection with the view ``entry``.
    plan : Plan
        File.
    """

    def __init__(self, con: duckdb.DuckDBPyConnection, plan: Plan) -> None:
        self.con = con
        self.plan = plan
        self.file = f"`{plan.path.name}`"
        self.notes: list[str] = []
        self.decimal, self.order = ".", "iso"
        self._odd: set[str] = set()
        self.filled: list[str] = []
        self.flat = len(slots(plan)) == 1  # a row is a set
        self.mapped = {
            field.removesuffix("_left").removesuffix("_right")
            for field in plan.column_map.columns
        }

    def read(self) -> None:
        """Fill ``cell``, ``day_cell`` and ``name_cell`` and set the variables.

        Raises
        ------
        FileRefusedError
            If something is open that only a person can settle.
        """
        self._set_decimal()
        if self.plan.column_map.kind == "sets":
            self._unfold()
        rows = self._numbers() + self._words()
        self._table("cell", [
            ("field", pa.string()), ("text", pa.string()), ("value", pa.float64()),
            ("unit_kg", pa.float64()), ("on_body", pa.bool_()), ("word", pa.string()),
            ("problem", pa.string()), ("accepted", pa.string()),
        ], rows)  # fmt: skip
        self._dates()
        self._names()
        self._settings()
        self._value(rows)

    def resolved(self) -> ColumnMap:
        """Column map with what the file proved, for rows of it that come later.

        Returns
        -------
        column_map : ColumnMap
            As given, with decimal sign and order of dates.
        """
        given = self.plan.column_map
        decimal = {} if self.decimal == "?" else {"decimal": self.decimal}
        return replace(
            given,
            read={**given.read, **decimal},
            settings={**given.settings, "dates": self.order},
        )

    def _texts(self, field: str, condition: str = "true") -> list[str]:
        found = self.con.execute(
            f"SELECT DISTINCT {field} FROM entry WHERE {field} IS NOT NULL "
            f"AND {condition} LIMIT {MOST_TEXTS + 1}"
        ).fetchall()
        if len(found) > MOST_TEXTS:
            raise FileRefusedError(
                f"{self.file} column {self._header(field)} holds more than {MOST_TEXTS} "
                f"different texts, such as `{found[0][0][:40]}`; is it {field}?"
            )
        return [row[0] for row in found]

    def _header(self, field: str) -> str:
        names = self.plan.column_map.columns.get(field, (field,))
        return f"`{names[0]}`"

    def _row_of(self, field: str, text: str) -> int:
        found = first_row(
            self.con,
            f"SELECT min(row_no) FROM entry WHERE {field} = $text",
            {"text": text},
        )
        return int(found[0]) % SHEET_STEP if found else 0

    def _table(
        self, name: str, columns: Sequence[tuple[str, pa.DataType]], rows: Sequence[Any]
    ) -> None:
        arrays = [
            pa.array([row[at] for row in rows], kind)
            for at, (_, kind) in enumerate(columns)
        ]
        self.con.register("read", pa.table(arrays, names=[name for name, _ in columns]))
        self.con.execute(f"CREATE TEMP TABLE {name} AS SELECT * FROM read")
        self.con.unregister("read")

    def _odd_fields(self) -> set[str]:
        """Fields with a cell that is no plain number, found in one pass."""
        fields = [
            field for field in (*READERS, "load", "body_mass")
            if field in self.mapped or (field in ("reps", "load") and "shorthand" in self.mapped)
        ]  # fmt: skip
        if self.plan.column_map.kind == "bodies":
            fields = [field for field in fields if field in BODY_FIELDS]
        if not fields:
            return set()
        tests = ", ".join(
            f"bool_or({field} IS NOT NULL AND plain({field}) IS NULL)"
            for field in fields
        )
        found = first_row(self.con, f"SELECT {tests} FROM entry")
        return {field for field, odd in zip(fields, found or (), strict=True) if odd}

    # Decimal sign

    def _set_decimal(self) -> None:
        given = self.plan.column_map.read.get("decimal")
        self._plain(given or ".")
        self._odd = self._odd_fields()
        self.decimal = given or self._proven_decimal()
        if self.decimal == "," and given is None:
            self._plain(",")
            self._odd = self._odd_fields()

    def _plain(self, decimal: str) -> None:
        self.con.execute(statement("plain_comma" if decimal == "," else "plain_point"))

    def _proven_decimal(self) -> str:
        seen: dict[str, tuple[str, str]] = {}
        for field in _EVIDENCE_FROM:
            if field not in self._odd:
                continue
            for text in self._texts(field, f"plain({field}) IS NULL"):
                sign = cells.decimal_evidence(text[:LONGEST])
                # A point before three digits is a decimal point unless commas are.
                sign = "" if sign == "?" and "," not in text else sign
                seen.setdefault(sign, (field, text))
        for field in ("reps", "sets", "shorthand"):
            if field in (self._odd if field == "reps" else self.mapped):
                for text in self._texts(field, f"contains({field}, ',')"):
                    for sign in cells.load_evidence(text[:LONGEST]):
                        seen.setdefault(sign, (field, text))
        point = "." in seen or self._has_point()
        if "," in seen and not point:
            return ","
        if "?" in seen and ("," in seen or not point):
            field, text = seen["?"]
            raise FileRefusedError(
                f"{self.file} row {self._row_of(field, text)}, column "
                f"{self._header(field)}: `{text}` can be read with a decimal comma or "
                'a thousands comma; say which with `decimal = ","` or `decimal = "."` '
                "under [read] in the column map"
            )
        # Signs of both kinds: what only one reading fits is read, the rest set aside.
        return "." if point and "," not in seen else "?"

    def _has_point(self) -> bool:
        for field in _EVIDENCE_FROM:
            if field in self.mapped and first_row(
                self.con,
                f"SELECT 1 FROM entry WHERE contains({field}, '.') "
                f"AND plain({field}) IS NOT NULL LIMIT 1",
            ):
                return True
        return False

    # Rows that hold several sets

    def _unfold(self) -> None:
        mapped = self.mapped & {"sets", "shorthand", "reps", "load"}
        several = bool({"sets", "shorthand"} & mapped) or "reps" not in mapped
        odd = "reps IS NOT NULL AND plain(reps) IS NULL"
        if not several and "reps" not in self._odd:
            return
        condition = "true" if several else odd
        found = self.con.execute(
            "SELECT DISTINCT coalesce(sets, ''), coalesce(load, ''), "
            "coalesce(shorthand, reps, '') "
            f"FROM entry WHERE {condition} LIMIT {MOST_TEXTS + 1}"
        ).fetchall()
        if len(found) > MOST_TEXTS:
            raise FileRefusedError(
                f"{self.file} holds more than {MOST_TEXTS} different combinations of "
                "sets, load and repetitions that are no plain numbers; check the columns"
            )
        rows = []
        for sets, load, reps in found:
            entries: list[Any] | Refusal = (
                Refusal("a text too long for a set", ACCEPTED)
                if max(len(sets), len(load), len(reps)) > LONGEST
                else unfold(sets, load, reps, self.decimal)
            )
            key = (sets, load, reps)
            if isinstance(entries, Refusal):
                rows.append(
                    (*key, 0, load, reps, "", entries.problem, entries.accepted)
                )
            else:
                rows += [(*key, at, e.load, e.reps, e.side, None, None)
                         for at, e in enumerate(entries)]  # fmt: skip
        names = ("sets", "load", "reps", "position", "its_load", "its_reps", "its_side",
                 "problem", "accepted")  # fmt: skip
        kinds = [pa.int32() if name == "position" else pa.string() for name in names]
        self._table("unfolded", list(zip(names, kinds, strict=True)), rows)
        self.con.execute(statement("unfolded_entry"))
        self.flat = False
        self.con.execute("DROP VIEW entry")
        self.con.execute("ALTER TABLE unfolded_entry RENAME TO entry")
        self.mapped |= {"load", "reps"}
        self._odd = self._odd_fields()

    # Numbers and words

    def _numbers(self) -> list[tuple[Any, ...]]:
        rows: list[tuple[Any, ...]] = []
        decimal = "." if self.decimal == "?" else self.decimal
        for field, reader in READERS.items():
            if field in self._odd:
                for text in self._texts(field, f"plain({field}) IS NULL"):
                    value = _bounded(text) or reader(text, decimal)
                    rows.append(_row(field, text, value))
        for field in ("load", "body_mass"):
            if field in self._odd:
                for text in self._texts(field, f"plain({field}) IS NULL"):
                    load = _bounded(text) or cells.read_load(text, decimal)
                    if isinstance(load, Refusal):
                        rows.append(_row(field, text, load))
                        continue
                    rows.append((
                        field, text, load.value, KG_PER_UNIT.get(load.unit),
                        load.on_body, load.counts, None, None,
                    ))  # fmt: skip
        return rows

    def _words(self) -> list[tuple[Any, ...]]:
        rows: list[tuple[Any, ...]] = []
        if "load_unit" in self.mapped:
            for text in self._texts("load_unit"):
                unit = _bounded(text) or cells.read_unit(text)
                if isinstance(unit, Refusal):
                    rows.append(_row("load_unit", text, unit))
                else:
                    rows.append(
                        (
                            "load_unit",
                            text,
                            None,
                            KG_PER_UNIT[unit],
                            None,
                            None,
                            None,
                            None,
                        )
                    )
        if self.plan.column_map.kind == "sets":
            for text in self._texts("side"):
                side = _bounded(text) or cells.read_side(text)
                if isinstance(side, Refusal):
                    rows.append(_row("side", text, side))
                else:
                    rows.append(("side", text, None, None, None, side, None, None))
        return rows

    # Dates

    def _dates(self) -> None:
        field = (
            "measured_on" if self.plan.column_map.kind == "bodies" else "performed_on"
        )
        texts = self._texts(field) if field in self.mapped else []
        order = self.order = self._order(field, texts)
        epoch = self.plan.sheets[0][0].epoch
        rows = []
        for text in texts:
            day = _bounded(text) or read_date(text, order, epoch=epoch)
            if isinstance(day, Refusal):
                rows.append((text, None, day.problem, day.accepted))
            else:
                rows.append((text, day, None, None))
        self._table("day_cell", [
            ("text", pa.string()), ("day", pa.date32()), ("problem", pa.string()),
            ("accepted", pa.string()),
        ], rows)  # fmt: skip

    def _order(self, field: str, texts: Iterable[str]) -> str:
        """Order of day and month that the map gives or the file proves."""
        given = self.plan.column_map.settings.get("dates")
        seen = order_evidence(texts)
        where = f"{self.file} column {self._header(field)}"
        shown = {
            text: f"`{text}` (row {self._row_of(field, text)})"
            for text in (seen.day_first, seen.month_first, seen.either) if text
        }  # fmt: skip
        if given:
            against = {"dmy": seen.month_first, "mdy": seen.day_first}.get(given, "")
            proof = {"dmy": seen.day_first, "mdy": seen.month_first}.get(given, "")
            if against and not proof:
                raise FileRefusedError(
                    f"{where}: dates are to be read as {given}, but {shown[against]} can "
                    "only be the other order; give `--dates dmy` or `--dates mdy`"
                )
            return str(given)
        if seen.day_first and seen.month_first:
            raise FileRefusedError(
                f"{where} mixes two orders of day and month: {shown[seen.day_first]} and "
                f"{shown[seen.month_first]}; give `--dates dmy` or `--dates mdy`, and "
                "rows that do not fit are set aside"
            )
        if seen.day_first or seen.month_first:
            proof, order = (
                (seen.day_first, "dmy") if seen.day_first else (seen.month_first, "mdy")
            )
            words = "day" if order == "dmy" else "month"
            self.notes.append(f"dates read {words} first, as {shown[proof]} proves")
            return order
        if seen.either:
            raise FileRefusedError(
                f"{where}: {shown[seen.either]} can be day first or month first, and no "
                "date in the file settles it (none has a part above 12 there); "
                "give `--dates dmy` or `--dates mdy`"
            )
        return "iso"

    # Exercise names and settings

    def _names(self) -> None:
        texts = self._texts("exercise") if "exercise" in self.mapped else []
        if len(texts) > 20_000:
            raise FileRefusedError(
                f"{self.file} column {self._header('exercise')} holds {len(texts)} "
                f"different names, such as `{texts[0][:40]}`; is it the exercise?"
            )
        keys = {text: normalise_name(text)[:LONGEST] for text in texts}
        shares = {v.variant: v.body_share for v in load_catalogue().variants.values()}
        taught = self.plan.column_map.names
        meant = {
            key: match.variant for key, match in match_names(keys.values()).items()
        }
        rows = [
            (text, key, shares.get(taught.get(text) or meant[key] or "", 0) > 0)
            for text, key in keys.items()
        ]
        self._table("name_cell", [
            ("text", pa.string()), ("name_key", pa.string()), ("on_body", pa.bool_()),
        ], rows)  # fmt: skip

    def _settings(self) -> None:
        settings = self.plan.column_map.settings
        unit = self._unit("load")
        variables = {
            "lifter": settings.get("lifter"), "unit_kg": KG_PER_UNIT.get(unit),
            "mass_unit_kg": KG_PER_UNIT.get(self._unit("body_mass") or unit),
            "day_zero": day_zero(self.plan.column_map),
            "counts": settings.get("dumbbells", ""),
            "low": {name: float(limit.low) for name, limit in LIMITS.items()},
            "high": {name: float(limit.high) for name, limit in LIMITS.items()},
        }  # fmt: skip
        for name, value in variables.items():
            self.con.execute(f"SET VARIABLE {name} = $value", {"value": value})
        for field in ("load", "body_mass"):
            if first_row(self.con, "SELECT getvariable($name)", {
                "name": "unit_kg" if field == "load" else "mass_unit_kg"
            }) == (None,):  # fmt: skip
                self._ask_unit(field)

    # One view with the value of every cell

    def _value(self, rows: Sequence[tuple[Any, ...]]) -> None:
        """Define ``valued``; columns are joined only where a cell was no plain number."""
        read = {row[0] for row in rows}
        bodies = self.plan.column_map.kind == "bodies"
        columns, joins = ["e.row_no", "e.slot"], []
        for field in BODY_FIELDS if bodies else SET_FIELDS:
            if field in ("sets", "shorthand"):
                continue
            columns.append(f"e.{field} AS {field}_text")
            cell = f"{field}_cell" if field in read else ""
            if cell:
                joins.append(
                    f"LEFT JOIN cell AS {cell} "
                    f"ON {cell}.field = '{field}' AND {cell}.text = e.{field}"
                )
            if field in (*READERS, "load", "body_mass"):
                value = (
                    f"coalesce(plain(e.{field}), {cell}.value)"
                    if cell
                    else f"plain(e.{field})"
                )
                columns.append(
                    f"{value} AS {'day_number' if field == 'day' else field}"
                )
            if field in ("load", "body_mass"):
                unit = f"{cell}.unit_kg" if cell else "CAST(NULL AS DOUBLE)"
                columns.append(f"{unit} AS {field}_unit_kg")
            if field == "load":
                columns.append(
                    f"coalesce({cell}.on_body, false) AS on_body"
                    if cell
                    else "false AS on_body"
                )
                columns.append(
                    f"{cell}.word AS load_counts" if cell else "'' AS load_counts"
                )
            if field == "load_unit":
                columns.append(
                    f"{cell}.unit_kg AS unit_kg"
                    if cell
                    else "CAST(NULL AS DOUBLE) AS unit_kg"
                )
            if field == "side":
                columns.append(
                    f"{cell}.word AS side" if cell else "CAST(NULL AS TEXT) AS side"
                )
        columns.append("e.surplus")
        if not bodies:
            columns.append("e.sets AS unfold_problem")
        self.con.execute(
            f"CREATE TEMP VIEW valued AS SELECT {', '.join(columns)} FROM entry AS e "
            + " ".join(joins)
        )
        self.filled = self._filled(rows)
        core = [name for name in self.filled if name in CORE]
        self.con.execute("SET VARIABLE filled = $filled", {"filled": self.filled})
        self.con.execute("SET VARIABLE core = $core", {"core": core})

    def _filled(self, rows: Sequence[tuple[Any, ...]]) -> list[str]:
        """Columns that can have a value in this file."""
        filled = {
            "row_no",
            "slot",
            "lifter",
            "performed_on",
            "name_key",
            "load_kg",
            "fault",
        }
        filled |= {COLUMN_OF.get(field, field) for field in self.mapped}
        filled |= {"rir"} if "rpe" in self.mapped else set()
        filled |= {"reps"} if "shorthand" in self.mapped or not self.flat else set()
        filled |= {"side"} if any(row[0] == "side" for row in rows) else set()
        filled |= {"on_body"} if any(row[4] for row in rows) else set()
        counted = any(row[0] == "load" and row[5] for row in rows)
        filled |= (
            {"load_counts"}
            if counted or "dumbbells" in self.plan.column_map.settings
            else set()
        )
        return sorted(filled)

    def _unit(self, field: str) -> str:
        """Unit that the header or the settings give for a column."""
        columns = self.plan.column_map.columns
        names = [name for key, headers in columns.items() for name in headers
                 if key.removesuffix("_left").removesuffix("_right") == field]  # fmt: skip
        said = {header_unit(name) for name in names} - {""}
        given = self.plan.column_map.settings.get("unit", "")
        if len(said) > 1 or (field == "load" and said and given and said != {given}):
            raise FileRefusedError(
                f"{self.file}: header `{names[0]}` says {' and '.join(sorted(said))}, "
                f"the unit given is {given or 'none'}; give the unit of the header with "
                "`--unit`, or mend the header"
            )
        return said.pop() if said else str(given)

    def _ask_unit(self, field: str) -> None:
        if field not in self.mapped and not (
            field == "load" and "shorthand" in self.mapped
        ):
            return
        unit = "AND u.unit_kg IS NULL" if field == "load" else ""
        join = (
            "LEFT JOIN cell AS u ON u.field = 'load_unit' AND u.text = e.load_unit"
            if field == "load" and self.plan.column_map.kind == "sets"
            else ""
        )
        found = first_row(
            self.con,
            f"SELECT count(*), arg_min(e.{field}, e.row_no), min(e.row_no), "
            f"min(coalesce(plain(e.{field}), c.value)), max(coalesce(plain(e.{field}), c.value)) "
            f"FROM entry AS e LEFT JOIN cell AS c ON c.field = $field AND c.text = e.{field} "
            f"{join} WHERE coalesce(plain(e.{field}), c.value) <> 0 "
            f"AND c.unit_kg IS NULL {unit if join else ''}",
            {"field": field},
        )
        if found and found[0]:
            raise FileRefusedError(
                f"{self.file} column {self._header(field)} has no unit: row "
                f"{found[2] % SHEET_STEP} says `{found[1]}`, values run from {found[3]:g} "
                f"to {found[4]:g}; give `--unit kg` or `--unit lb`, or a column of units"
            )


def _bounded(text: str) -> Refusal | None:
    return (
        Refusal("a text too long for its column", "a short value")
        if len(text) > LONGEST
        else None
    )


def _row(field: str, text: str, value: float | Refusal) -> tuple[Any, ...]:
    if isinstance(value, Refusal):
        return (field, text, None, None, None, None, value.problem, value.accepted)
    return (field, text, value, None, None, None, None, None)
