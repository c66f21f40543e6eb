"""The sticking angle by event: modelled, logged at failure, traced in a rep."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from scipy import stats

from analytics.catalogue import load_catalogue
from analytics.evidence.say import agreement_sentence
from analytics.evidence.spread import number
from analytics.intervals import QUANTILES, Z90
from analytics.mechanics import angle_column, hardest
from analytics.mechanics.draws import N_DRAWS, SEED

COLUMNS = [
    "variant",
    "source",
    "joint_deg",
    "low_deg",
    "high_deg",
    "limit_load_ratio",
    "evenness",
    "n",
    "event",
]
# What is told by each source, and which modelled angle it is set beside.
EVENTS = {"logged": "stall", "traced": "slowest"}
MODELLED = {"hold": "held_", "stall": "", "slowest": "slowest_"}
AGREEMENT_LEVEL = 0.05


def sticking(
    variants: Sequence[str],
    *,
    range_deg: tuple[float, float] | None = None,
    sets: pd.DataFrame | None = None,
    reps: pd.DataFrame | None = None,
    n_draws: int = N_DRAWS,
    seed: int = SEED,
) -> pd.DataFrame:
    """Where each variant is hardest, by model, by failed sets and by rep traces.

    Parameters
    ----------
    variants : sequence of str
        Modelled variants.
    range_deg : tuple of float or None
        First and last joint angle; None takes each variant's own. [deg]
    sets : DataFrame or None
        Sets as from the store; those with ``failed_at_deg`` count. Already
        restricted to one lifter where one is asked for.
    reps : DataFrame or None
        Traced reps as from the store: ``variant, lifter, sticking_deg``.
    n_draws, seed : int
        Of the modelled interval.

    Returns
    -------
    table : DataFrame
        ``variant, source``, the joint's angle by `angle_column`, ``low_deg, high_deg,
        limit_load_ratio, evenness, n, event``; source is ``modelled``, ``logged`` or
        ``traced``, intervals are 90 %. The event says what happens there: ``hold``,
        least can be held still; ``stall``, a set fails or a slightly heavier lift
        stalls; ``slowest``, a heavy lift is slowest. A modelled angle is NaN where
        its interval is wider than 40 degrees, and its row is missing where the
        modelled lift does not slow down and speed up again; ``limit_load_ratio`` and
        ``evenness`` belong to the model alone.
    """
    modelled = hardest(list(variants), range_deg=range_deg, n_draws=n_draws, seed=seed)
    angle = _angle_of(modelled)
    parts = [_modelled(modelled, angle).assign(n=n_draws)]
    for source, frame, column in (
        ("logged", sets, "failed_at_deg"),
        ("traced", reps, "sticking_deg"),
    ):
        if frame is not None and not frame.empty:
            seen = _observed(frame, column, variants, source)
            parts.append(seen.assign(event=EVENTS[source]))
    table = pd.concat(parts, ignore_index=True)
    order = {variant: i for i, variant in enumerate(variants)}
    table = table.sort_values("variant", key=lambda v: v.map(order), kind="stable")
    table = table.reindex(columns=COLUMNS).reset_index(drop=True)
    return table.rename(columns={"joint_deg": angle})


def _angle_of(table: pd.DataFrame) -> str:
    """Name the column of the joint's angle."""
    known = load_catalogue().variants
    return angle_column(known[variant] for variant in table["variant"].unique())


def _modelled(table: pd.DataFrame, angle: str) -> pd.DataFrame:
    """One row for each variant and event."""
    parts = []
    for event, name in MODELLED.items():
        ends = {f"{name}{angle}": "joint_deg"}
        ends |= {f"{name}{end}": end for end in ("low_deg", "high_deg")}
        columns = ["variant", *ends, "limit_load_ratio", "evenness"]
        part = table[columns].rename(columns=ends)
        parts.append(part.assign(source="modelled", event=event))
    rows = pd.concat(parts, ignore_index=True)
    return rows[(rows["event"] != "slowest") | rows["low_deg"].notna()]


def _observed(
    frame: pd.DataFrame, column: str, variants: Sequence[str], source: str
) -> pd.DataFrame:
    """Mean angle per variant with a 90 % interval.

    Each lifter counts once by his own mean, so that one lifter's hundred reps do
    not pass for a hundred lifters; with one lifter the interval is over reps. What
    all readings may share is added to what differs between them.
    """
    rows = []
    known = frame[frame[column].notna() & frame["variant"].isin(list(variants))]
    for variant, group in known.groupby("variant", sort=False):
        per_lifter = group.groupby("lifter")[column].mean()
        values = per_lifter if len(per_lifter) > 1 else group[column]
        sd = values.std(ddof=1) if len(values) > 2 else number("reading", "failure_deg")
        own = (
            stats.t.ppf(QUANTILES[2], max(len(values) - 1, 2))
            * sd
            / np.sqrt(len(values))
        )
        reach = np.hypot(own, Z90 * number("reading", f"shared_{source}_deg"))
        rows.append(
            {
                "variant": variant,
                "source": source,
                "joint_deg": values.mean(),
                "low_deg": values.mean() - reach,
                "high_deg": values.mean() + reach,
                "n": len(group),
            }
        )
    return pd.DataFrame(
        rows, columns=["variant", "source", "joint_deg", "low_deg", "high_deg", "n"]
    )


def sticking_agreement(table: pd.DataFrame) -> pd.DataFrame:
    """Test whether what is logged and traced lies where the model has it.

    Parameters
    ----------
    table : DataFrame
        Result of `sticking`.

    Returns
    -------
    agreement : DataFrame
        ``variant, sources, chi2, p_value, agree, sentence``; one row per variant,
        ``sources`` counts the model and what could be set beside it.

    Notes
    -----
    Failure angles are set beside the modelled stall, traces beside the modelled
    slowest angle: squared differences over the sum of both variances (intervals taken
    as 90 % of a normal), χ² with one degree for each. Where the model has no single
    angle, the middle of its wide interval stands for it.
    """
    rows = []
    table = table.rename(columns={_angle_of(table): "joint_deg"})
    for variant, group in table.groupby("variant", sort=False):
        known = group[group["low_deg"].notna()]
        pairs = [pair for event in EVENTS.values() if len(pair := _pair(known, event))]
        shown = group[(group["event"] != "hold") | (len(group) == 1)]
        chi2 = sum(_chi2(*pair) for pair in pairs)
        p_value = float(stats.chi2.sf(chi2, len(pairs))) if pairs else np.nan
        agree = p_value >= AGREEMENT_LEVEL if pairs else None
        rows.append(
            {
                "variant": variant,
                "sources": 1 + len(pairs),
                "chi2": chi2 if pairs else np.nan,
                "p_value": p_value,
                "agree": agree,
                "sentence": agreement_sentence(shown, agree, p_value),
            }
        )
    columns = ["variant", "sources", "chi2", "p_value", "agree", "sentence"]
    return pd.DataFrame(rows, columns=columns)


def _pair(known: pd.DataFrame, event: str) -> tuple[pd.Series, ...]:
    """Give the modelled and the observed row of one event, empty without both."""
    rows = known[known["event"] == event]
    observed = rows["source"] != "modelled"
    if observed.any() and not observed.all():
        return rows[~observed].iloc[0], rows[observed].iloc[0]
    return ()


def _chi2(one: pd.Series, other: pd.Series) -> float:
    """Squared difference of two angles over the sum of their variances."""
    variance = sum(
        max((row["high_deg"] - row["low_deg"]) / (2 * Z90), 1.0) ** 2
        for row in (one, other)
    )
    apart = _middle(one) - _middle(other)
    return float(apart**2 / variance)


def _middle(row: pd.Series) -> float:
    """Angle of a row, the middle of its interval where no single one is told."""
    wide = np.isnan(row["joint_deg"])
    return float((row["low_deg"] + row["high_deg"]) / 2 if wide else row["joint_deg"])
