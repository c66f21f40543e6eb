"""How a set enters the repetition relation, and whether a fit comes to rest."""

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from strength_generator import simulate

from analytics.strength import fit_strength
from analytics.strength.repetitions import repetition_curve
from analytics.strength.terms import CURVE_TERMS, entered_repetitions, implied_near


def moved(fit, other):
    """Difference of log strength, day by day, in standard deviations."""
    both = fit.trend.merge(other.trend, on=["lifter", "setup", "date"])
    off = both.log_strength_y - both.log_strength_x
    return np.abs(off / both.log_sd_x).to_numpy()


@pytest.mark.analytic
def test_beyond_the_expected_repetitions_a_set_follows_the_lifters_own_relation():
    # own relation g + 0.2 g: at the expected 8 reps the difference is in the terms,
    # two reps more are worth 1.2 times what they are on the mean relation
    mean = repetition_curve().mean
    effects = np.zeros((2, len(CURVE_TERMS)))
    effects[:, 0] = 0.2
    gain, steeper = implied_near(np.array([8.0, 10.0]), np.full(2, 8.0), effects)
    assert_allclose(gain[0], mean(8), rtol=1e-12)
    assert_allclose(gain[1] - gain[0], 1.2 * (mean(10) - mean(8)), rtol=1e-12)
    assert_allclose(steeper, 1.2, rtol=1e-12)


@pytest.mark.analytic
def test_unmarked_sets_enter_at_the_mean_of_the_lifters():
    reps = np.array([5.0, 6.0, 12.0, 9.0])
    kind = np.array(["failure", "floor", "floor", "floor"])
    found = entered_repetitions(
        repetition_curve().mean(reps), kind=kind, lifter=np.array([0, 0, 0, 1])
    )
    # 6 and 12 of one lifter have the mean 9; the grid between reps is 0.05
    assert_allclose(found, [5, 9, 9, 9], atol=0.01)


@pytest.mark.trade
def test_straight_unmarked_sets_say_no_more_than_the_best_of_them():
    # common practice, no source: straight sets are planned with the same reps, so
    # their agreement is no evidence
    sets = simulate(12, lifters=3, weeks=8).sets
    unmarked = sets[sets.rir.isna() & ~sets.failed]
    again = unmarked.assign(set_id=unmarked.set_id + "-again")
    fewer = again.assign(set_id=again.set_id + "-fewer", reps=again.reps - 1)
    more = pd.concat([sets, again, fewer[fewer.reps > 0]], ignore_index=True)
    fit, other = fit_strength(sets), fit_strength(more)
    assert moved(fit, other).max() < 0.1
    wider = other.trend.log_sd / fit.trend.log_sd
    assert_allclose(wider, 1, rtol=0.02)


@pytest.mark.parametrize(
    ("relation", "printed"), [("brzycki", True), ("wathan", False), ("lombardi", True)]
)
def test_a_fit_settles_and_further_climbing_moves_it_little(relation, printed):
    sets = simulate(13, lifters=6, weeks=10, relation=relation, printed=printed).sets
    fit = fit_strength(sets)
    further = fit_strength(sets, start=fit.theta)
    assert fit.converged
    assert moved(fit, further).max() < 0.1
