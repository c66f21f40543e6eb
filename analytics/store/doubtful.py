"""Sets that look like a slip of the pen, in one list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from analytics.catalogue import load_catalogue
from analytics.store.connection import Store
from analytics.store.queries import logged, sets
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = ["set_id", "lifter", "performed_on", "exercise", "load_kg", "reps", "doubt",
           "likely_kg"]  # fmt: skip
ABOUT_TEN = (6.0, 15.0)  # times the sets around it that a lost decimal sign makes


def doubtful_sets(store: Store) -> pd.DataFrame:
    """List sets no strength explains: ten times too heavy, in another unit.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    doubtful : DataFrame
        ``set_id, lifter, performed_on, exercise, load_kg, reps, doubt``, ``likely_kg``
        (with the decimal sign moved by one place, NaN where that explains nothing),
        newest first, also of exercises without a meaning. Those that :func:`sets`
        flags are among them, those a person said are right are not.
    """
    import pandas as pd

    with store.read() as con:
        known = load_catalogue().variants.values()
        on_body = [entry.variant for entry in known if entry.body_share > 0]
        far = con.execute(statement("doubtful"), {"on_body": on_body}).df()
    times = far.pop("times")
    likely_kg = (far["load_kg"] / 10).where(times.between(*ABOUT_TEN))
    likely_kg = likely_kg.fillna(
        (far["load_kg"] * 10).where((1 / times).between(*ABOUT_TEN))
    )
    far = far.assign(doubt=times.map(_said), likely_kg=likely_kg)
    flagged = sets(store)
    flagged = flagged[(flagged["flag"] != "") & ~flagged["set_id"].isin(far["set_id"])]
    names = logged(store).set_index("set_id")["exercise"]
    flagged = flagged.assign(
        exercise=flagged["set_id"].map(names),
        doubt=flagged["flag"].str.removeprefix("implausible: "),
        likely_kg=float("nan"),
    )
    every = (
        pd.concat([far[COLUMNS], flagged[COLUMNS]]) if len(flagged) else far[COLUMNS]
    )
    newest = every.sort_values("performed_on", ascending=False, kind="stable")
    return newest.reset_index(drop=True)


def _said(times: float) -> str:
    size = f"{times:.1f} times" if times > 1 else f"1/{1 / times:.0f} of"
    return f"{size} the middle of the sets around it"
