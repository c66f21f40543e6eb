"""What the shipped simulations and measured people say, as tables and in words."""

from importlib.resources import files

import pandas as pd

from analytics import evidence
from analytics.mechanics import lifts, measured
from analytics.mechanics.pulls.checks import pull_checks, why_no_limits
from app.state import cached

DESIGNS = ("variants", "with holds")


def battery() -> tuple[pd.DataFrame, str]:
    """Return how estimates did on plans with a known truth, and in words."""
    rows = evidence.battery_table()
    return rows, evidence.battery_in_words(rows)


def power(design: str) -> tuple[pd.DataFrame, str]:
    """Return how often simulated logs of one design got each verdict, and in words."""
    rows = evidence.power_table(design=design)
    return rows, evidence.power_in_words(rows)


def family_power() -> tuple[pd.DataFrame, tuple[str, ...]]:
    """Return the same for joints with a measured strength, and in words."""
    rows = evidence.family_power_table()
    return rows, evidence.family_power_in_words(rows)


def shipped(name: str) -> pd.DataFrame:
    """Return one table of ``data/``: what was checked, and what came out."""
    with files("app").joinpath("data", f"{name}.csv").open(encoding="utf-8") as file:
        return pd.read_csv(file, dtype=str).fillna("")


def weighed(joint: str) -> tuple[pd.DataFrame, ...]:
    """Return bands, points, targets, weights, slopes and changed predictions."""

    def make() -> tuple[pd.DataFrame, ...]:
        return (
            measured.torque_angle_bands(joint),
            measured.measured_points(joint),
            measured.target_table(joint),
            measured.weighed_numbers(joint),
            measured.slope_table(joint),
            measured.ratios_changed(),
        )

    return cached("weighed", joint, make)


def families() -> tuple[pd.DataFrame, ...]:
    """Return checks of families, the squat, measured ratios, and demand of lifts."""

    def make() -> tuple[pd.DataFrame, ...]:
        checks = lifts.family_table()
        label = checks["family"] + ", " + checks["comparison"]
        return (
            checks.assign(label=label),
            lifts.squat_table(),
            lifts.measured_ratios(),
            lifts.asked_table(),
        )

    return cached("families", "", make)


def pulls() -> tuple[pd.DataFrame, str]:
    """Return measured beside predicted strength in pulls, and why no limit is shown."""
    return cached("pull_checks", "", lambda: (pull_checks(), why_no_limits()))
