"""Research tables as a Frictionless data package: CSV, Parquet, description."""

import hashlib
import json
import re
import tomllib
from datetime import UTC, datetime
from functools import cache
from importlib import metadata
from importlib.resources import files
from pathlib import Path
from typing import Any

import pandas as pd

from analytics import evidence, mechanics, strength
from analytics.catalogue import load_catalogue
from analytics.errors import FileRefusedError
from analytics.reports import tables
from analytics.reports.disclosure import check_smallest_cell, plain_text
from analytics.store import Store
from analytics.store import sets as stored_sets

PROFILES = "https://datapackage.org/profiles/2.0"


@cache
def _words() -> dict[str, Any]:
    text = (
        files("analytics.reports").joinpath("data", "columns.toml").read_text("utf-8")
    )
    return tomllib.loads(text)


def research_tables(
    store: Store,
    *,
    movement: str = "elbow_flexion",
    smallest_cell: int = 10,
    key: bytes | None = None,
) -> dict[str, pd.DataFrame]:
    """Aggregate tables of one movement.

    Parameters
    ----------
    store : Store
        Where the sets are.
    movement : str
        Which movement.
    smallest_cell : int
        Lifters a published cell holds at least, 5 or more.
    key : bytes, optional
        Secret for pseudonyms. Only with it is there a table of personal ratios;
        without it no row is about a single lifter.

    Returns
    -------
    tables : dict of str to DataFrame
        By name of the file they become.

    Raises
    ------
    InputError
        If the cell is too small or the movement has too few lifters.
    """
    check_smallest_cell(smallest_cell)
    sets = stored_sets(store, movement=movement)
    fit = strength.fitted(store, movement)
    panel = tables.count_panel(fit, sets, smallest_cell=smallest_cell)
    curve = evidence.curve_test(fit)
    catalogue = load_catalogue().variants
    modelled = [
        v
        for v in dict.fromkeys(fit.setups["variant"])
        if v in catalogue and catalogue[v].modelled
    ]
    found = {
        "ratios": tables.ratio_table(panel, fit, curve),
        "strength_by_week": tables.week_table(panel, fit),
        "sticking_angles": tables.sticking_table(
            panel, mechanics.hardest(modelled) if modelled else None
        ),
        "curve_test": tables.curve_table(panel, curve),
        "data_quality": tables.quality_table(panel),
    }
    if key is not None:
        found["personal_ratios"] = tables.personal_table(panel, fit, key=key)
    return found


def write_tables(
    store: Store,
    directory: Path,
    *,
    movement: str = "elbow_flexion",
    smallest_cell: int = 10,
    key: bytes | None = None,
) -> pd.DataFrame:
    """Write the research tables as a Frictionless data package, version 2.

    Parameters
    ----------
    store : Store
        Where the sets are.
    directory : Path
        Made if missing; files of the same names are replaced.
    movement : str
        Which movement.
    smallest_cell : int
        Lifters a published cell holds at least, 5 or more.
    key : bytes, optional
        Secret for pseudonyms; see :func:`research_tables`. Never written.

    Returns
    -------
    written : DataFrame
        ``file, rows, suppressed``: CSV and Parquet per table with the rows that
        are withheld, and ``datapackage.json``.

    Raises
    ------
    InputError
        If the cell is too small or the movement has too few lifters.
    FileRefusedError
        If the folder cannot be written.
    """
    found = research_tables(
        store, movement=movement, smallest_cell=smallest_cell, key=key
    )
    fit = strength.fitted(store, movement)
    return write_package(found, fit, directory, smallest_cell=smallest_cell)


def write_package(
    found: dict[str, pd.DataFrame],
    fit: strength.StrengthFit,
    directory: Path,
    *,
    smallest_cell: int,
) -> pd.DataFrame:
    """Write finished tables with their description.

    Parameters
    ----------
    found : dict of str to DataFrame
        From :func:`research_tables`.
    fit : StrengthFit
        For method and parameters.
    directory : Path
        Made if missing.
    smallest_cell : int
        As the tables were made with; it is only stated here.

    Returns
    -------
    written : DataFrame
        ``file, rows, suppressed``.

    Raises
    ------
    FileRefusedError
        If the folder cannot be written.
    """
    written: list[tuple[str, int, int]] = []
    resources = []
    described = directory / "datapackage.json"
    try:
        directory.mkdir(parents=True, exist_ok=True)
        for name in set(_words()["table"]) - set(found):  # of an earlier package
            for ending in ("csv", "parquet"):
                (directory / f"{name}.{ending}").unlink(missing_ok=True)
        for name, table in found.items():
            safe = _plain(table)
            csv, parquet = directory / f"{name}.csv", directory / f"{name}.parquet"
            safe.to_csv(csv, index=False, lineterminator="\r\n", date_format="%Y-%m-%d")
            safe.to_parquet(parquet, index=False)
            resources += [_resource(csv, name, safe), _copy(parquet, name)]
            withheld = (
                int((table["status"] == "suppressed").sum())
                if ("status" in table)
                else 0
            )
            written += [(str(p), len(table), withheld) for p in (csv, parquet)]
        text = json.dumps(
            _description(fit, resources, smallest_cell=smallest_cell),
            indent=2,
            ensure_ascii=False,
        )
        described.write_text(text, "utf-8")
    except OSError as error:
        raise FileRefusedError(
            f"cannot write tables to {directory}: {error}"
        ) from error
    written.append((str(described), len(resources), 0))
    return pd.DataFrame(written, columns=["file", "rows", "suppressed"])


def _plain(table: pd.DataFrame) -> pd.DataFrame:
    """Disarm text that a spreadsheet would run."""
    text = table.select_dtypes(["object", "string"]).columns
    return table.assign(
        **{c: table[c].map(lambda cell: plain_text(str(cell))) for c in text}
    )


def _field(column: str) -> dict[str, Any]:
    words = _words()["column"][column]
    return {"name": column, "title": column.replace("_", " "), **words}


def _stamp(path: Path) -> dict[str, Any]:
    content = path.read_bytes()
    digest = hashlib.sha256(content).hexdigest()
    return {"bytes": len(content), "hash": f"sha256:{digest}"}


def _resource(path: Path, name: str, table: pd.DataFrame) -> dict[str, Any]:
    return {
        "name": name,
        "type": "table",
        "path": path.name,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        **_words()["table"][name],
        **_stamp(path),
        "schema": {
            "$schema": f"{PROFILES}/tableschema.json",
            "fields": [_field(column) for column in table.columns],
            "missingValues": [""],
        },
    }


def _copy(path: Path, name: str) -> dict[str, Any]:
    return {
        "name": f"{name}_parquet",
        "type": "file",
        "path": path.name,
        "format": "parquet",
        "mediatype": "application/vnd.apache.parquet",
        "description": f"The same rows and columns as {name}.",
        **_stamp(path),
    }


def _description(
    fit: strength.StrengthFit, resources: list[dict[str, Any]], *, smallest_cell: int
) -> dict[str, Any]:
    version = metadata.version("lacertus")
    return {
        "$schema": f"{PROFILES}/datapackage.json",
        "name": "lacertus-" + re.sub(r"[^a-z0-9]+", "-", fit.movement.lower()),
        "title": f"Strength and mechanics of {fit.movement.replace('_', ' ')}",
        "created": datetime.now(UTC).isoformat(timespec="seconds"),
        "description": (
            "Aggregates of training logs. Counts are measured; strengths, ratios and "
            "their intervals are estimated by a statistical model; predicted ratios "
            "and modelled angles come from published anatomy. Withheld: every cell "
            f"with 1 to {smallest_cell - 1} lifters, and as many others as keep the "
            "published totals from revealing it. Cells about nobody are left out, not "
            "withheld. Two packages of the same store at different times can be "
            "compared with each other; do not publish one after every new lifter."
        ),
        "sources": [{"title": entry["citation"]} for entry in _cited()],
        "method": {
            "program": "lacertus",
            "version": version,
            "strength": fit.method,
            "interval": fit.interval,
            "reference": fit.reference,
            "parameters": {k: _number(v) for k, v in fit.hyper.items()},
            "smallest_cell": smallest_cell,
            "converged": fit.converged,
        },
        "resources": resources,
    }


def _cited() -> list[dict[str, Any]]:
    return [dict(entry) for entry in load_catalogue().sources.values()]


def _number(value: object) -> object:
    return float(value) if isinstance(value, (int, float)) else str(value)
