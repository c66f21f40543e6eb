"""Who asks, and what of the store there is for them: the one place that decides it.

To somebody who may not see everything, the store is opened with a view over each of
its tables that holds their rows alone, so no query above can give another's. What
they write is compared before it is kept: nothing of others may differ by it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import duckdb

from analytics.errors import NotAllowedError
from analytics.store.engine import first_row

ROLES = ("lifter", "coach", "researcher", "owner")
WRITERS = ("lifter", "coach", "owner")


@dataclass(frozen=True, slots=True)
class Asking:
    """Somebody who asks something of the store.

    Attributes
    ----------
    address : str
        Of a person in the list of the store; empty for whoever holds the file.
    role : str
        One of ``ROLES``.
    lifters : tuple of str
        Codes of the own log, or of the lifters a coach is assigned.
    """

    address: str = ""
    role: str = "owner"
    lifters: tuple[str, ...] = ()

    @property
    def everything(self) -> bool:
        """Whether there is nothing in the store they may not see."""
        return self.role == "owner"

    @property
    def own(self) -> str | None:
        """Code of the only log there is for them, None for all but a lifter."""
        return self.lifters[0] if self.role == "lifter" and self.lifters else None

    @property
    def mark(self) -> str:
        """What precedes the layouts of files remembered for them alone."""
        return "" if self.everything else f"{self.address} "

    def may_see(self, lifter: str) -> bool:
        """Tell whether a lifter's log is for them.

        Parameters
        ----------
        lifter : str
            Code.

        Returns
        -------
        may : bool
            Everybody's is for an owner.
        """
        return self.everything or lifter in self.lifters

    def must_see(self, lifter: str) -> None:
        """Refuse what is about a lifter whose log is not for them.

        Parameters
        ----------
        lifter : str
            Code.

        Raises
        ------
        NotAllowedError
            Which says no more of a lifter there is than of one there is not.
        """
        if not self.may_see(lifter):
            raise NotAllowedError(
                f"lifter `{lifter}` is not {self.address}'s to see; an owner assigns "
                "lifters with `lacertus person add`"
            )

    def must_be(self, *roles: str, to: str) -> None:
        """Refuse what is for other roles.

        Parameters
        ----------
        *roles : str
            Who may.
        to : str
            What, as in "may not make a backup".

        Raises
        ------
        NotAllowedError
            If theirs is none of these.
        """
        if self.role not in roles:
            raise NotAllowedError(
                f"{self.address} is a {self.role} and may not {to}; "
                f"who may: {', '.join(roles)}"
            )


HOLDER = Asking()

# Rows of each table that are theirs; of a table that is not here none are.
_MINE = "lifter IN (FROM asking_lifter)"
_OF_MY_SETS = f"set_key IN (SELECT set_key FROM {{db}}.logged_set WHERE {_MINE})"
_SEEN = {
    **dict.fromkeys(("schema_version", "own_variant"), "true"),
    **dict.fromkeys(("logged_set", "traced_rep", "body"), _MINE),
    **dict.fromkeys(("pain_over", "coach_note", "withheld"), _MINE),
    **dict.fromkeys(("set_detail", "deleted_set", "set_history"), _OF_MY_SETS),
    **dict.fromkeys(("intake", "rejected_row"), "intake_id IN (FROM asking_intake)"),
    "layout": "starts_with(signature, (SELECT mark FROM asking))",
    "exercise_name": "decided_by = 'person' OR name_key IN (FROM asking_name)",
}
_WITH_PLACE = ("set_history", "rejected_row")  # whose rows are told apart by place

# Rows of each table that are not, and stay as they are whatever is written; of a
# table that is not here all are.
_NOT_MINE = f"NOT ({_MINE})"
_OF_OTHERS = f"set_key IN (SELECT set_key FROM logged_set WHERE {_NOT_MINE})"
_USED = "name_key IN (SELECT name_key FROM {table} WHERE " + _NOT_MINE + ")"
_KEPT = {
    **dict.fromkeys(("schema_version", "saved_fit"), "false"),
    **dict.fromkeys(("logged_set", "traced_rep", "body"), _NOT_MINE),
    **dict.fromkeys(("pain_over", "coach_note", "withheld"), _NOT_MINE),
    **dict.fromkeys(("set_detail", "deleted_set", "set_history"), _OF_OTHERS),
    **dict.fromkeys(("intake", "rejected_row"), "intake_id IN (FROM others_intake)"),
    "layout": "NOT starts_with(signature, (SELECT mark FROM asking))",
    "deed": "done_at <= (SELECT since FROM asking)",
    "exercise_name": " OR ".join(
        ["(decided_by = 'person' AND (SELECT lone FROM asking))"]
        + [_USED.format(table=table) for table in ("logged_set", "traced_rep")]
    ),
    "own_variant": "(SELECT lone FROM asking)",
}
_MOVES = {"intake": ("whole",)}  # and tells nothing
_WORDS = {
    "logged_set": "sets of a lifter who is not theirs",
    "body": "measurements of a lifter who is not theirs",
    "traced_rep": "traces of a lifter who is not theirs",
    "exercise_name": "what an exercise name means to others",
    "own_variant": "which exercises there are",
    "intake": "what others brought in",
    "rejected_row": "what others brought in",
}


def show_theirs(con: duckdb.DuckDBPyConnection, asking: Asking) -> None:
    """Put a view of their rows over every table of the current database.

    Parameters
    ----------
    con : DuckDBPyConnection
        With a store as its current database, to be read alone.
    asking : Asking
        Who asks.
    """
    if asking.everything:
        return
    _who(con, asking)
    row = first_row(con, "SELECT current_database()")
    db = f"{row[0] if row else ''}.main"
    con.execute(
        f"CREATE TEMP TABLE asking_name AS SELECT name_key FROM {db}.logged_set "
        f"WHERE {_MINE} UNION SELECT name_key FROM {db}.traced_rep WHERE {_MINE}"
    )
    for table in _tables(con):
        place = ", rowid" if table in _WITH_PLACE else ""
        con.execute(
            f"CREATE TEMP VIEW {table} AS SELECT *{place} FROM {db}.{table} "
            f"WHERE {_SEEN.get(table, 'false').format(db=db)}"
        )


def print_of_theirs(con: duckdb.DuckDBPyConnection) -> tuple[object, ...]:
    """Give a fingerprint of every row `show_theirs` left to be seen.

    Parameters
    ----------
    con : DuckDBPyConnection
        With a store as its current database.

    Returns
    -------
    print : tuple
        Count and hash of each table; of what is derived from rows, nothing.
    """
    rows = " UNION ALL ".join(
        f"SELECT '{table}', count(*), sum(hash(t)) FROM {table} AS t"
        for table in _tables(con)
        if table != "saved_fit"
    )
    return tuple(con.execute(rows).fetchall())


@contextmanager
def others_kept(con: duckdb.DuckDBPyConnection, asking: Asking) -> Iterator[None]:
    """Refuse what the block writes if anything of others differs by it.

    Parameters
    ----------
    con : DuckDBPyConnection
        With a store as its current database, in a transaction.
    asking : Asking
        Who writes.

    Raises
    ------
    NotAllowedError
        For a role that writes nothing, and if others' rows differ.
    """
    if asking.everything:
        yield
        return
    asking.must_be(*WRITERS, to="change anything")
    _who(con, asking)
    con.execute(
        "CREATE TEMP TABLE others_intake AS SELECT intake_id FROM intake "
        "WHERE intake_id NOT IN (FROM asking_intake)"
    )
    before = _prints(con)
    yield
    after = _prints(con)
    differs = [table for table in (*_WORDS, *before) if before[table] != after[table]]
    if differs:
        words = _WORDS.get(differs[0], "what is others'")
        raise NotAllowedError(
            f"{asking.address} may not change {words}; nothing was changed, and an "
            "owner can"
        )


def _who(con: duckdb.DuckDBPyConnection, asking: Asking) -> None:
    """Put into temporary tables who asks, their lifters and what they brought in."""
    con.execute(
        "CREATE TEMP TABLE asking_lifter AS SELECT unnest($codes::TEXT[]) AS lifter",
        {"codes": list(asking.lifters)},
    )
    con.execute(
        "CREATE TEMP TABLE asking AS SELECT $mark AS mark, $lone AS lone, "
        "(SELECT max(done_at) FROM deed) AS since",
        {"mark": asking.mark, "lone": asking.role == "lifter"},
    )
    con.execute(
        "CREATE TEMP TABLE asking_intake AS SELECT DISTINCT intake_id FROM deed "
        "WHERE address = $address AND deed = 'brought in'",
        {"address": asking.address},
    )


def _tables(con: duckdb.DuckDBPyConnection) -> list[str]:
    found = con.execute(
        "SELECT table_name FROM duckdb_tables() "
        "WHERE database_name = current_database() AND NOT temporary ORDER BY ALL"
    )
    return [row[0] for row in found.fetchall()]


def _prints(con: duckdb.DuckDBPyConnection) -> dict[str, object]:
    """Give a fingerprint of others' rows of every table."""
    prints: dict[str, object] = {}
    for table in _tables(con):
        moves = f"EXCLUDE ({', '.join(_MOVES[table])})" if table in _MOVES else ""
        prints[table] = first_row(
            con,
            "SELECT count(*), sum(hash(t)) FROM "
            f"(SELECT * {moves} FROM {table} WHERE {_KEPT.get(table, 'true')}) AS t",
        )
    return prints
