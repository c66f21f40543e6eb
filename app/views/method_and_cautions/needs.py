"""What the shipped simulations found, as tables and in words."""

from importlib.resources import files

import pandas as pd

from analytics import evidence
from analytics.evidence import power_table, sets_for_power
from analytics.mechanics import SHAPES

DESIGNS = ("variants", "with holds")


def battery() -> tuple[pd.DataFrame, str]:
    """Return how estimates did on plans with a known truth, and in words."""
    rows = evidence.battery_table()
    return rows, evidence.battery_in_words(rows)


def power(design: str) -> tuple[pd.DataFrame, str]:
    """Return how often simulated logs of one design got each verdict, and in words."""
    rows = power_table(design=design)
    enough = sets_for_power(rows)
    found = rows.loc[rows["truth"] == "peaked", "agrees"]
    told = (
        f"is found in 9 of 10 logs from {enough:,} sets"
        if enough
        else f"is found in at most {found.max():.0%} of logs of any size tried"
    )
    wrong = rows.loc[rows["truth"].isin(SHAPES[1:]), "agrees"].max()
    return rows, (
        f"{design.capitalize()}: a peaked truth {told}; one of another shape "
        + (f"was said to agree in at most {wrong:.1%}" if wrong else "never agreed")
    )


def validation() -> pd.DataFrame:
    """Return what was checked, what was asked and what came out."""
    with files("app").joinpath("data", "validation.csv").open(encoding="utf-8") as file:
        return pd.read_csv(file)
