"""What the model predicts of many setups, with the uncertainty of its parameters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analytics.catalogue import (
    Body,
    Variant,
    load_as_logged,
    load_catalogue,
    main_movement,
)
from analytics.errors import InputError
from analytics.intervals import low_middle_high
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import N_DRAWS, SEED
from analytics.mechanics.joints import angle_column
from analytics.mechanics.limits import (
    WIDEST_STICKING_DEG,
    Range,
    Setup,
    drawn_limb,
    resolve,
)
from analytics.mechanics.maximum import DrawnLimit, drawn_limits, joint_limits
from analytics.mechanics.through import posture_gain

# An arm that cannot hold its own weight still needs a ratio. [kg]
LEAST_LOAD_KG = 0.1
OFTEN_FRAC = 0.2  # of draws in which another joint than the lead limits: worth saying
FEW_DRAWS = 120  # for the best posture: its median to 1 %, its interval to some 5 %


def _who_gives_way(variant: Variant, limits: Floats) -> str:
    """Say which joint limits, where the lead joint does not in every fifth draw."""
    free, other = variant.model.free, int(np.argmax(limits[1:])) + 1
    if not limits[1:].sum() >= OFTEN_FRAC:  # NaN where nothing is asked
        return ""
    share = f"in {limits[other]:.0%} of the draws" if limits[0] > 0 else "always"
    return f" The {free[other]} gives way before the {free[0]} {share}."


def _contradicted(variant: Variant, span: Range) -> str:
    """Say where measured people contradict the joint's strength, if the range goes."""
    joint = variant.model.joint
    if joint.contradicted_deg is None or joint.contradicted is None:
        return ""
    first, last = joint.contradicted_deg
    return f" {joint.contradicted}" if span[0] < last and span[1] > first else ""


def _sentence(variant: Variant, span: Range, angles: Floats, share_start: float) -> str:
    low, middle, high = angles
    first, last = span
    about = f"{variant.title}, {first:g}° to {last:g}°"
    if np.isnan(middle):
        return f"{about}: the resistance asks for nothing here; take a wider range."
    if high - low > WIDEST_STICKING_DEG:
        return (
            f"{about}: no single hardest angle; parameters allow {low:.0f}° to "
            f"{high:.0f}°."
        )
    if share_start >= 0.5:
        return (
            f"{about}: hardest at the start of the range; where it starts decides "
            "the load."
        )
    if middle >= last - 1:
        return f"{about}: hardest at the end of the range."
    interval = f"90 % interval {low:.0f}° to {high:.0f}°"
    return f"{about}: hardest near {middle:.0f}° ({interval})."


def hardest(
    variants: Sequence[str | Variant] | None = None,
    *,
    range_deg: Range | None = None,
    reference: Setup | str | None = None,
    n_draws: int = N_DRAWS,
    seed: int = SEED,
    body: Body | None = None,
) -> pd.DataFrame:
    """Where each variant is hardest, how much it allows, and how evenly.

    Parameters
    ----------
    variants : sequence of (str or Variant) or None
        Ids, or variants bent otherwise; those of the first movement with
        mechanics when None. Those of several movements are given against the reference
        of each.
    range_deg : tuple of float or None
        For all of them; each variant's own when None. [deg]
    reference : str, (str, range) or None
        Denominator of the ratio; the movement's reference in its own range when
        None.
    n_draws, seed : int
        Parameter draws over all muscle sets and curves.
    body : Body or None
        The default body when None.

    Returns
    -------
    table : DataFrame
        ``variant, range_from_deg, range_to_deg``, the joint's angle by
        `angle_column`, ``low_deg, high_deg``, the same with ``held_`` and ``slowest_``
        before, ``slowing_frac, limit_load_kg, limit_load_low_kg, limit_load_high_kg,
        best_posture_limit_load_kg, best_posture_limit_load_low_kg,
        best_posture_limit_load_high_kg, limited_by, limited_by_frac, limit_load_ratio,
        ratio_low, ratio_high, evenness, evenness_low, evenness_high, sentence``. Loads
        per working arm; medians with 90 % intervals. The hardest angle is where a
        slightly heavier lift stalls; held, where least can be held still; slowest,
        where a lift at 95 to 100 % of the moving limit has its least speed, if
        ``slowing_frac``, the share of draws that slow down and speed up again, is a
        half or more. An angle is NaN where its interval is wider than 40 degrees, and
        all numbers are where the resistance asks for nothing in the range. The best
        posture is that of `posture_gain`; ``limited_by`` is the joint that limits most
        often, in that share of the draws.

    Raises
    ------
    InputError
        If a variant or the range cannot be used.
    """
    if variants is None:
        variants = load_catalogue().modelled_in(main_movement({}))
    names = list(variants)
    if not names:
        raise InputError("no variant given; leave `variants` out for all")
    setups = [resolve((name, range_deg)) for name in names]
    families = list(dict.fromkeys(chosen.movement for chosen, _ in setups))
    table = pd.concat(
        _hardest(
            [x for x in setups if x[0].movement == family],
            reference=reference or load_catalogue().movements[family].reference,
            n_draws=n_draws,
            seed=seed,
            body=body,
        )
        for family in families
    )
    angle = angle_column(v for v, _ in setups)
    order = {chosen.variant: i for i, (chosen, _) in enumerate(setups)}
    table = table.sort_values("variant", key=lambda v: v.map(order), kind="stable")
    table = table.reset_index(drop=True)
    return table.rename(columns=lambda name: name.replace("joint_deg", angle))


def _hardest(
    setups: list[tuple[Variant, Range]],
    *,
    reference: Setup | str | None,
    n_draws: int,
    seed: int,
    body: Body | None,
) -> pd.DataFrame:
    """Rows of `hardest` of one movement."""
    base = resolve(reference or setups[0][0].variant)
    joint = base[0].model.joint
    arm = drawn_limb(joint, n_draws=n_draws, seed=seed, body=body)
    drawn = drawn_limits(arm, setups, details=True)
    # On its own: a bent reference variant keeps the name of the one it is set against.
    base_kg = drawn_limits(arm, [base], details=False)[base[0].variant, base[1]].load_kg
    few = drawn_limb(joint, n_draws=min(n_draws, FEW_DRAWS), seed=seed, body=body)
    fewer = drawn_limits(few, setups, details=False)
    rows = [
        _row(
            chosen,
            span,
            drawn[chosen.variant, span],
            base_kg,
            fewer[chosen.variant, span].load_kg,
            posture_gain(few, chosen, span),
        )
        for chosen, span in setups
    ]
    return pd.DataFrame(rows)


def _angles(name: str, angle_deg: Floats) -> dict[str, float]:
    """Median and interval of an angle; no median where the interval is wide."""
    low, middle, high = np.full(3, np.nan)
    if angle_deg.size:
        low, middle, high = low_middle_high(angle_deg)
    single = high - low <= WIDEST_STICKING_DEG
    return {
        f"{name}joint_deg": middle if single else np.nan,
        f"{name}low_deg": low,
        f"{name}high_deg": high,
    }


def _row(
    variant: Variant,
    span: Range,
    drawn: DrawnLimit,
    base: Floats,
    few_kg: Floats,
    gain: Floats,
) -> dict[str, object]:
    """One row of `hardest`; NaN where most draws know no limit."""
    load, angle, even = drawn.load_kg, drawn.stall_deg, drawn.evenness
    resisted = np.isfinite(load)
    kg, ratio, angles, evenness = np.full((4, 3), np.nan)
    limits = np.full(len(variant.model.free), np.nan)
    if resisted.mean() >= 0.5:
        values = np.array([load, load / base, angle, even])[:, resisted]
        kg, ratio, angles, evenness = low_middle_high(values, axis=1).T
        counts = np.bincount(drawn.joint[resisted], minlength=len(limits))
        limits = counts / counts.sum()
    most = int(np.argmax(limits))
    starts = float(np.mean(angle <= span[0] + 2))
    told = {
        "": angle[resisted],
        "held_": drawn.held_deg[resisted],
        "slowest_": drawn.slowest_deg[np.isfinite(drawn.slowest_deg)],
    }
    slowing = np.isfinite(drawn.slowest_deg).mean()
    if resisted.mean() < 0.5:
        told = dict.fromkeys(told, np.empty(0))
    elif slowing < 0.5:
        told["slowest_"] = np.empty(0)
    return {
        "variant": variant.variant,
        "range_from_deg": span[0],
        "range_to_deg": span[1],
        **{k: v for name, of in told.items() for k, v in _angles(name, of).items()},
        "slowing_frac": slowing,
        "limit_load_kg": kg[1],
        "limit_load_low_kg": kg[0],
        "limit_load_high_kg": kg[2],
        **_best_posture(kg, few_kg, gain),
        "limited_by": variant.model.free[most],
        "limited_by_frac": limits[most],
        "limit_load_ratio": ratio[1],
        "ratio_low": ratio[0],
        "ratio_high": ratio[2],
        "evenness": evenness[1],
        "evenness_low": evenness[0],
        "evenness_high": evenness[2],
        "sentence": _sentence(variant, span, angles, starts)
        + (_who_gives_way(variant, limits) if len(limits) > 1 else "")
        + _contradicted(variant, span),
    }


def limit_sentences(row: Mapping[str, Any], arms_share: float) -> list[str]:
    """Say the limit load on the catalogue's path and on the best one.

    Parameters
    ----------
    row : mapping
        Of `hardest`, with a limit.
    arms_share : float
        Working arms that share the logged load. [1]

    Returns
    -------
    sentences : list of str
        Loads as logged with 90 % intervals; one sentence where no posture is free.
    """

    def told(name: str) -> str:
        ends = [row[f"{name}{end}_kg"] for end in ("_low", "", "_high")]
        low, middle, high = load_as_logged(np.array(ends, dtype=float), arms_share)
        low = max(low, 0.0)  # below nothing: the limb alone is too heavy
        return f"{middle:.0f} kg as logged (90 % interval {low:.0f} to {high:.0f} kg)"

    sentences = [
        f"Limit load from {row['range_from_deg']:.0f}° to {row['range_to_deg']:.0f}°: "
        f"{told('limit_load')} for an average adult; per working limb "
        f"{row['limit_load_ratio']:.2f} ({row['ratio_low']:.2f} to "
        f"{row['ratio_high']:.2f}) of the reference variant's."
    ]
    gain = row["best_posture_limit_load_kg"] / row["limit_load_kg"] - 1
    if gain > 0:
        sentences.append(
            "With upper arm and trunk where they help most within what the exercise "
            f"leaves free: {told('best_posture_limit_load')}, {gain:.0%} more."
        )
    return sentences


def _best_posture(kg: Floats, few_kg: Floats, gain: Floats) -> dict[str, float]:
    """Limit load on the best posture path; never below that on the catalogue's."""
    low, middle, high = kg
    known = np.isfinite(few_kg) & (few_kg > 0) & np.isfinite(gain)
    if known.any() and np.any(gain[known] > 1):
        middle = middle * np.median(gain[known])
        # What the many draws say of the load, and the few of what posture adds to it.
        over = low_middle_high(few_kg[known] * gain[known])
        without = low_middle_high(few_kg[known])
        low, high = (kg[end] * over[end] / without[end] for end in (0, 2))
    name = "best_posture_limit_load"
    return {f"{name}_kg": middle, f"{name}_low_kg": low, f"{name}_high_kg": high}


def log_ratio_draws(
    setups: Sequence[Setup | str],
    *,
    reference: Setup | str,
    shape: str | Sequence[str] = "peaked",
    n_draws: int = 3000,
    seed: int = 1,
    person_frac: float = 1.0,
    body: Body | None = None,
) -> NDArray[np.float64]:
    """Draws of the log of limit load per working arm over the reference's.

    Parameters
    ----------
    setups : sequence of (str, range or None) or str
        Variants and ranges; a variant's own range when None; equal ends are a hold.
    reference : str or (str, range or None)
        Denominator.
    shape : str or sequence of str
        ``peaked`` or a rival, as in `reshaped`; several are quicker together.
    n_draws, seed : int
        Parameter draws over all muscle sets and curves; the same seed gives the
        same people for every shape.
    person_frac : float
        Factor on the spreads between persons: 1 for one lifter, less for the mean
        of a cohort. [1]
    body : Body or None
        The default body when None.

    Returns
    -------
    log_ratio : ndarray, shape (n_draws, n_setups)
        Natural logarithm; for several shapes, (n_shapes, n_draws, n_setups). Draws
        come in blocks, one per entry of `structures` (muscle set and curve) and in its
        order, as large as measured people make it likely. NaN where the resistance
        asks for nothing in the whole range. [1]

    Raises
    ------
    InputError
        If a variant, range or shape cannot be used.
    """
    chosen = [resolve(setup) for setup in setups]
    base = resolve(reference)
    shapes = [shape] if isinstance(shape, str) else list(shape)
    arms = [
        drawn_limb(
            base[0].model.joint,
            n_draws=n_draws,
            seed=seed,
            person_frac=person_frac,
            body=body,
            shape=one,
        )
        for one in shapes
    ]
    drawn = joint_limits(arms, [*chosen, base], details=False)
    every = (*chosen, base)
    loads = np.stack([drawn[v.variant, span].load_kg for v, span in every], axis=1)
    logs = np.log(np.maximum(loads, LEAST_LOAD_KG))
    ratios = np.asarray(logs[:, :-1] - logs[:, -1:])
    return ratios if isinstance(shape, str) else np.stack(np.split(ratios, len(shapes)))
