"""One typed function per question others ask of the store."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import TYPE_CHECKING, Any

from analytics.catalogue import load_catalogue
from analytics.store.connection import Store
from analytics.store.pains import ended_pains
from analytics.store.reserve import reserve_told
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd

_ENTRY_FIELDS = (
    "variant", "movement", "title", "implement", "arms", "arms_share", "body_share",
)  # fmt: skip


@cache
def entries() -> list[dict[str, Any]]:
    """Catalogue variants as the parameter the queries join with.

    Returns
    -------
    entries : list of dict
        One for each variant; not to be changed.
    """
    return [
        {name: getattr(variant, name) for name in _ENTRY_FIELDS}
        for variant in load_catalogue().variants.values()
    ]


def _rows(
    store: Store, name: str, parameters: Mapping[str, Any] | None = None
) -> pd.DataFrame:
    with store.read() as con:
        return con.execute(statement(name), dict(parameters or {})).df()


def sets(
    store: Store,
    *,
    lifter: str | None = None,
    movement: str | None = None,
    variant: str | None = None,
    since: date | None = None,
    until: date | None = None,
) -> pd.DataFrame:
    """Read the sets whose exercise name has a meaning.

    Parameters
    ----------
    store : Store
        The store; one that does not exist yet gives no rows.
    lifter, movement, variant : str, optional
        Only these.
    since, until : date, optional
        First and last day, both included.

    Returns
    -------
    sets : DataFrame
        One row per set, oldest first; columns as in ``sql/sets.sql``. ``flag`` says
        why a set is implausible against the lifter's own neighbouring days.
    """
    parameters = {
        "entries": entries(), "lifter": lifter, "movement": movement,
        "variant": variant, "since": since, "until": until,
    }  # fmt: skip
    with store.read() as con:
        # By way of Arrow: half a million rows come in a third less time.
        found = con.sql(statement("sets"), params=parameters).to_arrow_table()
    return found.to_pandas().astype({"cheat": "boolean"})


def sets_and_pains(store: Store, *, lifter: str | None = None) -> pd.DataFrame:
    """Read the sets advice looks at: the named ones, and any others with pain.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str, optional
        Only this one.

    Returns
    -------
    sets : DataFrame
        :func:`sets`, then ``sql/unnamed_pains.sql`` with nothing in the other
        columns. Pain that a person said is over is left out, see `end_pain`.
    """
    import pandas as pd

    named = sets(store, lifter=lifter)
    pains = _rows(store, "unnamed_pains", {"lifter": lifter})
    every = pd.concat([named, pains], ignore_index=True) if len(pains) else named
    until = pd.to_datetime(every["lifter"].map(ended_pains(store)))
    return every.assign(pain=every["pain"].mask(every["performed_on"] <= until))


def logged(
    store: Store,
    *,
    lifter: str | None = None,
    variant: str | None = None,
    since: date | None = None,
    until: date | None = None,
) -> pd.DataFrame:
    """Read every set as logged, under the names a log has for its columns.

    Parameters
    ----------
    store : Store
        The store.
    lifter, variant : str, optional
        Only these.
    since, until : date, optional
        First and last day, both included.

    Returns
    -------
    logged : DataFrame
        ``set_id`` and the fields of a log, oldest first, also of exercises without a
        meaning yet; intake reads them back. ``load`` is in kilograms, ``BW+10`` where
        it is added to the body, ``60 total`` where the log said how it counts, and
        ``rir`` is ``1-2`` where it was an interval.
    """
    found = logged_kg(store, lifter=lifter, variant=variant, since=since, until=until)
    found = found.rename(columns={"load_kg": "load"})
    on_body = found.pop("on_body")
    wide = found["rir_half"].notna()
    rir = found["rir"].astype(object).mask(wide, reserve_told(found[wide]))
    plain, counts = found["load"], found["load_counts"]
    told = plain.map("{:.12g}".format).mask(on_body, plain.map("BW{:+.12g}".format))
    told += " " + counts.fillna("").str.replace("_", " ")
    said = on_body | counts.notna()
    found = found.assign(
        load=plain.astype(object).mask(said, told.str.strip()), rir=rir
    )
    return found.drop(columns="rir_half")


def logged_kg(store: Store, **chosen: str | date | None) -> pd.DataFrame:
    """Read every set as logged, loads as numbers, to be corrected.

    Parameters
    ----------
    store : Store
        The store.
    chosen : str or date
        As of :func:`logged`.

    Returns
    -------
    logged : DataFrame
        As of :func:`logged` with ``load_kg, on_body`` for ``load`` and ``rir_half``
        beside ``rir``.
    """
    wanted = dict.fromkeys(["lifter", "variant", "since", "until"]) | chosen
    return _rows(store, "logged", wanted).rename(columns={"load": "load_kg"})


def lifters(store: Store) -> pd.DataFrame:
    """Lifters and what their log holds.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    lifters : DataFrame
        Columns ``lifter, sets, first_on, last_on, variants, with_effort``.
    """
    return _rows(store, "lifters")


def variants(store: Store) -> pd.DataFrame:
    """Variants of the catalogue and of one's own, with counts.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    variants : DataFrame
        Columns ``movement, variant, title, sets, lifters``.
    """
    import pandas as pd

    return pd.DataFrame(variant_counts(store))


def variant_counts(store: Store) -> list[dict[str, Any]]:
    """Variants as plain rows, without the half second that pandas takes to load.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    rows : list of dict
        As :func:`variants`.
    """
    with store.read() as con:
        found = con.execute(statement("variants"), {"entries": entries()})
        names = [column[0] for column in found.description]
        return [dict(zip(names, row, strict=True)) for row in found.fetchall()]


def movements(store: Store) -> pd.DataFrame:
    """Movements of the catalogue and of one's own, with counts.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    movements : DataFrame
        Columns ``movement, title, reference, variants, sets``; ``reference`` is
        empty where ratios have none.
    """
    known = load_catalogue().movements
    counts = variants(store).groupby("movement", as_index=False).agg(
        variants=("variant", "size"), sets=("sets", "sum")
    )  # fmt: skip
    counts["title"] = [known[m].title if m in known else m for m in counts.movement]
    counts["reference"] = [
        (known[m].reference or "") if m in known else "" for m in counts.movement
    ]
    return counts[["movement", "title", "reference", "variants", "sets"]]


def bodies(store: Store, *, lifter: str | None = None) -> pd.DataFrame:
    """Body measurements.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str, optional
        Only this one.

    Returns
    -------
    bodies : DataFrame
        Columns ``lifter, measured_on, body_mass_kg, stature_m, forearm_length_m,
        arm_girth_m, intake_id``.
    """
    return _rows(store, "bodies", {"lifter": lifter})


def rejected(store: Store, intake_id: int | None = None) -> pd.DataFrame:
    """Rejected rows that still wait.

    Parameters
    ----------
    store : Store
        The store.
    intake_id : int, optional
        Only of this intake.

    Returns
    -------
    rejected : DataFrame
        Columns ``intake_id, file, row, column, value, problem, accepted``.
    """
    return _rows(store, "rejected", {"intake_id": intake_id})


def intakes(store: Store) -> pd.DataFrame:
    """Files taken in, with their counts of rows and sets.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    intakes : DataFrame
        Columns ``intake_id, file, kind, taken_at, rows_read, rows_added, rows_known,
        rows_rejected, sets_added, already_known, undone_at, file_hash``.
    """
    return _rows(store, "intakes")


def reps(
    store: Store, *, lifter: str | None = None, variant: str | None = None
) -> pd.DataFrame:
    """Traced repetitions.

    Parameters
    ----------
    store : Store
        The store.
    lifter, variant : str, optional
        Only these.

    Returns
    -------
    reps : DataFrame
        Columns as in ``sql/reps.sql``.
    """
    return _rows(store, "reps", {"lifter": lifter, "variant": variant})
