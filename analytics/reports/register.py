"""The register of releases, so that no second one less a first tells of few lifters.

Beside the store lies a folder with one file for each release: keyed digests of what
each lifter had in each cell, under a key of that file. No code and no load is in it;
who holds it can confirm a guess of both, so it is as private as the store.
"""

import hashlib
import hmac
import logging
import secrets
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analytics.errors import ReleaseRefusedError
from analytics.reports.disclosure import may_show, suppressed_cells
from analytics.reports.held import Held
from analytics.reports.whole import write_whole

CELL = ["movement", "setup", "week", "kind"]
LEVELS: tuple[list[str], ...] = (
    *([], ["movement"], ["movement", "setup"]),
    *(["movement", "setup", "week"], ["movement", "setup", "kind"]),
)
SETUPS = 2  # from this level on, cells are within a movement
PLACE = ["level", *CELL]
Place = tuple[Any, ...]
_LOG = logging.getLogger(__name__)


def holdings(held: Mapping[str, Held]) -> pd.DataFrame:
    """Return what each lifter has in each cell, as a count and a digest.

    Parameters
    ----------
    held : mapping of str to Held
        By movement.

    Returns
    -------
    held : DataFrame
        ``level, movement, setup, week, kind, lifter, sets, digest``; what is above the
        level of a row is empty.
    """
    whole = pd.concat([of.everyone.assign(movement=m) for m, of in held.items()])
    parts = pd.concat([of.cells.assign(movement=m) for m, of in held.items()])
    parts = parts.assign(week=pd.to_datetime(parts["week"]).dt.strftime("%Y-%m-%d"))
    rows = [
        (whole if level < SETUPS else parts)
        .groupby([*cells, "lifter"], as_index=False)[["sets", "digest"]]
        .sum()
        .assign(level=level, **dict.fromkeys(set(CELL) - set(cells), ""))
        for level, cells in enumerate(LEVELS)
    ]
    return pd.concat(rows, ignore_index=True)


def check_release(
    folder: Path, held: pd.DataFrame, *, smallest_cell: int, again: bool
) -> None:
    """Refuse a release that a former one could be subtracted from.

    Parameters
    ----------
    folder : Path
        The register.
    held : DataFrame
        From :func:`holdings`, of the sets to be released.
    smallest_cell : int
        Lifters a published cell holds at least.
    again : bool
        Only warn.

    Raises
    ------
    ReleaseRefusedError
        If the two differ in a cell by 1 to ``smallest_cell - 1`` lifters, or show
        other cells of the same sets, or the register cannot be read.
    """
    for path in sorted(folder.glob("*.parquet")):
        try:
            former = pd.read_parquet(path)
        except (OSError, ValueError) as error:
            found = f"the register of releases cannot be read: {path}: {error}"
        else:
            found = _subtracted(former, held, smallest_cell)
        if not found:
            continue
        if not again:
            raise ReleaseRefusedError(
                f"{found}; nothing was written. Pass the former one on, or wait until "
                "more lifters have come, or say that you want it again (--again)"
            )
        _LOG.warning("written again: %s", found)


@contextmanager
def recorded(folder: Path, held: pd.DataFrame, *, smallest_cell: int) -> Iterator[None]:
    """Record a release before it is there, and strike it if it does not come about.

    Parameters
    ----------
    folder : Path
        The register; made if missing.
    held : DataFrame
        From :func:`holdings`.
    smallest_cell : int
        As it was made with.
    """
    key = secrets.token_hex(16)
    rows = _keyed(held, key).assign(
        key=key,
        smallest_cell=smallest_cell,
        released_at=datetime.now(UTC).isoformat(timespec="seconds"),
    )
    missing: OSError | None = None
    path = folder / f"{rows['released_at'].iloc[0].replace(':', '')}-{key[:8]}.parquet"
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        write_whole(path, rows.to_parquet(index=False))
    except OSError as error:
        missing = error
    try:
        yield
    except BaseException:
        with suppress(OSError):
            path.unlink(missing_ok=True)
        raise
    if missing:  # said of a release that is there, not of one that failed too
        _LOG.warning(
            "the release is not in the register (%s), so the next one cannot be "
            "compared with it",
            missing,
        )


def _keyed(held: pd.DataFrame, key: str) -> pd.DataFrame:
    """Replace codes, and what people named or lifted, by digests under a key."""
    names = {
        text: hmac.new(key.encode(), text.encode(), hashlib.sha256).hexdigest()[:16]
        for column in ("lifter", "movement", "setup")
        for text in held[column].unique()
        if text
    } | {"": ""}
    # Times an odd number, so that digests of what is put together still add up.
    odd = np.uint64(int(key[:16], 16) | 1)
    return held.assign(
        **{c: held[c].map(names) for c in ("lifter", "movement", "setup")},
        digest=held["digest"].astype("uint64").to_numpy() * odd,
    )


def _subtracted(former: pd.DataFrame, held: pd.DataFrame, smallest_cell: int) -> str:
    """Say what two releases differ by, if that is about few; else nothing."""
    then, key, cell = former[["released_at", "key", "smallest_cell"]].iloc[0]
    releases = [former, _keyed(held, key)]
    # A movement of too few lifters has no setups, so there is nothing to subtract.
    of_both = set.intersection(
        *(set(rows.loc[rows["level"] >= SETUPS, "movement"]) for rows in releases)
    )
    releases = [
        rows[(rows["level"] < SETUPS) | rows["movement"].isin(of_both)]
        for rows in releases
    ]
    differs = _differences(*releases)
    if few := _few_changed(differs, (cell, smallest_cell)):
        return (
            f"the release of {then} had nearly the same cohort: a cell of both differs "
            f"by the sets of {few} lifters or fewer, and who has both subtracts them"
        )
    one, two = map(_shown, releases, (cell, smallest_cell))
    same = set(differs.index[differs["changed"] == 0])
    # Of the same sets, a release whose cells are all in the other adds nothing to it.
    nested = not differs["changed"].any() and (one <= two or two <= one)
    if nested or not same & (one ^ two):
        return ""
    return (
        f"the release of {then} shows other cells of the same sets, and who has both "
        "subtracts them"
    )


def _differences(one: pd.DataFrame, two: pd.DataFrame) -> pd.DataFrame:
    """Tell of each place how many lifters it has and by how many two releases differ.

    What a lifter did is told by what it was and not by the code, since a club that
    gives itself new codes is still the same. Where two codes became one, what went and
    what came still add up, but for what is to be hidden: if that is all of one
    lifter's, it is about one.
    """
    key = [*PLACE, "digest"]
    both = one.assign(nth=one.groupby(key).cumcount()).merge(
        two.assign(nth=two.groupby(key).cumcount()),
        on=[*key, "nth"],
        how="outer",
        indicator="there",
    )
    counts = both.groupby([*PLACE, "there"], observed=False).size().unstack("there")
    gone, came = counts["left_only"], counts["right_only"]
    found = pd.DataFrame(
        {
            "lifters": np.maximum(gone, came) + counts["both"],
            "changed": np.maximum(gone, came),
        }
    )
    differing = both[both["there"] != "both"]
    for place, rows in differing.groupby(PLACE):
        signed = rows["digest"].mask(rows["there"] == "right_only", -rows["digest"])
        if signed.to_numpy().sum() in signed.to_numpy():
            found.loc[place, "changed"] = 1
    return found


def _few_changed(differs: pd.DataFrame, smallest_cells: tuple[int, int]) -> int:
    """Most lifters, if too few, whose sets changed in a cell that may be published."""
    open_to = differs["lifters"] >= min(smallest_cells)
    few = differs.loc[open_to, "changed"]
    few = few[few < max(smallest_cells)]
    return int(few.max()) if len(few) else 0


def _shown(rows: pd.DataFrame, smallest_cell: int) -> set[Place]:
    """Places below the movements that a release published."""
    codes = {
        place: dict(zip(own["lifter"], own["sets"], strict=True))
        for place, own in rows.groupby(PLACE)
    }
    lines: dict[tuple[int, Place], dict[Place, dict[str, int]]] = {}
    for place in codes:
        level, movement, setup, *_ = place
        if level == SETUPS:
            whole = (1, movement, "", "", "")
            lines.setdefault((level, whole), {})[place] = codes[place]
        elif level > SETUPS:
            whole = (SETUPS, movement, setup, "", "")
            lines.setdefault((level, whole), {})[place] = codes[place]
    found: set[Place] = set()
    for (level, whole), cells in sorted(lines.items()):
        if whole in found or (
            level == SETUPS and may_show(codes[whole], smallest_cell=smallest_cell)
        ):
            found |= set(cells) - suppressed_cells(cells, smallest_cell=smallest_cell)
    return found
