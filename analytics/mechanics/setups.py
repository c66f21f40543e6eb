"""Which adjustment of pulley, pad, bench and range matches strength most evenly.

A search over what the equipment allows, on the quasi-static model.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import permutations, product
from typing import Any

import numpy as np
import pandas as pd

from analytics.catalogue import (
    Anchored,
    Body,
    Gravity,
    Mechanics,
    Variant,
    load_catalogue,
    make_body,
)
from analytics.catalogue.fields import Knots
from analytics.errors import InputError
from analytics.intervals import low_middle_high
from analytics.mechanics.chain.rows import Rows, limit_load
from analytics.mechanics.curves import Floats
from analytics.mechanics.draws import N_DRAWS, SEED, structures
from analytics.mechanics.joints import find_variant, joint_model
from analytics.mechanics.limits import (
    WIDEST_STICKING_DEG,
    Range,
    checked_range,
    drawn_limb,
    resolve,
)
from analytics.mechanics.maximum import DrawnLimit, drawn_limits

Settings = tuple[tuple[str, float], ...]
COLUMNS = ["setting", "value", "evenness", "sticking_deg", "limit_load_ratio"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Match:
    """How well one setup matches: evenness over all muscle sets and curves.

    NaN where the resistance asks for nothing or the pulley is in the hand's way.
    """

    variant: Variant
    span: Range
    evenness: float


def search_setups(
    variant: str | Variant,
    *,
    range_deg: Range | None = None,
    body: Body | None = None,
) -> pd.DataFrame:
    """Find the adjustment whose resistance matches strength most evenly.

    Parameters
    ----------
    variant : str or Variant
        With a cable, band, pad or bench.
    range_deg : tuple of float or None
        First and last joint angle; when given it is kept, otherwise the range is the
        last setting searched. [deg]
    body : Body or None
        From `make_body`; the default body when None.

    Returns
    -------
    setups : DataFrame
        ``setting, value, evenness, sticking_deg, limit_load_ratio``. The first row is
        the setup as catalogued, setting ``as catalogued``; each further row changes one
        setting more, so that the last row is the most even setup and its value column
        read downward is the recipe. Settings: ``anchor_height_m, anchor_forward_m,
        pad_deg, bench_deg, range_from_deg, range_to_deg``. ``sticking_deg`` is NaN
        where its interval is wider than 40 degrees; it and the load are those of
        `hardest`, the ratio to the movement's reference variant, per working arm.

    Raises
    ------
    InputError
        If the variant has nothing to adjust, with those that have.

    Notes
    -----
    All combinations of the equipment's settings are tried in the given range, then all
    ranges of at least the least span at the best of them. Evenness is the mean
    utilisation under the load held, averaged over all muscle sets and curves.

    References
    ----------
    equipment_limits table.
    """
    chosen = _adjustable(variant)
    span = checked_range(chosen, range_deg)
    size = body or make_body()
    tried = {
        values: _match(_adjusted(chosen, values), span, size)
        for values in _combinations(chosen)
    }
    best = max(tried, key=lambda values: np.nan_to_num(tried[values].evenness))
    table = _Rows(chosen, size)
    rows = [table.row("as catalogued", np.nan, _match(chosen, span, size))]
    done: Settings = ()
    for name, value in _in_possible_steps(best, tried, chosen):
        done = (*done, (name, value))
        match = _match(_adjusted(chosen, done), span, size)
        rows.append(table.row(name, value, match))
    if range_deg is None:
        final = _adjusted(chosen, done)
        first, last = max(
            _ranges(), key=lambda r: np.nan_to_num(_match(final, r, size).evenness)
        )
        if _match(final, (first, last), size).evenness > rows[-1][2]:
            for name, ends in (
                ("range_from_deg", (first, max(span[1], first))),
                ("range_to_deg", (first, last)),
            ):
                match = _match(final, ends, size)
                value = ends[0] if name == "range_from_deg" else ends[1]
                rows.append(table.row(name, value, match))
    return pd.DataFrame(rows, columns=COLUMNS)


def _in_possible_steps(
    best: Settings, tried: dict[Settings, _Match], chosen: Variant
) -> Settings:
    """Order in which every step is a setup that can be used, where there is one."""
    usual = _catalogued(chosen)

    def usable(order: Settings) -> bool:
        steps = (dict(order[:n]) for n in range(1, len(order)))
        whole = (tuple((usual | step).items()) for step in steps)
        return all(np.isfinite(tried[values].evenness) for values in whole)

    return next(filter(usable, permutations(best)), best)


def sweep_setups(
    variant: str | Variant,
    *,
    range_deg: Range | None = None,
    body: Body | None = None,
) -> pd.DataFrame:
    """Each equipment setting over all it allows, the others as catalogued.

    Parameters
    ----------
    variant : str or Variant
        With a cable, band, pad or bench.
    range_deg : tuple of float or None
        First and last joint angle; the variant's own when None. [deg]
    body : Body or None
        The default body when None.

    Returns
    -------
    sweep : DataFrame
        Columns of `search_setups`, one row per setting and value; NaN where the
        resistance asks for nothing or the pulley comes too near the hand.

    Raises
    ------
    InputError
        If the variant has nothing to adjust, with those that have.
    """
    chosen = _adjustable(variant)
    span = checked_range(chosen, range_deg)
    size = body or make_body()
    table = _Rows(chosen, size)
    rows = [
        table.row(name, value, _match(_adjusted(chosen, ((name, value),)), span, size))
        for name, values in _settings(chosen).items()
        for value in values
    ]
    return pd.DataFrame(rows, columns=COLUMNS)


def _adjustable(variant: str | Variant) -> Variant:
    chosen = find_variant(variant)
    if _settings(chosen):
        return chosen
    others = [
        v.variant
        for v in load_catalogue().variants.values()
        if v.modelled and _settings(v)
    ]
    raise InputError(
        f"{chosen.variant!r} has no pulley, band, pad or bench to adjust; "
        f"those that have: {', '.join(others)}"
    )


@cache
def _limits(setting: str) -> tuple[float, ...]:
    """Every value the equipment allows for one setting."""
    table = load_catalogue().tables["equipment_limits"]
    at = table.columns["setting"].index(setting)
    least, greatest, step = (
        float(table.numbers(name)[at]) for name in ("least", "greatest", "step")
    )
    count = round((greatest - least) / step) + 1
    return tuple(float(x) for x in np.round(np.linspace(least, greatest, count), 6))


def _settings(variant: Variant) -> dict[str, tuple[float, ...]]:
    """Return the settings of a variant's equipment and all values each can take."""
    found: dict[str, tuple[float, ...]] = {}
    model, pull = variant.model, variant.model.resistance
    if isinstance(pull, Anchored):
        side = -1.0 if pull.anchor_forward_m < 0 else 1.0
        ahead = tuple(side * x for x in _limits("anchor_forward"))
        found["anchor_height_m"] = (pull.anchor_height_m, *_limits("anchor_height"))
        found["anchor_forward_m"] = (pull.anchor_forward_m, *ahead)
    if model.pad_deg is not None:
        found["pad_deg"] = (model.pad_deg, *_limits("pad"))
    if model.bench_deg is not None:
        found["bench_deg"] = (model.bench_deg, *_limits("bench"))
    return {name: tuple(sorted(set(values))) for name, values in found.items()}


def _catalogued(variant: Variant) -> dict[str, float]:
    """Give the settings as catalogued."""
    model, pull = variant.model, variant.model.resistance
    return {
        name: getattr(pull if name.startswith("anchor") else model, name)
        for name in _settings(variant)
    }


def _combinations(variant: Variant) -> Iterator[Settings]:
    settings = _settings(variant)
    for values in product(*settings.values()):
        yield tuple(zip(settings, values, strict=True))


def _ranges() -> list[Range]:
    ends, least = _limits("range_ends"), _limits("range_span")[0]
    return [(a, b) for a in ends for b in ends if b - a >= least]


def _adjusted(variant: Variant, values: Settings) -> Variant:
    """Return the variant with some settings changed; the arm follows pad and bench."""
    model = variant.model
    for name, value in values:
        if isinstance(model.resistance, Anchored) and name.startswith("anchor"):
            moved: dict[str, Any] = {name: value}
            changes: dict[str, Any] = {"resistance": replace(model.resistance, **moved)}
        elif name == "pad_deg":
            turned = value - (model.pad_deg or 0.0)
            changes = {"pad_deg": value, "path": _turned(model, turned)}
        else:  # the arm keeps hanging while the trunk turns with the bench
            trunk = (-1.0 if model.trunk_deg < 0 else 1.0) * (90.0 - value)
            path = _turned(model, trunk - model.trunk_deg)
            changes = {"bench_deg": value, "trunk_deg": trunk, "path": path}
        model = replace(model, **changes)
    return replace(variant, mechanics=model)


def _turned(model: Mechanics, shoulder_deg: float) -> Knots:
    return tuple((angle, shoulder + shoulder_deg) for angle, shoulder in model.path)


@cache
def _strengths(model: Mechanics) -> tuple[tuple[Any, ...], tuple[Any, ...]]:
    """Strength of each free joint on the grid, one row per muscle set and curve."""
    every = [
        joint_model(model.joint).able(
            model.joint.grid(), model=model, muscles=muscles, curve=curve
        )
        for muscles, curve in structures(model.joint)
    ]
    least, most = (
        tuple(np.stack(parts) for parts in zip(*sides, strict=True))
        for sides in zip(*every, strict=True)
    )
    return least, most


def _match(variant: Variant, span: Range, body: Body) -> _Match:
    model = variant.model
    grid = model.joint.grid()
    window = (grid >= round(span[0])) & (grid <= round(span[1]))
    angle = grid[window]
    load_arm, own = joint_model(model.joint).asked(angle, model=model, body=body)
    # What pulls changes no strength, so settings of a pulley share it.
    least, most = _strengths(replace(model, resistance=Gravity()))
    kept = range(len(load_arm))
    rows = Rows(
        joints=model.free,
        load_arm_m=load_arm,
        own_nm=own,
        least_nm=tuple(
            least[j][..., window] if least[j].ndim > 1 else -np.inf for j in kept
        ),
        most_nm=tuple(most[j][:, window] for j in kept),
    )
    load, _, _ = limit_load(rows, rows.largest())
    evenness = np.nan
    if np.isfinite(load).all() and _clear_of_hand(variant, angle, body):
        evenness = float(rows.utilisation(load[:, None]).mean())
    return _Match(variant=variant, span=span, evenness=evenness)


def _clear_of_hand(variant: Variant, angle_deg: Floats, body: Body) -> bool:
    """Whether pulley or anchor stays away from the hand through the range."""
    pull = variant.model.resistance
    if not isinstance(pull, Anchored):
        return True
    model = variant.model
    x_m, y_m = joint_model(model.joint).hand_m(angle_deg, model=model, body=body)
    away = np.hypot(x_m - pull.anchor_forward_m, y_m - pull.anchor_height_m)
    return bool(away.min() >= _limits("anchor_to_hand")[0])


class _Rows:
    """Rows of a table of setups, with limits as in `hardest`."""

    def __init__(self, variant: Variant, body: Body) -> None:
        movement = load_catalogue().movements[variant.movement]
        base, span = resolve(movement.reference or variant.variant)
        joint = base.model.joint
        self._arm = drawn_limb(joint, n_draws=N_DRAWS, seed=SEED, body=body)
        self._reference_kg = self._limit(base, span).load_kg

    def _limit(self, variant: Variant, span: Range) -> DrawnLimit:
        limits = drawn_limits(self._arm, [(variant, span)], details=True)
        return limits[variant.variant, span]

    def row(
        self, setting: str, value: float, match: _Match
    ) -> tuple[str, float, float, float, float]:
        """One row; NaN where the setup does not work."""
        if np.isnan(match.evenness):
            return setting, value, np.nan, np.nan, np.nan
        limit = self._limit(match.variant, match.span)
        low, middle, high = low_middle_high(limit.stall_deg)
        single = high - low <= WIDEST_STICKING_DEG
        ratio = float(np.nanmedian(limit.load_kg / self._reference_kg))
        at = float(middle) if single else np.nan
        return setting, value, match.evenness, at, ratio
