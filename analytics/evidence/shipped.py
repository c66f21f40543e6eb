"""What the shipped simulations found: how often the curve test is right.

Made by ``analytics/cli/bench``; nothing is simulated again for a reader.
"""

from importlib.resources import files

import pandas as pd


def _shipped(name: str) -> pd.DataFrame:
    with files(__package__).joinpath("data", name).open(encoding="utf-8") as file:
        return pd.read_csv(file, comment="#")


def power_table(*, design: str = "with holds", curve: str = "all") -> pd.DataFrame:
    """Read the shipped simulation of ratios.

    Parameters
    ----------
    design : str
        ``variants`` or ``with holds``, see the simulation.
    curve : str
        ``all``, or a muscle set and curve such as ``mobl_arms with thelen``.

    Returns
    -------
    table : DataFrame
        ``design, truth, curve, sets, logs, agrees, disagrees``.
    """
    table = _shipped("power.csv")
    chosen = (table["design"] == design) & (table["curve"] == curve)
    return table[chosen].reset_index(drop=True)


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
