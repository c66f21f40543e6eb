"""The largest load by the dual: beside a general solver, and where there is none."""

import numpy as np
import pytest
from scipy.optimize import linprog

from analytics.errors import InputError
from analytics.mechanics.chain.dual import largest_load


def random_chain(rng):
    """Moments, torques and muscles of one posture, some of them missing."""
    n, m = int(rng.integers(1, 4)), int(rng.integers(0, 7))
    own, per_load = rng.normal(0, 10, n), rng.normal(0, 4, n)
    torque = rng.uniform(0, 60, (2, n)) * (rng.random((2, n)) < 0.8)
    arms = rng.normal(0, 0.04, (m, n)) * (rng.random((m, n)) < 0.7)
    return own, per_load, -torque[0], torque[1], arms, rng.uniform(50, 1500, m)


def by_highs(own, per_load, least, most, arms, forces):
    """The same as a linear programme: joint torques and muscle forces as unknowns."""
    n, m = len(own), len(forces)
    cost = np.zeros(1 + n + m)
    cost[0] = -1
    balance = np.hstack([-per_load[:, None], np.eye(n), arms.T.reshape(n, m)])
    bounds = [(None, None), *zip(least, most, strict=True), *((0, f) for f in forces)]
    found = linprog(cost, A_eq=balance, b_eq=own, bounds=bounds, method="highs")
    # scipy: 2 infeasible, 3 unbounded
    return {0: lambda: -found.fun, 2: lambda: -np.inf, 3: lambda: np.inf}[
        found.status
    ]()


def by_dual(own, per_load, least, most, arms, forces):
    return largest_load(
        own, per_load, least_nm=least, most_nm=most, arms_m=arms, forces_n=forces
    )


@pytest.mark.external
def test_the_dual_is_the_linear_programme_on_random_chains():
    # SciPy's HiGHS; 1,000 chains of one to three joints and up to six muscles.
    rng, limited = np.random.default_rng(14), 0
    for _ in range(1000):
        chain = random_chain(rng)
        other, ours = by_highs(*chain), float(by_dual(*chain).load)
        np.testing.assert_allclose(ours, other, rtol=1e-9, atol=1e-9)
        limited += np.isfinite(other)
    assert 400 < limited < 1000  # both kinds are met


@pytest.mark.analytic
def test_prices_name_the_joint_and_the_muscles_at_their_limit():
    # Strong duality: the load is what is given at these prices, and every muscle that
    # has a positive price is driven fully, every one with a negative price not at all.
    rng = np.random.default_rng(15)
    for _ in range(200):
        own, per_load, least, most, arms, forces = chain = random_chain(rng)
        found = by_dual(*chain)
        if not np.isfinite(found.load):
            continue
        price = found.price()
        np.testing.assert_allclose(price @ per_load, 1, rtol=1e-9)
        worth = np.maximum(price * most, price * least).sum() - price @ own
        worth += forces[found.full(arms)] @ (arms @ price)[found.full(arms)]
        np.testing.assert_allclose(worth, found.load, rtol=1e-9, atol=1e-9)
        share = np.abs(price * per_load)
        assert share[found.joint(per_load)] == share.max()


@pytest.mark.analytic
def test_one_joint_is_strength_less_own_weight_over_the_load_arms():
    found = largest_load([4.0], [2.0], least_nm=[-10.0], most_nm=[30.0])
    assert found.load == 13
    pushed = largest_load([4.0], [-2.0], least_nm=[-10.0], most_nm=[30.0])
    assert pushed.load == 7
    helped = largest_load([4.0], [-2.0], least_nm=[-np.inf], most_nm=[30.0])
    assert helped.load == np.inf


@pytest.mark.analytic
def test_a_load_without_a_moment_has_no_limit_and_a_weak_joint_holds_none():
    nothing = largest_load([4.0], [0.0], least_nm=[-10.0], most_nm=[30.0])
    assert nothing.load == np.inf
    weak = largest_load([40.0], [0.0], least_nm=[-10.0], most_nm=[30.0])
    assert weak.load == -np.inf
    # the first joint needs at least 5 units of load, the second holds at most 2
    torn = largest_load(
        [-20.0, 0.0], [2.0, 5.0], least_nm=[-10.0, -10.0], most_nm=[30.0, 10.0]
    )
    assert torn.load == -np.inf


@pytest.mark.analytic
def test_postures_and_draws_are_worked_out_at_once():
    rng = np.random.default_rng(16)
    own, per_load = rng.normal(0, 10, (2, 3, 50)), rng.uniform(0.5, 4, (2, 3, 50))
    least, most = -rng.uniform(20, 60, (2, 3, 50)), rng.uniform(20, 60, (2, 3, 50))
    at_once = largest_load(own, per_load, least_nm=least, most_nm=most).load
    for place in np.ndindex(3, 50):
        at = (slice(None), *place)
        one = largest_load(own[at], per_load[at], least_nm=least[at], most_nm=most[at])
        np.testing.assert_allclose(at_once[place], one.load, rtol=1e-12)


def test_more_than_three_joints_are_refused():
    four = [1.0] * 4
    with pytest.raises(InputError, match="one to three joints, got 4"):
        largest_load(four, four, least_nm=four, most_nm=four)
