"""Which variant for which goal: modelled answers.

Ranks by what mechanics says of each variant, beside the lifter's own ratios.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import pandas as pd

from analytics import mechanics
from analytics.advice.rules import rule
from analytics.catalogue import (
    Body,
    Variant,
    load_catalogue,
    main_movement,
    make_body,
)
from analytics.errors import InputError
from analytics.strength import StrengthFit


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """What somebody wants from a variant.

    Attributes
    ----------
    title : str
        In words.
    column : str
        Column of :func:`variant_facts` it is ranked by.
    largest_first : bool
        Whether more of it is better.
    reason : callable
        A row of facts to a sentence.
    """

    title: str
    column: str
    largest_first: bool
    reason: Callable[[pd.Series], str]


def sticks(row: pd.Series) -> str:
    """Say where a variant is hardest; an open interval is said as one.

    Parameters
    ----------
    row : Series
        Of :func:`variant_facts`.

    Returns
    -------
    words : str
        With the interval. [deg]
    """
    if np.isnan(row["hardest_deg"]):
        return (
            f"no single hardest angle, anywhere from {row['low_deg']:.0f} to "
            f"{row['high_deg']:.0f}°"
        )
    return (
        f"hardest at {row['hardest_deg']:.0f}° "
        f"({row['low_deg']:.0f} to {row['high_deg']:.0f}°)"
    )


def _span(low_deg: float, high_deg: float) -> str:
    return f"{low_deg:.0f}" + (f" to {high_deg:.0f}°" if high_deg > low_deg else "°")


GOALS = {
    "even_resistance": Goal(
        title="Resistance and strength match over the range",
        column="evenness",
        largest_first=True,
        reason=lambda row: (
            f"under the load held {row['evenness']:.0%} of the strength at each angle "
            f"is asked for on average ({row['evenness_low']:.0%} to "
            f"{row['evenness_high']:.0%}), and 90 % or more of it over "
            f"{row['near_limit_frac']:.0%} of the range; {sticks(row)}"
        ),
    ),
    "strong_range": Goal(
        title="The load asks where the muscles are strongest",
        column="strength_where_asked_frac",
        largest_first=True,
        reason=lambda row: (
            "where the load asks, the muscles give on average "
            f"{row['strength_where_asked_frac']:.0%} of their best moment on this "
            f"path; {sticks(row)}"
        ),
    ),
    "short_hard_part": Goal(
        title="One short hard part, with strength in hand beyond it",
        column="sticking_margin_frac",
        largest_first=True,
        reason=lambda row: (
            f"under the load held, {rule('beyond_hardest_deg'):.0f}° or more away from "
            f"the hardest angle at least {row['sticking_margin_frac']:.0%} of the "
            "strength is in hand; "
            f"{sticks(row)}"
        ),
    ),
    "heavy_load": Goal(
        title="The heaviest load for this lifter",
        column="ratio_here",
        largest_first=True,
        reason=lambda row: (
            "ranked by the "
            + ("modelled ratio" if np.isnan(row["own_ratio"]) else "lifter's own ratio")
        ),
    ),
    "stretched_range": Goal(
        title="Most work at long muscle length",
        column="fibre_length_where_asked",
        largest_first=True,
        reason=lambda row: (
            f"where the load asks, the {row['muscles']} are on average at "
            f"{row['fibre_length_where_asked']:.2f} of their optimal fibre length, "
            f"{row['descending_frac']:.0%} of the work beyond the plateau, by one "
            "published muscle set. Whether training at length builds more muscle is "
            "contested"
        ),
    ),
    "spare_shoulder": Goal(
        title="Little asked of the shoulder",
        column="shoulder_rank",
        largest_first=False,
        reason=lambda row: (
            f"upper arm {row['support_words']}, shoulder at "
            f"{_span(row['shoulder_from_deg'], row['shoulder_to_deg'])}; "
            "ranked by support first, then by distance from hanging (assumed)"
        ),
    ),
}
SUPPORT_WORDS = {
    "none": "not supported",
    "pad": "rests on a pad",
    "thigh": "rests on the thigh",
    "bench": "hangs free, trunk on a bench",
}
SUPPORT_RANK = {"pad": 0, "thigh": 0, "bench": 1, "none": 2}


def variant_facts(
    variants: Sequence[str],
    *,
    range_deg: tuple[float, float] | None = None,
    body: Body | None = None,
    reference: str | None = None,
) -> pd.DataFrame:
    """Gather what mechanics and the catalogue say of each variant.

    Parameters
    ----------
    variants : sequence of str
        Modelled variants.
    range_deg : tuple of float, optional
        First and last joint angle; each variant's own if not given. [deg]
    body : Body, optional
        Whose segments; a person of 75 kg and 1.75 m if not given.
    reference : str, optional
        Variant of the modelled ratio; the movement's own if not given.

    Returns
    -------
    facts : DataFrame
        One row per variant: the columns of :func:`analytics.mechanics.hardest`
        and those the goals are ranked by.
    """
    catalogue = load_catalogue().variants
    body = body or make_body()
    hard = mechanics.hardest(
        list(variants), range_deg=range_deg, body=body, reference=reference
    )
    angle = mechanics.angle_column(catalogue[v] for v in variants)
    hard = hard.rename(columns={angle: "hardest_deg"}).set_index("variant")
    rows = [
        {"variant": v}
        | _along_range(catalogue[v], range_deg, body, hard.loc[v, "limit_load_kg"])
        | _shoulder(catalogue[v])
        for v in variants
    ]
    return pd.DataFrame(rows).join(hard, on="variant")


def _along_range(
    variant: Variant,
    range_deg: tuple[float, float] | None,
    body: Body,
    limit_load_kg: float,
) -> dict[str, float]:
    """Weigh strength and fibre length by the moment the load asks for."""
    used = mechanics.used_fully_once(
        variant, range_deg=range_deg, body=body, beyond_deg=rule("beyond_hardest_deg")
    )
    joint = variant.model.joint
    first, last = range_deg or variant.model.range_deg
    angle = np.arange(first, last + 1)
    asked = mechanics.demand(angle, variant=variant, load_kg=limit_load_kg, body=body)
    work = _muscle_work(variant, tuple(angle))
    share = work["share_frac"] * work[joint.column].map(
        dict(zip(angle, asked.clip(min=0), strict=True))
    )
    known = work["fibre_length"].notna()
    beyond = work.loc[known, "zone"] == "descending"
    return used | {
        "fibre_length_where_asked": float(
            np.average(work.loc[known, "fibre_length"], weights=share[known])
        ),
        "descending_frac": float(np.average(beyond, weights=share[known])),
    }


@lru_cache(maxsize=100)
def _muscle_work(variant: Variant, joint_deg: tuple[float, ...]) -> pd.DataFrame:
    """Return each muscle's work, which no body or load changes."""
    return mechanics.muscle_work(np.array(joint_deg), variant=variant)


def _shoulder(variant: Variant) -> dict[str, object]:
    angles = np.array([shoulder for _, shoulder in variant.model.path])
    return {
        "muscles": variant.model.joint.muscles,
        "support_words": SUPPORT_WORDS[variant.model.support],
        "shoulder_from_deg": float(angles.min()),
        "shoulder_to_deg": float(angles.max()),
        "shoulder_rank": SUPPORT_RANK[variant.model.support]
        + np.abs(angles).max() / 180,
    }


def rank_variants(
    goal: str,
    *,
    variants: Sequence[str] | None = None,
    fit: StrengthFit | None = None,
    lifter: str | None = None,
    range_deg: tuple[float, float] | None = None,
    body: Body | None = None,
    facts: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Rank variants for a goal, with the reason in words.

    Parameters
    ----------
    goal : str
        A key of ``GOALS``.
    variants : sequence of str, optional
        Which; all modelled ones if not given.
    fit : StrengthFit, optional
        For the lifter's own ratios.
    lifter : str, optional
        Whose ratios stand beside the modelled ones.
    range_deg : tuple of float, optional
        First and last joint angle. [deg]
    body : Body, optional
        Whose segments.
    facts : DataFrame, optional
        Of `variant_facts`, which serve every goal; gathered here if not given.

    Returns
    -------
    ranking : DataFrame
        ``rank, variant, title, score, own_ratio, own_low, own_high, reason``.
        Modelled, but for the ratios, which are estimated from the log; NaN where
        the lifter has not done it.

    Raises
    ------
    InputError
        If the goal or a variant is unknown.
    """
    if goal not in GOALS:
        raise InputError(f"no goal '{goal}'; there are: {', '.join(GOALS)}")
    catalogue = load_catalogue().variants
    movement = main_movement({}) if fit is None else fit.movement
    modelled = list(load_catalogue().modelled_in(movement))
    wanted = list(variants) if variants else modelled
    unknown = [v for v in wanted if v not in modelled]
    if unknown:
        raise InputError(
            f"no mechanical model of '{unknown[0]}'; there are: {', '.join(modelled)}"
        )
    aim = GOALS[goal]
    if facts is None:
        facts = variant_facts(
            wanted, range_deg=range_deg, body=body, reference=modelled_reference(fit)
        )
    facts = facts.merge(own_ratios(fit, lifter), on="variant", how="left")
    facts["ratio_here"] = facts["own_ratio"].fillna(facts["limit_load_ratio"])
    facts = facts.sort_values(
        aim.column, ascending=not aim.largest_first, ignore_index=True
    )
    told = [
        f"{aim.reason(row)}; {_own_words(row, lifter)}" for _, row in facts.iterrows()
    ]
    return facts.assign(
        rank=np.arange(1, len(facts) + 1),
        title=[catalogue[v].title for v in facts["variant"]],
        score=facts[aim.column],
        reason=told,
    )[
        [
            *("rank", "variant", "title", "score"),
            *("own_ratio", "own_low", "own_high", "reason"),
        ]
    ]


def modelled_reference(fit: StrengthFit | None) -> str | None:
    """Return the variant that own ratios are of, if there is a model of it.

    Parameters
    ----------
    fit : StrengthFit or None
        Strength of one movement.

    Returns
    -------
    reference : str or None
        Variant.
    """
    if fit is None:
        return None
    names = dict(zip(fit.setups["setup"], fit.setups["variant"], strict=True))
    entry = load_catalogue().variants.get(names.get(fit.reference, fit.reference))
    return entry.variant if entry is not None and entry.modelled else None


def _own_words(row: pd.Series, lifter: str | None) -> str:
    """Set a lifter's own ratio beside the modelled one."""
    modelled = (
        f"{row['limit_load_ratio']:.2f} ({row['ratio_low']:.2f} to "
        f"{row['ratio_high']:.2f})"
    )
    if np.isnan(row["own_ratio"]):
        never = f", never done by {lifter} in this log" if lifter else ""
        return f"load per arm to the reference's, modelled: {modelled}{never}"
    if row["own_low"] == row["own_high"]:
        return "the reference of all ratios"
    return (
        f"load per arm to the reference's, {lifter}'s own: {row['own_ratio']:.2f} "
        f"({row['own_low']:.2f} to {row['own_high']:.2f}), modelled: {modelled}"
    )


def own_ratios(fit: StrengthFit | None, lifter: str | None) -> pd.DataFrame:
    """Return the ratios of what a lifter did over its whole range.

    Parameters
    ----------
    fit : StrengthFit or None
        Of one movement.
    lifter : str or None
        Whose.

    Returns
    -------
    ratios : DataFrame
        ``variant, own_ratio, own_low, own_high``; 1 for the reference itself.
    """
    columns = {"ratio": "own_ratio", "low": "own_low", "high": "own_high"}
    if fit is None or lifter is None:
        return pd.DataFrame(columns=["variant", *columns.values()]).astype(
            dict.fromkeys(columns.values(), float)
        )
    mine = fit.personal[(fit.personal["lifter"] == lifter) & (fit.personal["sets"] > 0)]
    points = fit.set_points
    done = (points["lifter"] == lifter) & (points["setup"] == fit.reference)
    itself = fit.setups.loc[fit.setups["setup"] == fit.reference, ["setup", "variant"]]
    itself = itself.assign(ratio=1.0, low=1.0, high=1.0, sets=done.sum())
    mine = pd.concat([mine[[*itself]], itself[itself["sets"] > 0]])
    whole = fit.setups.loc[fit.setups["range_from_deg"].isna(), "setup"]
    most = mine[mine["setup"].isin(whole)].sort_values("sets")
    most = most.drop_duplicates("variant", keep="last")
    return most[["variant", *columns]].rename(columns=columns)
