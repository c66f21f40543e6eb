"""What the shipped simulations found: how often strength and the curve test are right.

Made by ``analytics/cli/bench`` and, for strength, by ``tests/strength_battery``;
nothing is simulated again for a reader.
"""

from importlib.resources import files

import numpy as np
import pandas as pd

from analytics.mechanics import SHAPES


def _shipped(name: str, *, package: str = __package__) -> pd.DataFrame:
    with files(package).joinpath("data", name).open(encoding="utf-8") as file:
        return pd.read_csv(file, comment="#")


def power_table(*, design: str = "with holds", curve: str = "all") -> pd.DataFrame:
    """Read the shipped simulation of ratios.

    Parameters
    ----------
    design : str
        ``variants`` or ``with holds``, see the simulation.
    curve : str
        ``all``, or a muscle set and curve such as ``printed with thelen``.

    Returns
    -------
    table : DataFrame
        ``design, truth, curve, sets, logs, agrees, disagrees``.
    """
    table = _shipped("power.csv")
    chosen = (table["design"] == design) & (table["curve"] == curve)
    return table[chosen].reset_index(drop=True)


def family_power_table() -> pd.DataFrame:
    """Read the simulation of the joints whose strength was measured by angle.

    Returns
    -------
    table : DataFrame
        ``movement, design, truth, sets, logs, agrees, disagrees, length, leverage``,
        as in `power_table`. [1]
    """
    return _shipped("family_power.csv")


def family_power_in_words(table: pd.DataFrame) -> tuple[str, ...]:
    """Say of each joint how often a verdict is right in the largest logs.

    Parameters
    ----------
    table : DataFrame
        Of :func:`family_power_table`.

    Returns
    -------
    sentences : tuple of str
        One a movement.
    """
    said = []
    for movement, rows in table.groupby("movement", sort=False):
        told = []
        for design, mine in rows.groupby("design", sort=False):
            largest = mine[mine["sets"] == mine["sets"].max()].set_index("truth")
            others = largest.drop(index="peaked")
            told.append(
                f"{design}, {largest['sets'].iloc[0]} sets: a peaked truth is found in "
                f"{largest.loc['peaked', 'agrees']:.0%} of logs, another is told in "
                f"{others['disagrees'].min():.0%} to {others['disagrees'].max():.0%} "
                f"and said to agree in at most {others['agrees'].max():.0%}"
            )
        said.append(
            f"{str(movement).replace('_', ' ').capitalize()}: {'; '.join(told)}."
        )
    return tuple(said)


def information_table() -> pd.DataFrame:
    """Read which variants, range starts and holds inform about muscle length.

    Returns
    -------
    table : DataFrame
        ``variant, range_from_deg, range_to_deg, from_flat, from_inverted,
        from_leverage``; the last three in spreads between predictions. [1]
    """
    return _shipped("information.csv")


def pipeline_table() -> pd.DataFrame:
    """Read the shipped simulation of whole logs: intake, strength fit and verdict.

    Returns
    -------
    table : DataFrame
        ``design, truth, logs`` and the number of logs with each verdict.
    """
    return _shipped("pipeline.csv")


def battery_table() -> pd.DataFrame:
    """Read how strengths, ratios and next loads did on plans with a known truth.

    Returns
    -------
    table : DataFrame
        ``plan, quantity, covered, bias, error, naive_error, n``: share of 90 %
        intervals that hold the truth, median error and its size beside that of the
        usual rule, in log units (next loads: in repetitions), and how many were
        judged; plan ``all`` is all together.
    """
    columns = ["plan", "quantity", "covered", "bias", "error", "naive_error", "n"]
    return _shipped("battery.csv", package="analytics.strength.model")[columns]


def battery_in_words(table: pd.DataFrame) -> str:
    """Say what the plans with a known truth found.

    Parameters
    ----------
    table : DataFrame
        Of :func:`battery_table`.

    Returns
    -------
    sentence : str
        Without a full stop.
    """
    plans, whole = table[table["plan"] != "all"], table[table["plan"] == "all"]
    strength = plans[plans["quantity"].str.startswith("strength")]
    all_strength = whole[whole["quantity"].str.startswith("strength")]
    held = np.average(all_strength["covered"], weights=all_strength["n"])
    worst = strength.loc[strength["covered"].idxmin()]
    ours, usual = (
        np.sqrt(np.average(all_strength[name] ** 2, weights=all_strength["n"]))
        for name in ("error", "naive_error")
    )
    return (
        f"90 % intervals hold {held:.0%} of true strengths, {worst['covered']:.0%} in "
        f"the worst plan ({worst['plan'].replace('_', ' ')}); the error is {ours:.1%}, "
        f"by the usual rule {usual:.1%}"
    )


def sets_for_power(table: pd.DataFrame, *, at_least: float = 0.9) -> int | None:
    """Size of the smallest simulated log from which a peaked truth is found.

    Parameters
    ----------
    table : DataFrame
        Result of `power_table`.
    at_least : float
        Share of logs that must say ``agrees``, there and at every larger size. [1]

    Returns
    -------
    sets : int or None
        None when no simulated size suffices.
    """
    peaked = table[table["truth"] == "peaked"].sort_values("sets", ascending=False)
    found = peaked[(peaked["agrees"] >= at_least).cummin()]
    return None if found.empty else int(found["sets"].min())


def power_in_words(table: pd.DataFrame) -> str:
    """Say how large a log must be, and how often a wrong truth was said to agree.

    Parameters
    ----------
    table : DataFrame
        Of :func:`power_table`.

    Returns
    -------
    sentence : str
        Without a full stop.
    """
    enough = sets_for_power(table)
    found = table.loc[table["truth"] == "peaked", "agrees"]
    told = (
        f"is found in 9 of 10 logs from {enough:,} sets"
        if enough
        else f"is found in at most {found.max():.0%} of logs of any size tried"
    )
    wrong = table.loc[table["truth"].isin(SHAPES[1:]), "agrees"].max()
    said = f"was said to agree in at most {wrong:.1%}" if wrong else "never agreed"
    design = str(table["design"].iloc[0]).capitalize()
    return f"{design}: a peaked truth {told}; one of another shape {said}"
