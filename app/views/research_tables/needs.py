"""What the page of research tables asks for: the data package, as a ZIP."""

from collections.abc import Hashable
from functools import partial

from analytics import reports
from analytics import store as stored
from analytics.store import Store
from app.package import Package, packed
from app.state import asking, is_cached, made_beside, read, store, store_path


def _open() -> Store:
    return stored.for_research(store())


def logged() -> list[str]:
    """Movements the store has sets of."""
    rows = read(stored.movements, of=_open())
    return list(rows.loc[rows["sets"] > 0, "movement"])


def package_key(smallest_cell: int) -> tuple[Hashable, ...]:
    """Return what makes a package another one: store, sets and cell size."""
    prints = [
        (name, read(stored.sets_hash, of=_open(), movement=name)) for name in logged()
    ]
    return (asking().role, str(store_path()), smallest_cell, *prints)


def is_made(smallest_cell: int) -> bool:
    """Tell whether the data package of this log is there."""
    return is_cached("research", package_key(smallest_cell))


def package(smallest_cell: int, *, again: bool = False) -> Package:
    """Return the data package as a ZIP, its tables, and how to cite it."""
    key = package_key(smallest_cell)
    make = partial(_made, store(), smallest_cell, again=again)
    return made_beside("research", key, make, doing="Making the data package")


def personal_package(smallest_cell: int, secret: str, *, again: bool = False) -> bytes:
    """Return the package with personal tables; neither it nor the secret is kept."""
    key = secret.strip("\r\n").encode()
    return _made(store(), smallest_cell, key=key, again=again)[0]


def _made(
    of: Store, smallest_cell: int, *, again: bool, key: bytes | None = None
) -> Package:
    write = partial(
        reports.write_tables, of, smallest_cell=smallest_cell, key=key, again=again
    )
    return packed(write)
