"""One lifter's own curve: what the log says about it beyond the published prior."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from analytics.catalogue import Setup, load_catalogue
from analytics.evidence.comparison import Comparison, draw_weights, log_densities
from analytics.evidence.features import plateau_width
from analytics.evidence.observe import Observed
from analytics.evidence.say import personal_sentence
from analytics.evidence.spread import number
from analytics.intervals import QUANTILES
from analytics.mechanics import LEVERAGE, strength_at_angle
from analytics.mechanics.limits import drawn_limb, resolve
from analytics.mechanics.maximum import drawn_limits
from analytics.table_schema import column_names

Array = NDArray[np.float64]

PUBLISHED = 1.0  # length sensitivity of the published curve; 0 is leverage alone
SENSITIVITY_GRID = np.linspace(-1.0, 3.0, 41)
MOVED_FRAC = 0.9  # posterior over prior spread below which the log has spoken


def personal_curve(
    seen: Observed,
    comparison: Comparison | None,
    *,
    n_draws: int,
    seed: int,
) -> pd.DataFrame:
    """Peak angle, width, length sensitivity and scale of one lifter's curve.

    Parameters
    ----------
    seen : Observed
        Of one lifter: the reference, and the last strength there.
    comparison : Comparison or None
        The lifter's ratios and predictions for one person.
    n_draws, seed : int
        Those of ``comparison``, so that draws are the same people.

    Returns
    -------
    table : DataFrame
        One row per quantity: prior and posterior with 90 % intervals, ``sd_ratio``
        (posterior over prior standard deviation), ``moved`` and a sentence. Empty for
        a cohort, and where the reference or a comparison is missing.

    Notes
    -----
    Peak and width: the parameter draws, weighed by how well they predict the
    lifter's ratios. Length sensitivity k: log ratios (1 - k) leverage + k peaked, on a
    grid under a normal prior (1, 0.5; assumed). Scale: strength over the modelled
    limit load, from the weighed draws.
    """
    if seen.now is None or comparison is None or seen.reference is None:
        return pd.DataFrame()
    (log_strength, log_sd), reference = seen.now, seen.reference
    weights = draw_weights(comparison)
    even = np.full(n_draws, 1.0 / n_draws)
    joint = load_catalogue().variants[reference.variant].model.joint
    grid = np.arange(joint.curve_deg[0], joint.curve_deg[1] + 1)
    relative = strength_at_angle(
        grid, variant=reference.variant, n_draws=n_draws, seed=seed
    )
    log_relative = np.log(relative)
    sensitivity, posterior = _sensitivity(comparison)
    before = np.exp(_log_prior(sensitivity))
    rng = np.random.default_rng(seed)
    log_scale = (
        log_strength
        + log_sd * rng.standard_normal(n_draws)
        - np.log(_limit_loads(reference, n_draws=n_draws, seed=seed))
    )
    prior_scale = np.exp(
        number("personal", "scale_log_sd") * rng.standard_normal(n_draws)
    )
    peak = grid[log_relative.argmax(axis=1)]
    width = plateau_width(grid, log_relative)
    parts = [
        ("peak_deg", "deg", peak, even, peak, weights),
        ("width_deg", "deg", width, even, width, weights),
        (
            "length_sensitivity",
            "1",
            sensitivity,
            before / before.sum(),
            sensitivity,
            posterior,
        ),
        ("scale", "1", prior_scale, even, np.exp(log_scale), weights),
    ]
    return pd.DataFrame(
        [_row(*part) for part in parts], columns=column_names("personal_curve")
    )


def _sensitivity(comparison: Comparison) -> tuple[Array, Array]:
    """Grid of length sensitivity and its posterior over all draws."""
    comparison = comparison.settled("peaked")
    total = comparison.cov + comparison.spread
    log_posterior = []
    for k in SENSITIVITY_GRID:
        parts = [
            log_densities(
                comparison.observed,
                total,
                (1 - k) * comparison.draws[LEVERAGE][one]
                + k * comparison.draws["peaked"][one],
            )
            for one in comparison.structures
        ]
        likelihood = special.logsumexp(np.concatenate(parts))
        log_posterior.append(likelihood + _log_prior(k))
    return SENSITIVITY_GRID, np.asarray(special.softmax(log_posterior))


def _log_prior(sensitivity: Any) -> Any:
    sd = number("personal", "length_sensitivity_sd")
    return -0.5 * ((sensitivity - PUBLISHED) / sd) ** 2


def _limit_loads(reference: Setup, *, n_draws: int, seed: int) -> Array:
    variant, span = resolve((reference.variant, reference.span))
    limb = drawn_limb(variant.model.joint, n_draws=n_draws, seed=seed)
    drawn = drawn_limits(limb, [(variant, span)], details=False)
    return drawn[variant.variant, span].load_kg.clip(min=0.1)


def _quantiles(values: Array, weights: Array) -> tuple[float, float, float, float]:
    """Median, ends of the 90 % interval and standard deviation."""
    order = np.argsort(values)
    # Midpoints of the steps, so that a grid and a sample are read alike.
    at = np.cumsum(weights[order]) - 0.5 * weights[order]
    low, middle, high = np.interp(QUANTILES, at, values[order])
    mean = weights @ values
    return middle, low, high, float(np.sqrt(weights @ (values - mean) ** 2))


def _row(
    name: str, unit: str, prior: Array, even: Array, posterior: Array, weights: Array
) -> dict[str, object]:
    before, before_low, before_high, before_sd = _quantiles(prior, even)
    value, low, high, sd = _quantiles(posterior, weights)
    moved = sd < MOVED_FRAC * before_sd or abs(value - before) > before_sd
    return {
        "quantity": name,
        "unit": unit,
        "prior": before,
        "prior_low": before_low,
        "prior_high": before_high,
        "value": value,
        "low": low,
        "high": high,
        "sd_ratio": sd / before_sd,
        "moved": bool(moved),
        "sentence": personal_sentence(
            name,
            unit,
            (value, low, high),
            (before, before_low, before_high),
            moved=bool(moved),
        ),
    }
