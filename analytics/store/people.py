"""Who may sign in, who withholds a log from research, and the record of deeds."""

from __future__ import annotations

import re
from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING

import duckdb

from analytics.errors import InputError, NotAllowedError
from analytics.labels import label_problem
from analytics.store.asking import HOLDER, ROLES, Asking
from analytics.store.connection import Store
from analytics.store.schema import statement

if TYPE_CHECKING:
    import pandas as pd

_ADDRESS = re.compile(r"[^@\s,;<>]+@[^@\s,;<>]+")
_MOST = 254  # letters of an address, RFC 5321


def asking_of(store: Store, address: str) -> Asking:
    """Return what a person in the list may ask for.

    Parameters
    ----------
    store : Store
        The store, as its holder opens it.
    address : str
        As the provider of sign-in or the environment gives it.

    Returns
    -------
    asking : Asking
        With the role and the lifters of now.

    Raises
    ------
    NotAllowedError
        If the list does not have this address.
    """
    return asking_in(people(store), address)


def asking_in(people: pd.DataFrame, address: str) -> Asking:
    """Return what a person in a list may ask for.

    Parameters
    ----------
    people : DataFrame
        The list, as `people` returns it.
    address : str
        As the provider of sign-in or the environment gives it.

    Returns
    -------
    asking : Asking
        With the role and the lifters of the list.

    Raises
    ------
    NotAllowedError
        If the list does not have this address.
    """
    found = people[people["address"] == address.strip().lower()]
    if found.empty:
        raise NotAllowedError(
            f"{address} is not in the list of people here; an owner adds it with "
            "`lacertus person add`"
        )
    row = found.iloc[0]
    return Asking(row["address"], row["role"], tuple(row["lifters"]))


def people(store: Store) -> pd.DataFrame:
    """Return who may sign in.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    people : DataFrame
        Columns ``address, role, lifters, added_at``; ``lifters`` holds lists.
    """
    store.asking.must_be("owner", to="see the list of people")
    with store.read() as con:
        return con.execute(statement("people")).df()


def add_person(
    store: Store, address: str, role: str, lifters: Collection[str] = ()
) -> None:
    """Let a person sign in, or change what they may ask for.

    Parameters
    ----------
    store : Store
        The store.
    address : str
        As the provider of sign-in gives it, in any case.
    role : str
        One of ``ROLES``.
    lifters : collection of str
        Code of the own log, of a lifter; the assigned ones, of a coach.

    Raises
    ------
    InputError
        If it is no address or role, or the codes do not fit the role.
    """
    store.asking.must_be("owner", to="add people")
    address = address.strip().lower()
    if not _ADDRESS.fullmatch(address) or len(address) > _MOST:
        raise InputError(f"`{address}` is no address; give one such as name@club.test")
    if role not in ROLES:
        raise InputError(f"`{role}` is no role; roles are {', '.join(ROLES)}")
    fits = {"lifter": len(set(lifters)) == 1, "coach": True}.get(role, not lifters)
    if not fits:
        raise InputError(
            f"a {role} has "
            + ("one lifter, the own code" if role == "lifter" else "no lifters")
            + f"; got {', '.join(lifters) or 'none'}"
        )
    for code in lifters:
        if not code.strip() or (problem := label_problem(code)):
            problem = problem if code.strip() else "nothing"
            raise InputError(f"lifter {code!r} holds {problem}; give the code logged")
    with store.write() as con:
        _drop(con, address)
        con.execute(
            "INSERT INTO person VALUES (?, ?, ?)", [address, role, datetime.now()]
        )
        for code in dict.fromkeys(lifters):
            con.execute("INSERT INTO person_lifter VALUES (?, ?)", [address, code])
        note(con, store.asking, "added a person", about=f"{address}, {role}")


def remove_person(store: Store, address: str) -> None:
    """Take a person off the list; whatever they have open ends with the next click.

    Parameters
    ----------
    store : Store
        The store.
    address : str
        In any case.

    Raises
    ------
    InputError
        If the list does not have it.
    """
    store.asking.must_be("owner", to="remove people")
    address = address.strip().lower()
    if address not in set(people(store)["address"]):
        raise InputError(f"no person `{address}`; `lacertus person list` lists them")
    with store.write() as con:
        _drop(con, address)
        note(con, store.asking, "removed a person", about=address)


def withhold(store: Store, lifter: str, withheld: bool) -> None:
    """Say whether figures for others may be made of a lifter's log.

    Parameters
    ----------
    store : Store
        The store; only that lifter or an owner may say so.
    lifter : str
        Code.
    withheld : bool
        From now on it is in no research table and no figure of the cohort that another
        lifter sees. Who may see the log itself, a coach or an owner, still does.
    """
    store.asking.must_be("lifter", "owner", to="say what research may use")
    store.asking.must_see(lifter)
    with store.write() as con:
        con.execute("DELETE FROM withheld WHERE lifter = ?", [lifter])
        if withheld:
            con.execute("INSERT INTO withheld VALUES (?, ?)", [lifter, datetime.now()])
        done = "withheld a log from research" if withheld else "gave a log to research"
        note(con, store.asking, done)


def withholding(store: Store) -> list[str]:
    """Return lifters whose logs no figure for others may be made of.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    lifters : list of str
        Codes, of those that who asks may see.
    """
    with store.read() as con:
        found = con.execute("SELECT lifter FROM withheld ORDER BY lifter").fetchall()
    return [row[0] for row in found]


def note(
    con: duckdb.DuckDBPyConnection,
    asking: Asking,
    deed: str,
    *,
    intake_id: int | None = None,
    about: str = "",
) -> None:
    """Add to the record, in the transaction of what is done.

    Parameters
    ----------
    con : DuckDBPyConnection
        Write connection to the store.
    asking : Asking
        Who does it.
    deed : str
        What, in the past tense.
    intake_id : int, optional
        The import it is done to.
    about : str
        What else it is done to; no code of a lifter, since erasing one leaves it.
    """
    con.execute(
        "INSERT INTO deed VALUES (?, ?, ?, ?, ?)",
        [datetime.now(), asking.address, deed, intake_id, about],
    )


def record(store: Store) -> pd.DataFrame:
    """Return who did what, oldest first; nothing changes or removes a row of it.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    record : DataFrame
        Columns ``done_at, address, deed, intake_id, about``.
    """
    store.asking.must_be("owner", to="read the record")
    with store.read() as con:
        return con.execute(statement("record")).df()


def said(store: Store) -> pd.DataFrame:
    """Return what people said of lifters beside their sets.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    said : DataFrame
        Columns ``lifter, what, said, said_at``: coach's notes, pains that are over,
        logs that are withheld.
    """
    with store.read() as con:
        return con.execute(statement("said")).df()


def for_reader(store: Store, lifter: str) -> Store:
    """Return the store for what is then cut to what one lifter may see.

    Parameters
    ----------
    store : Store
        The store.
    lifter : str
        Code of who reads what is made of it.

    Returns
    -------
    open : Store
        Of the own rows and of all that are not withheld, so only for
        `reports.seen_by` and what uses it.

    Raises
    ------
    NotAllowedError
        If the lifter's log is not for who asks.
    """
    store.asking.must_see(lifter)
    return _not_withheld(store, but=lifter)


def for_research(store: Store) -> Store:
    """Return the store without the logs that are withheld from research.

    Parameters
    ----------
    store : Store
        The store.

    Returns
    -------
    open : Store
        For aggregate tables alone.

    Raises
    ------
    NotAllowedError
        If who asks makes no tables.
    """
    store.asking.must_be("researcher", "owner", to="make research tables")
    return _not_withheld(store)


def _not_withheld(store: Store, *, but: str = "") -> Store:
    """Leave out what is withheld: all that figures for others may be made of."""
    whole = store.asked_by(HOLDER)
    closed = {*withholding(whole)} - {but}
    if not closed:
        return whole
    with whole.read() as con:
        known = con.execute(statement("known_lifters")).fetchall()
    rest = tuple(row[0] for row in known if row[0] not in closed)
    return store.asked_by(Asking(store.asking.address, "coach", rest))


def _drop(con: duckdb.DuckDBPyConnection, address: str) -> None:
    for table in ("person", "person_lifter"):
        con.execute(f"DELETE FROM {table} WHERE address = ?", [address])
