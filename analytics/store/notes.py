"""What a coach notes on a lifter."""

from __future__ import annotations

from datetime import datetime

from analytics.errors import InputError
from analytics.store.connection import Store
from analytics.store.lookup import known_code

MOST_LETTERS = 1000


def coach_notes(store: Store) -> dict[str, str]:
    """Give what coaches noted, by lifter.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    notes : dict of str to str
        Lifters without a note are not in it.
    """
    with store.read() as con:
        rows = con.execute("SELECT lifter, note FROM coach_note").fetchall()
    return dict(rows)


def coach_note(store: Store, lifter: str) -> str:
    """Give what the coach noted on one lifter.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str
        Code.

    Returns
    -------
    note : str
        Empty if there is none.
    """
    return coach_notes(store).get(lifter, "")


def note_on(store: Store, lifter: str, note: str) -> None:
    """Keep what a coach notes on a lifter, in place of what was noted before.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str
        Code.
    note : str
        Text of at most 1,000 letters; an empty one takes the note away.

    Raises
    ------
    InputError
        If the store has no sets of this lifter, or the text is longer.
    NotAllowedError
        For a lifter or researcher, and a coach of others.
    """
    store.asking.must_be("coach", "owner", to="note anything on a lifter")
    note = note.strip()
    if len(note) > MOST_LETTERS:
        raise InputError(
            f"a note has at most {MOST_LETTERS:,} letters, this one {len(note):,}"
        )
    with store.write() as con:
        codes = con.execute("SELECT DISTINCT lifter FROM logged_set").fetchall()
        lifter = known_code(lifter, (row[0] for row in codes))
        con.execute("DELETE FROM coach_note WHERE lifter = ?", [lifter])
        if note:
            con.execute(
                "INSERT INTO coach_note VALUES (?, ?, ?)",
                [lifter, note, datetime.now()],
            )
