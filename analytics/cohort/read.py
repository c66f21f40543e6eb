"""Files to rows by lifter: the intake's own checks, then each part of the lifters."""

import io
import tempfile
from collections.abc import Sequence
from hashlib import md5, sha256
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import duckdb
import fsspec
import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from analytics import intake
from analytics import store as stored
from analytics.cohort.bundle import Bundle
from analytics.cohort.place import Place
from analytics.errors import FileRefusedError, InputError
from analytics.intake import IntakeResult
from analytics.store import Store
from analytics.store.engine import in_memory

SQL = files("analytics.cohort") / "sql"
SMALL = ("exercise_name", "own_variant", "body")  # tables that come whole
KEYS = {"body": "body_key"}


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
        with fsspec.open(source, "rb") as file:
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
        A bundle: ``plain`` has the counts and the reason of a file that is refused,
        ``tables`` the first rejected rows and what is small.
    rows : bytes
        Sets as Parquet, a row group for each part of the lifters.
    """
    given = intake.parse_column_map(column_map) if column_map else None
    with tempfile.TemporaryDirectory() as folder:
        path = Path(source)
        if "://" in source:
            path = Path(folder) / Path(source).name
            with fsspec.open(source, "rb") as far:
                path.write_bytes(far.read())
        store = Store(Path(folder) / "one file.duckdb")
        try:
            result = intake.take_in(store, path, column_map=given)
        except (FileRefusedError, InputError, UnicodeError) as error:
            return Bundle(plain=_account(str(error))).packed(), b""
        with store.read() as con:
            rows = con.sql(statement("stored_rows")).to_arrow_table()
            small = {name: _small(con, name) for name in SMALL}
    small["rejected"] = pd.DataFrame([vars_of(issue) for issue in result.issues])
    return (
        Bundle(tables=small, plain=_account("", result)).packed(),
        _grouped(rows, parts),
    )


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
    key = KEYS.get(name)
    cast = f" REPLACE (CAST({key} AS TEXT) AS {key})" if key else ""
    return con.sql(f"SELECT *{cast} FROM {name} ORDER BY ALL").df()


def _grouped(rows: pa.Table, parts: int) -> bytes:
    """Write rows by part of the lifters, so that each part can be read alone."""
    code = pc.dictionary_encode(rows["lifter"]).combine_chunks()
    number = np.array([part_of(str(c), parts) for c in code.dictionary.to_pylist()])
    part = number[code.indices.to_numpy()] if len(rows) else np.zeros(0, np.int64)
    order = np.argsort(part, kind="stable")
    rows = rows.append_column("part", pa.array(part)).take(pa.array(order))
    out = io.BytesIO()
    with pq.ParquetWriter(out, rows.schema, compression="zstd") as writer:
        begins = np.searchsorted(part[order], np.arange(parts + 1))
        for first, last in pairwise(begins):
            if last > first:
                writer.write_table(rows.slice(first, last - first))
    return out.getvalue()


def gather(
    place: Place, reads: Sequence[tuple[str, str]], part: int, parts: int
) -> tuple[bytes, bytes]:
    """Put the sets of one part of the lifters together, as a store does.

    Parameters
    ----------
    place : Place
        Where the files' rows are.
    reads : sequence of (str, str)
        Names of account and rows of each file, in order; rows empty if refused.
    part, parts : int
        Which part, of how many. [1]

    Returns
    -------
    told : bytes
        A bundle: ``statistics`` of the part's sets, and the sets each file added.
    sets : bytes
        Sets as Parquet, as from the store.
    """
    rows, small = _read_part(place, reads, part)
    with tempfile.TemporaryDirectory() as folder:
        store = Store(Path(folder) / "one part.duckdb")
        with store.write() as con:
            taken = _fill(con, rows, small, part, parts)
        sets = stored.sets(store)
    with in_memory() as con:
        con.register("sets", sets)
        statistics = con.sql(statement("statistics")).df()
    told = Bundle(tables={"statistics": statistics, "taken": taken})
    return told.packed(), sets.to_parquet(index=False, compression="zstd")


def _read_part(
    place: Place, reads: Sequence[tuple[str, str]], part: int
) -> tuple[pa.Table | None, dict[str, pd.DataFrame]]:
    tables, small = [], {name: [pd.DataFrame()] for name in SMALL}
    for number, (account, rows) in enumerate(reads, start=1):
        if not rows:
            continue
        with place.fs.open(place.path(rows), "rb") as file:
            found = pq.read_table(file, filters=[("part", "=", part)])
        found = found.drop_columns("part")
        intake_id = pa.array(np.full(len(found), number, dtype=np.int32))
        tables.append(found.append_column("intake_id", intake_id))
        whole = Bundle.of(place.read(account)).tables
        for name in SMALL:
            own = {"intake_id": number} if name == "body" else {}
            if len(whole[name]):
                small[name].append(whole[name].assign(**own))
    together = pa.concat_tables(tables) if tables else None
    return together, {name: pd.concat(of) for name, of in small.items()}


def _fill(
    con: duckdb.DuckDBPyConnection,
    rows: pa.Table | None,
    small: dict[str, pd.DataFrame],
    part: int,
    parts: int,
) -> pd.DataFrame:
    """Insert what files hold, each thing where it was met first; count their sets."""
    for name, key in (("exercise_name", "name_key"), ("own_variant", "variant")):
        table = small[name]
        if len(table):
            con.register("given", table.drop_duplicates(key))
            con.execute(f"INSERT INTO {name} BY NAME SELECT * FROM given")
    body = small["body"]
    if len(body):
        mine = body["lifter"].map(lambda code: part_of(code, parts)) == part
        con.register("given", body[mine].drop_duplicates("body_key"))
        con.execute(
            "INSERT INTO body BY NAME SELECT * REPLACE "
            "(CAST(body_key AS UHUGEINT) AS body_key) FROM given"
        )
    if rows is None:
        return pd.DataFrame({"intake_id": [0], "sets": [0], "unnamed": [0]}).head(0)
    con.register("rows", rows)
    con.execute(statement("first_rows"))
    core = [row[0] for row in con.execute("DESCRIBE logged_set").fetchall()]
    detail = [row[0] for row in con.execute("DESCRIBE set_detail").fetchall()]
    for name, columns in (("logged_set", core), ("set_detail", detail)):
        con.execute(
            f"INSERT INTO {name} BY NAME SELECT {', '.join(columns)} FROM first_row "
            "ORDER BY intake_id, source_sheet NULLS FIRST, source_row, set_key"
        )
    return con.sql(
        "SELECT f.intake_id, count(*) AS sets, "
        "count(CASE WHEN n.variant IS NULL THEN 1 END) AS unnamed "
        "FROM first_row AS f JOIN exercise_name AS n ON n.name_key = f.name_key "
        "GROUP BY f.intake_id ORDER BY f.intake_id"
    ).df()
