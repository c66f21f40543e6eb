"""Files to rows by lifter: the intake's own checks, then each part of the lifters."""

import io
import tempfile
from collections.abc import Sequence
from hashlib import md5, sha256
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any

import duckdb
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.ipc

from analytics import intake
from analytics import store as stored
from analytics.cohort.bundle import packed, unpacked
from analytics.cohort.place import Place, opened
from analytics.errors import FileRefusedError, InputError
from analytics.intake import IntakeResult
from analytics.store import Store
from analytics.store.engine import in_memory

SQL = files("analytics.cohort") / "sql"
COUNTS = ["sets", "unnamed", "withheld"]  # of a file
WORD = 8  # bytes of the numbers that say where a part begins
ARMS = ["movement", "variant", "equipment", "range_from_deg", "range_to_deg"]
ARMS += ["arms_share"]
# Tables that come whole, and the key of each.
SMALL = {"exercise_name": "name_key", "own_variant": "variant", "body": "body_key"}


def statement(name: str) -> str:
    """Text of one statement of `sql/`."""
    return (SQL / f"{name}.sql").read_text("utf-8")


def statistics_sql(dialect: str = "duckdb") -> str:
    """Give the statistics of a cohort as one query for a warehouse.

    Parameters
    ----------
    dialect : str
        As sqlglot names it, such as ``spark``.

    Returns
    -------
    query : str
        Of a table ``sets``, whose columns those of `store.sets` are.
    """
    import sqlglot

    return sqlglot.transpile(statement("statistics"), read="duckdb", write=dialect)[0]


def part_of(lifter: str, parts: int) -> int:
    """Tell in which part of the lifters somebody is, on every machine the same."""
    told = md5(lifter.encode(), usedforsecurity=False).hexdigest()
    return int(told[:12], 16) % parts


def fingerprint(source: str) -> tuple[int, str]:
    """Return size and SHA-256 of a source, or -1 and why it cannot be read."""
    told, size = sha256(), 0
    try:
        with opened(source) as file:
            while block := file.read(1 << 22):
                told.update(block)
                size += len(block)
    except (OSError, ValueError) as error:
        return -1, str(error)
    return size, told.hexdigest()


def read_file(source: str, column_map: str, parts: int) -> tuple[bytes, bytes]:
    """Read and check one file as the intake does.

    Parameters
    ----------
    source : str
        Path or address.
    column_map : str
        As TOML, empty for none.
    parts : int
        Of the lifters. [1]

    Returns
    -------
    account : bytes
        The counts, the reason of a file that is refused, the first rejected rows and
        what is small.
    rows : bytes
        Sets by part of the lifters, so that each part can be read alone; see
        :func:`_grouped`. Empty of a file that is refused.
    """
    given = intake.parse_column_map(column_map) if column_map else None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(source)
        if "://" in source:
            path = Path(folder) / Path(source).name
            with opened(source) as far:
                path.write_bytes(far.read())
        store = Store(Path(folder) / "one file.duckdb")
        try:
            result = intake.take_in(store, path, column_map=given)
        except (FileRefusedError, InputError, UnicodeError) as error:
            return packed(_account(str(error))), b""
        with store.read() as con:
            rows = con.sql(statement("stored_rows")).to_arrow_table()
            small = {name: _small(con, name) for name in SMALL}
    small["rejected_rows"] = pd.DataFrame([vars_of(issue) for issue in result.issues])
    account = _account("", result) | small | {"stored": len(rows)}
    return packed(account), _grouped(rows, parts)


def vars_of(issue: intake.RowIssue) -> dict[str, object]:
    """Columns of a rejected row."""
    names = ("file", "row", "column", "value", "problem", "accepted")
    return {name: getattr(issue, name) for name in names}


def _account(reason: str, result: IntakeResult | None = None) -> dict[str, object]:
    if result is None:
        return {"rows": 0, "known": 0, "rejected": 0, "reason": reason}
    why = ""
    if result.issues:
        first = result.issues[0]
        why = f"row {first.row}, {first.column} `{first.value}`: {first.problem}"
    return {"rows": result.rows_read, "known": result.already_known,
            "rejected": result.rejected, "reason": why}  # fmt: skip


def _small(con: duckdb.DuckDBPyConnection, name: str) -> pd.DataFrame:
    key = SMALL[name]
    cast = f" REPLACE (CAST({key} AS TEXT) AS {key})"
    return con.sql(f"SELECT *{cast} FROM {name} ORDER BY ALL").df()


def _grouped(rows: pa.Table, parts: int) -> bytes:
    """Write where the rows of each part of the lifters begin, and then these."""
    code = pc.dictionary_encode(rows["lifter"]).combine_chunks()
    number = np.array([part_of(str(c), parts) for c in code.dictionary.to_pylist()])
    part = number[code.indices.to_numpy()] if len(rows) else np.zeros(0, np.int64)
    rows = rows.take(pa.array(np.argsort(part, kind="stable")))
    begins = np.zeros(parts + 1, dtype=np.int64)
    begins[1:] = np.bincount(part, minlength=parts).cumsum()
    out, at = io.BytesIO(), [WORD * (parts + 1)]
    out.seek(at[0])
    options = pa.ipc.IpcWriteOptions(compression="zstd")
    for first, last in pairwise(begins):
        if last > first:
            with pa.ipc.new_stream(out, rows.schema, options=options) as stream:
                stream.write_table(rows.slice(first, last - first))
        at.append(out.tell())
    out.seek(0)
    out.write(np.array(at, dtype="<i8").tobytes())
    return out.getvalue()


def _read_part(place: Place, rows: Sequence[str], part: int) -> pa.Table | None:
    """Read the rows of a part alone out of those of each file."""
    tables = []
    for number, name in enumerate(rows, start=1):
        if not name:
            continue
        there = place.read(name, WORD * part, WORD * (part + 2))
        first, last = np.frombuffer(there, dtype="<i8")
        if last > first:
            found = pa.ipc.open_stream(place.read(name, first, last)).read_all()
            intake_id = pa.array(np.full(len(found), number, dtype=np.int32))
            tables.append(found.append_column("intake_id", intake_id))
    return pa.concat_tables(tables) if tables else None


def smalls(accounts: Sequence[dict[str, Any]]) -> dict[str, pd.DataFrame]:
    """Put together what comes whole: names, variants of one's own, bodies.

    Parameters
    ----------
    accounts : sequence of dict
        From :func:`read_file`, of every file in order.

    Returns
    -------
    small : dict of str to DataFrame
        Each thing where it was met first.
    """
    found: dict[str, list[pd.DataFrame]] = {name: [] for name in SMALL}
    for number, account in enumerate(accounts, start=1):
        for name in SMALL:
            table = account.get(name, pd.DataFrame())
            if len(table):
                own = {"intake_id": number} if name == "body" else {}
                found[name].append(table.assign(**own))
    return {
        name: pd.concat(of, ignore_index=True).drop_duplicates(SMALL[name])
        for name, of in found.items()
        if of
    }


def gather(
    place: Place,
    rows: Sequence[str],
    small: str,
    part: int,
    parts: int,
    withheld: Sequence[str],
) -> tuple[bytes, bytes]:
    """Put the sets of one part of the lifters together, as a store does.

    Parameters
    ----------
    place : Place
        Where the files' rows are.
    rows : sequence of str
        Name of the rows of each file, in order; empty if it was refused.
    small : str
        Name of what comes whole, from :func:`smalls`.
    part, parts : int
        Which part, of how many. [1]
    withheld : sequence of str
        Codes of lifters who are left out.

    Returns
    -------
    told : bytes
        ``arms``: sets of each setup by how they count the load; ``taken``: the sets
        that each file added, and those left out.
    sets : bytes
        Sets as Parquet, as from the store.
    """
    mine = _read_part(place, rows, part)
    whole = unpacked(place.read(small))
    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder) / "one part.duckdb")
        with store.write() as con:
            taken = _fill(con, mine, whole, part, parts, withheld)
        sets = stored.sets(store)
    with in_memory() as con:
        con.register("sets", sets)
        statistics = con.sql(statement("statistics")).df()
    arms = statistics.groupby(ARMS, dropna=False, as_index=False)["sets"].sum()
    told = packed({"arms": arms, "taken": taken})
    return told, sets.to_parquet(index=False, compression="zstd")


def _fill(
    con: duckdb.DuckDBPyConnection,
    rows: pa.Table | None,
    small: dict[str, pd.DataFrame],
    part: int,
    parts: int,
    withheld: Sequence[str],
) -> pd.DataFrame:
    """Insert what files hold, each set where it was met first; count their sets."""
    con.register("left_out", pd.DataFrame({"lifter": pd.Series(withheld, dtype=str)}))
    for name, table in small.items():
        if name == "body":
            mine = table["lifter"].map(lambda code: part_of(code, parts)) == part
            table = table[mine & ~table["lifter"].isin(withheld)]
        con.register("given", table)
        key = SMALL[name]
        kind = "UHUGEINT" if name == "body" else "TEXT"
        con.execute(
            f"INSERT INTO {name} BY NAME SELECT * REPLACE "
            f"(CAST({key} AS {kind}) AS {key}) FROM given"
        )
    if rows is None:
        return pd.DataFrame(columns=["intake_id", *COUNTS]).astype(int)
    con.register("rows", rows)
    con.execute(statement("first_rows"))
    core = [row[0] for row in con.execute("DESCRIBE logged_set").fetchall()]
    detail = [row[0] for row in con.execute("DESCRIBE set_detail").fetchall()]
    for name, columns in (("logged_set", core), ("set_detail", detail)):
        con.execute(
            f"INSERT INTO {name} BY NAME SELECT {', '.join(columns)} FROM first_row "
            "WHERE lifter NOT IN (FROM left_out) "
            "ORDER BY intake_id, source_sheet NULLS FIRST, source_row, set_key"
        )
    return con.sql(
        "SELECT f.intake_id, count(*) - count(l.lifter) AS sets, "
        "count(*) FILTER (n.variant IS NULL AND l.lifter IS NULL) AS unnamed, "
        "count(l.lifter) AS withheld "
        "FROM first_row AS f JOIN exercise_name AS n ON n.name_key = f.name_key "
        "LEFT JOIN left_out AS l ON l.lifter = f.lifter "
        "GROUP BY f.intake_id ORDER BY f.intake_id"
    ).df()
