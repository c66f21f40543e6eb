"""How hard a set was: words for it, and cells that cost the effort and not the set."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import duckdb

from analytics.catalogue import normalise_name
from analytics.intake import cells
from analytics.intake.cells import Refusal
from analytics.intake.faults import place
from analytics.intake.fields import READERS
from analytics.intake.numerals import odd_numeral, tidy
from analytics.intake.plan import SHEET_STEP, Plan, slots
from analytics.intake.results import RowIssue
from analytics.intake.steps import statement
from analytics.store.fields import FIELDS as REGISTRY
from analytics.store.reserve import middle_and_half

FAILED, UNKNOWN = "failed", "unknown"
_TO_FAILURE = {"rir": 0.0, "rpe": 10.0, "failed": 1.0}
EFFORTS = tuple(_TO_FAILURE)
_SHOWN = 5


def effort_said(
    field: str, text: str, decimal: str, meanings: Mapping[str, str | float]
) -> dict[str, Any]:
    """Read a cell that says how hard a set was.

    Parameters
    ----------
    field : str
        One of `EFFORTS`.
    text : str
        Cell.
    decimal : str
        Decimal sign of the file.
    meanings : mapping of str to (str or float)
        ``[effort]`` of the column map; goes before what is commonly meant.

    Returns
    -------
    said : dict
        ``value``, ``half`` the width of an interval around it, and ``word``, or
        ``problem`` and ``accepted``.
    """
    meant = {_plain(word): meaning for word, meaning in meanings.items()}.get(
        _plain(text)
    )
    if meant is None:
        value = READERS[field](text, decimal)
        if isinstance(value, tuple):
            return dict(zip(("value", "half"), middle_and_half(value), strict=True))
        if not isinstance(value, Refusal):
            return {"value": value}
        meant = _common_meaning(text)
        if not meant or (field == "failed" and meant != FAILED):
            return {"problem": value.problem, "accepted": value.accepted}
    if meant == "":
        return {"word": UNKNOWN}
    if meant == FAILED:
        return {"value": _TO_FAILURE[field], "word": FAILED}
    return {"value": 0.0 if field == "failed" else float(meant)}


def _plain(text: str) -> str:
    return tidy(text).casefold()


def _common_meaning(text: str) -> str:
    """Meaning of a word that many logs use: ``failed``, a number, or empty."""
    word = "" if odd_numeral(text) else normalise_name(text)
    known = cells.words()["effort"].items()
    return next((meaning for meaning, group in known if word in group), "")


def efforts_not_read(
    con: duckdb.DuckDBPyConnection, plan: Plan, *, most: int
) -> tuple[tuple[RowIssue, ...], dict[str, int]]:
    """Tell of sets that are kept without their effort.

    Parameters
    ----------
    con : DuckDBPyConnection
        After the checks.
    plan : Plan
        File.
    most : int
        Cells told of.

    Returns
    -------
    issues : tuple of RowIssue
        First cells, by their place in the file.
    words : dict of str to int
        Every text that was not read, with its number of sets, most first.
    """
    placed = {number: slot for number, slot in enumerate(slots(plan))}
    issues = tuple(
        RowIssue(
            file=plan.named(sheet), row=row % SHEET_STEP,
            column=placed[slot].headers.get(place(placed[slot], field) or "", field),
            value=text, problem=f"effort not read: {problem or 'impossible'}",
            accepted=accepted or REGISTRY[field].accepted or "yes or no",
        )
        for sheet, row, slot, field, text, problem, accepted in con.execute(
            statement("effort_issues"), {"most": most}
        ).fetchall()
    )  # fmt: skip
    return issues, dict(con.execute(statement("effort_words")).fetchall())


def effort_note(issues: tuple[RowIssue, ...], words: Mapping[str, int]) -> str:
    """Say in one sentence which efforts were not read, and how to answer.

    Parameters
    ----------
    issues : tuple of RowIssue
        From `efforts_not_read`.
    words : mapping of str to int
        From `efforts_not_read`.

    Returns
    -------
    note : str
        Empty if all were read.
    """
    if not words:
        return ""
    shown = ", ".join(
        f"`{text[:40]}` {sets}" for text, sets in [*words.items()][:_SHOWN]
    )
    more = f" and {len(words) - _SHOWN} more texts" if len(words) > _SHOWN else ""
    sets = sum(words.values())
    return (
        f"effort not read in {sets} set{'s' * (sets != 1)}, which count without it: "
        f"{shown}{more}, first in row {issues[0].row}, column `{issues[0].column}`; "
        f"accepted is {issues[0].accepted}; say what a word means under [effort] of "
        'the column map, as "failed", a number, or "" for unknown'
    )
