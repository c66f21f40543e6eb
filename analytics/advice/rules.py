"""The numbers and cautions behind the advice, read from the data files.

Only reading: what is done with them is in the module that advises.
"""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

import pandas as pd

from analytics.catalogue import Variant


@cache
def _table(name: str) -> dict[str, Any]:
    text = files("analytics.advice").joinpath("data", name).read_text("utf-8")
    return tomllib.loads(text)


@cache
def rule(name: str) -> float:
    """Return one number the advice rests on.

    Parameters
    ----------
    name : str
        Name in ``rules.toml``, where its source stands.

    Returns
    -------
    value : float
        As printed or assumed there.
    """
    rows = {row["name"]: row for row in _table("rules.toml")["rule"]}
    return float(rows[name]["value"])


def direct_movement() -> str:
    """Return the movement whose sets count as direct work.

    Returns
    -------
    movement : str
    """
    return str(_table("rules.toml")["work"]["direct"])


def indirect_movement() -> str:
    """Return the movement whose sets train the same muscles beside others.

    Returns
    -------
    movement : str
    """
    return str(_table("rules.toml")["work"]["indirect"])


@cache
def implement_steps() -> dict[str, float]:
    """Return the smallest change of load by implement, where it is not a bar's.

    Returns
    -------
    steps : dict of str to float
        Of the load as logged. [kg]
    """
    rows = _table("rules.toml")["step"]
    return {row["implement"]: float(row["value"]) for row in rows}


def warm_up_steps() -> list[tuple[float, int]]:
    """Return fraction of the working load and reps of each warm-up step."""
    rows = _table("rules.toml")["warm_up"]
    return [(float(row["load_frac"]), int(row["reps"])) for row in rows]


def cautions(variant: Variant | None) -> list[str]:
    """Return what is usually said beside a load in a variant.

    Parameters
    ----------
    variant : Variant or None
        From the catalogue; None for a variant of one's own.

    Returns
    -------
    texts : list of str
        The general one last.
    """
    rows = _table("cautions.toml")["caution"]
    about = {variant.movement} if variant else set()
    if variant and variant.mechanics:
        about.add(variant.mechanics.support)
        behind = (
            variant.mechanics.trunk_deg < 0
            and min(shoulder for _, shoulder in variant.mechanics.path) < 0
        )
        about |= {"reclined"} if behind else set()
    special = [r["text"] for r in rows if r["applies"] in about]
    return special + [r["text"] for r in rows if r["applies"] == "always"]


def advice_sources() -> pd.DataFrame:
    """Return every number and caution of the advice with where it comes from.

    Returns
    -------
    sources : DataFrame
        Columns ``about, value, kind, citation, note``.
    """
    rules, said = _table("rules.toml"), _table("cautions.toml")
    entries = [(row["name"], row["value"], row) for row in rules["rule"]]
    entries += [(f"step: {r['implement']}", r["value"], r) for r in rules["step"]]
    entries += [
        (f"warm-up: {r['load_frac']} of the load", f"{r['reps']} reps", r)
        for r in rules["warm_up"]
    ]
    entries += [(f"caution: {r['applies']}", r["text"], r) for r in said["caution"]]
    citations = {**rules["source"], **said["source"]}
    return pd.DataFrame(
        [
            {
                "about": about,
                "value": value,
                "kind": row["kind"],
                "citation": citations[row["source"]]["citation"],
                "note": row.get("note", ""),
            }
            for about, value, row in entries
        ]
    )
