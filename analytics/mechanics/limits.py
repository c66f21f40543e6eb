"""Limit load, sticking angle, utilisation and evenness of one setup over a range."""

from __future__ import annotations

from analytics.catalogue import (
    Body,
    Joint,
    Variant,
    make_body,
)
from analytics.errors import InputError
from analytics.mechanics.joints import (
    Drawn,
    find_variant,
    joint_model,
)
from analytics.mechanics.weighing import weighed_draws

Range = tuple[float, float]
Setup = tuple[str | Variant, Range | None]

# A 90 % interval of the sticking angle wider than this names no single angle.
WIDEST_STICKING_DEG = 40.0


def checked_range(variant: Variant, range_deg: Range | None) -> Range:
    """Return the range asked for or the variant's own, or refuse it.

    Parameters
    ----------
    variant : Variant
        Whose default range stands in for None.
    range_deg : tuple of float or None
        First and last joint angle. [deg]

    Returns
    -------
    range_deg : tuple of float
        First and last joint angle. [deg]

    Raises
    ------
    InputError
        If it is reversed or outside the joint's grid.

    Notes
    -----
    Equal ends mean a hold at that angle.
    """
    if range_deg is None:
        return variant.model.range_deg
    first, last = (float(angle) for angle in range_deg)
    joint = variant.model.joint
    low, high = joint.grid_deg
    if not (low <= first <= high and low <= last <= high):
        raise InputError(
            f"range_deg must lie within {low:g} to {high:g}, beyond which strength is "
            f"not measured; got {first:g} to {last:g}"
        )
    if last < first:
        raise InputError(
            f"range_deg is reversed: {first:g} to {last:g}; a lift rises from the "
            f"smaller angle ({joint.axis})"
        )
    return first, last


def asks_nothing(variant: Variant, range_deg: Range) -> InputError:
    """Return the refusal of a range that no load makes hard."""
    return InputError(
        f"{variant.variant!r} asks for nothing from {range_deg[0]:g} to "
        f"{range_deg[1]:g} degrees; take a wider range_deg"
    )


def drawn_limb(
    joint: Joint,
    *,
    n_draws: int,
    seed: int | None,
    person_frac: float = 1.0,
    body: Body | None = None,
    shape: str = "peaked",
) -> Drawn:
    """Strength and demand of one joint under many draws."""
    body = body or make_body()
    draws = weighed_draws(
        n_draws, joint=joint, seed=seed, person_frac=person_frac, sex=body.sex
    )
    return joint_model(joint).drawn(draws, body=body, shape=shape)


def window_of(joint: Joint, range_deg: Range) -> slice:
    """Places of a range on the joint's grid."""
    start = round(joint.grid_deg[0])
    return slice(round(range_deg[0]) - start, round(range_deg[1]) - start + 1)


def resolve(setup: Setup | str) -> tuple[Variant, Range]:
    """Return variant and range of a setup, or refuse it."""
    name, span = (setup, None) if isinstance(setup, str) else setup
    chosen = find_variant(name)
    return chosen, checked_range(chosen, span)
