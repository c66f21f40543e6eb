"""Research tables as a Frictionless data package: CSV, Parquet, description."""

import hashlib
import json
from collections.abc import Iterable, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path
from typing import Any

import pandas as pd

from analytics import evidence, mechanics, strength
from analytics import store as stored
from analytics.catalogue import load_catalogue
from analytics.errors import NotWrittenError, StoreError
from analytics.outgoing import frame_csv, plain_text
from analytics.reports import tables
from analytics.reports.counted import count_sets
from analytics.reports.disclosure import check_key, check_smallest_cell
from analytics.reports.guide import (
    CODEBOOK,
    README,
    citation,
    guide,
    withheld_cells,
    words,
)
from analytics.reports.held import held_sets
from analytics.reports.register import check_release, holdings, recorded
from analytics.reports.whole import whole_folder
from analytics.store import Store, private_files

DIFFERENCING = (
    "Who has two packages of one store or cohort can subtract them: what differs is "
    "about the lifters and sets that came between, or between two cell sizes. A "
    "register beside it refuses the next one while too few lifters differ."
)
RECORD_WAIT_S = 2.0
PROFILES = "https://datapackage.org/profiles/2.0"


def research_tables(
    store: Store, *, smallest_cell: int = 10, key: bytes | None = None
) -> tuple[dict[str, pd.DataFrame], list[strength.StrengthFit]]:
    """Aggregate tables of every movement the store has sets of.

    Parameters
    ----------
    store : Store
        Where the sets are.
    smallest_cell : int
        Lifters a published cell holds at least, 5 or more.
    key : bytes, optional
        Secret for pseudonyms. Only with it are there personal ratios and personal
        strength by week; without it no row is about a single lifter.

    Returns
    -------
    tables : dict of str to DataFrame
        By name of the file they become.
    fits : list of StrengthFit
        Of the movements in them.

    Raises
    ------
    InputError
        If the cell or the key is too small or no movement has lifters enough.
    """
    sets, fits = _logged(store, smallest_cell, key)
    return _tables(sets, fits, smallest_cell, key)


Sets = dict[str, pd.DataFrame]
Fits = dict[str, strength.StrengthFit]


def _logged(store: Store, smallest_cell: int, key: bytes | None) -> tuple[Sets, Fits]:
    """Read the sets of every movement, and fit those with lifters enough."""
    check_smallest_cell(smallest_cell)
    if key is not None:
        check_key(key)
    store = stored.for_research(store)
    logged = stored.movements(store)
    names = logged.loc[logged["sets"] > 0, "movement"]
    sets = {name: stored.sets(store, movement=name) for name in names}
    fits = {
        name: strength.fitted(store, name)
        for name, rows in sets.items()
        if rows["lifter"].nunique() >= smallest_cell
    }
    return sets, fits


def _tables(
    sets: Sets, fits: Fits, smallest_cell: int, key: bytes | None
) -> tuple[Sets, list[strength.StrengthFit]]:
    variants = {name: _modelled(fit) for name, fit in fits.items()}
    modelled = [name for name, of_it in variants.items() if of_it]
    found = tables.aggregate_tables(
        {name: count_sets(fits.get(name), rows) for name, rows in sets.items()},
        fits,
        {name: evidence.curve_test(fits[name]) for name in modelled},
        {name: mechanics.hardest(variants[name]) for name in modelled},
        smallest_cell=smallest_cell,
        key=key,
    )
    published = set(found["data_quality"].query("status == 'published'")["movement"])
    return found, [fit for name, fit in fits.items() if name in published]


def _modelled(fit: strength.StrengthFit) -> list[str]:
    """Variants of a fit that mechanics knows."""
    known = load_catalogue().variants
    return [
        variant
        for variant in dict.fromkeys(fit.setups["variant"])
        if variant in known and known[variant].modelled
    ]


@private_files()
def write_tables(
    store: Store,
    directory: Path,
    *,
    smallest_cell: int = 10,
    key: bytes | None = None,
    again: bool = False,
) -> pd.DataFrame:
    """Write the research tables as a Frictionless data package, version 2.

    Parameters
    ----------
    store : Store
        Where the sets are.
    directory : Path
        Made if missing; an earlier package is replaced, whole or not at all.
    smallest_cell : int
        Lifters a published cell holds at least, 5 or more.
    key : bytes, optional
        Secret for pseudonyms; see :func:`research_tables`. Never written.
    again : bool
        Only warn where a former release could be subtracted from this one.

    Returns
    -------
    written : DataFrame
        ``file, rows, suppressed``: CSV and Parquet per table with the rows that
        are withheld, ``datapackage.json``, README and codebook.

    Raises
    ------
    InputError
        If the cell or the key is too small, no movement has lifters enough, or the
        folder holds other files.
    ReleaseRefusedError
        If a former release had nearly the same cohort.
    NotWrittenError
        If the folder cannot be written.
    """
    if key is not None or again:
        store.asking.must_be("owner", to="release what may tell of single lifters")
    sets, fits = _logged(store, smallest_cell, key)
    found, published = _tables(sets, fits, smallest_cell, key)
    path = store.path.resolve()
    held = holdings({name: held_sets(fits.get(name), of) for name, of in sets.items()})
    register = path.with_name(f"{path.name}.releases")
    check_release(register, held, smallest_cell=smallest_cell, again=again)
    with recorded(register, held, smallest_cell=smallest_cell):
        written = write_package(
            found, published, directory, smallest_cell=smallest_cell
        )
    _note(store)
    return written


def _note(store: Store) -> None:
    """Put a release into the record; a store that cannot be written can be read."""
    brief = Store(store.path, wait_s=min(store.wait_s, RECORD_WAIT_S))
    with suppress(StoreError), brief.write() as con:
        stored.note(con, store.asking, "released research tables")


def write_package(
    found: dict[str, pd.DataFrame],
    fits: Sequence[strength.StrengthFit],
    directory: Path,
    *,
    smallest_cell: int,
) -> pd.DataFrame:
    """Write finished tables with their description.

    Parameters
    ----------
    found : dict of str to DataFrame
        From :func:`research_tables`.
    fits : sequence of StrengthFit
        Of the movements in them, for method and parameters.
    directory : Path
        Made if missing; nothing but an earlier package may be in it.
    smallest_cell : int
        As the tables were made with; it is only stated here.

    Returns
    -------
    written : DataFrame
        ``file, rows, suppressed``.

    Raises
    ------
    InputError
        If the folder holds other files.
    NotWrittenError
        If the folder cannot be written.
    """
    former = {"datapackage.json", README, CODEBOOK} | {
        f"{name}.{kind}" for name in words()["table"] for kind in ("csv", "parquet")
    }
    try:
        with whole_folder(directory, replaced=former) as folder:
            written = _write(found, fits, folder, smallest_cell=smallest_cell)
    except OSError as error:
        raise NotWrittenError(f"cannot write tables to {directory}: {error}") from error
    rows = [(str(directory / name), *counts) for name, *counts in written]
    return pd.DataFrame(rows, columns=["file", "rows", "suppressed"])


def _write(
    found: dict[str, pd.DataFrame],
    fits: Sequence[strength.StrengthFit],
    folder: Path,
    *,
    smallest_cell: int,
) -> list[tuple[str, int, int]]:
    """Write all files; return the name of each, its rows and those withheld."""
    written: list[tuple[str, int, int]] = []
    resources = []
    for name, table in found.items():
        csv, parquet = folder / f"{name}.csv", folder / f"{name}.parquet"
        csv.write_text(frame_csv(table, line_end="\r\n"), "utf-8", newline="")
        _plain(table).to_parquet(parquet, index=False)
        resources += [_resource(path, name, table.columns) for path in (csv, parquet)]
        withheld = (
            int((table["status"] == "suppressed").sum()) if ("status" in table) else 0
        )
        written += [(path.name, len(table), withheld) for path in (csv, parquet)]
    described = _description(fits, resources, smallest_cell=smallest_cell)
    told = withheld_cells(found, smallest_cell=smallest_cell)
    described["withheld"] = told.to_dict("records")
    texts = {"datapackage.json": json.dumps(described, indent=2, ensure_ascii=False)}
    texts |= guide(found, described, smallest_cell=smallest_cell)
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8")
    written.append(("datapackage.json", len(resources), 0))
    return [*written, (README, 0, 0), (CODEBOOK, 0, 0)]


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
    title = column.replace("_", " ")
    return {"name": column, "title": title, **words()["column"][column]}


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
        "title": words()["table"][name]["title"],
        "description": words()["table"][name]["description"],
        "hash": f"sha256:{hashlib.sha256(content).hexdigest()}",
        "schema": {
            "$schema": f"{PROFILES}/tableschema.json",
            "fields": [_field(column) for column in columns],
            "missingValues": [""],
            "primaryKey": words()["table"][name]["key"],
        },
    }


def _description(
    fits: Sequence[strength.StrengthFit],
    resources: list[dict[str, Any]],
    *,
    smallest_cell: int,
) -> dict[str, Any]:
    version = metadata.version("lacertus")
    logged_only = [fit.movement for fit in fits if not _modelled(fit)]
    title = "Strength and mechanics of "
    title += ", ".join(fit.movement.replace("_", " ") for fit in fits)
    created = datetime.now(UTC).isoformat(timespec="seconds")
    return {
        "$schema": f"{PROFILES}/datapackage.json",
        "name": "lacertus-tables",
        "title": title,
        "created": created,
        "citation": citation(title, created=created[:10], smallest_cell=smallest_cell),
        "description": (
            "Aggregates of training logs. Counts are measured; strengths, ratios and "
            "their intervals are estimated by a statistical model; predicted ratios "
            "and modelled angles come from published anatomy. Withheld: every cell "
            f"with 1 to {smallest_cell - 1} lifters, and as many others as keep the "
            "published totals from revealing it; so is a cell in which one lifter has "
            "over half of the sets or two over three quarters. A line of which every "
            "cell would be withheld is not listed. Cells about nobody are left "
            "out, not withheld. "
            "Modelled columns have nobody in them and are never withheld. "
            "Counts of lifters and sets are rounded down to a multiple of 5, or to "
            f"{smallest_cell}. A total over all movements is withheld where it would "
            "give a withheld movement away, and names people made up are withheld with "
            f"their cells. {_logged_only(logged_only)}{DIFFERENCING}"
        ),
        "sources": [{"title": entry["citation"]} for entry in _cited()],
        "method": {
            "program": "lacertus",
            "version": version,
            "smallest_cell": smallest_cell,
            "movements": {
                fit.movement: {
                    "modelled": fit.movement not in logged_only,
                    "strength": fit.method,
                    "interval": fit.interval,
                    "parameters": _shared_parameters(fit.hyper),
                }
                for fit in fits
            },
        },
        "resources": resources,
    }


def _logged_only(movements: list[str]) -> str:
    """Say which movements have no mechanics, if any."""
    if not movements:
        return ""
    return (
        f"Logged, not modelled: {', '.join(movements)}: ratios and strength by week "
        "are estimated from logs, and there are no predicted ratios, sticking angles "
        "or curve test of them. "
    )


def _cited() -> list[dict[str, Any]]:
    return [dict(entry) for entry in load_catalogue().sources.values()]


def _shared_parameters(hyper: dict[str, float]) -> dict[str, float]:
    """Parameters that are about the whole cohort, to four digits."""
    return {name: float(f"{value:.4g}") for name, value in hyper.items()}
