"""Research tables as a Frictionless data package: CSV, Parquet, description."""

import hashlib
import json
import re
import tomllib
from collections.abc import Iterable
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

DIFFERENCING = (
    "Who has two packages of one store can subtract them: what differs is about the "
    "lifters and sets that came between, or between two cell sizes. Pass on one, and "
    "the next one only after many lifters have come."
)
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
        Secret for pseudonyms. Only with it are there personal ratios and personal
        strength by week; without it no row is about a single lifter.

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
        weeks = found["strength_by_week"]
        found |= tables.personal_tables(panel, fit, weeks, key=key)
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
            resources += [
                _resource(path, name, safe.columns) for path in (csv, parquet)
            ]
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
        **{
            c: table[c].map(lambda cell: plain_text(str(cell)), na_action="ignore")
            for c in text
        }
    )


def _field(column: str) -> dict[str, Any]:
    words = _words()["column"][column]
    return {"name": column, "title": column.replace("_", " "), **words}


def _resource(path: Path, name: str, columns: Iterable[str]) -> dict[str, Any]:
    """Describe one file; a reader of Parquet counts no bytes, so only CSV has them."""
    content = path.read_bytes()
    kinds: dict[str, dict[str, Any]] = {
        ".csv": {
            **{"name": name, "format": "csv", "mediatype": "text/csv"},
            **{"encoding": "utf-8", "bytes": len(content)},
        },
        ".parquet": {
            **{"name": f"{name}_parquet", "format": "parquet"},
            "mediatype": "application/vnd.apache.parquet",
        },
    }
    return {
        "type": "table",
        "path": path.name,
        **kinds[path.suffix],
        **_words()["table"][name],
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
        "schema": {
            "$schema": f"{PROFILES}/tableschema.json",
            "fields": [_field(column) for column in columns],
            "missingValues": [""],
        },
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
            "published totals from revealing it; a line of which every cell would be "
            "withheld is not listed. Cells about nobody are left out, not withheld. "
            "Counts of lifters are rounded down to a multiple of 5, or to "
            f"{smallest_cell}. {DIFFERENCING}"
        ),
        "sources": [{"title": entry["citation"]} for entry in _cited()],
        "method": {
            "program": "lacertus",
            "version": version,
            "strength": fit.method,
            "interval": fit.interval,
            "reference": fit.reference,
            "parameters": _shared_parameters(fit.hyper),
            "smallest_cell": smallest_cell,
            "converged": fit.converged,
        },
        "resources": resources,
    }


def _cited() -> list[dict[str, Any]]:
    return [dict(entry) for entry in load_catalogue().sources.values()]


def _shared_parameters(hyper: dict[str, float]) -> dict[str, float]:
    """Parameters that are about the whole cohort, to four digits.

    The deviation of each setup is left out: it gives the spread of its ratios,
    also where the table withholds it.
    """
    return {
        name: float(f"{value:.4g}")
        for name, value in hyper.items()
        if not name.startswith("setup_deviation")
    }
