"""What is known and learned of repetitions at a load, from both sides."""

import numpy as np
import pandas as pd
import pytest
from strength_logs import LN_K, START, log, measured, together

from analytics.strength.model.contrasts import (
    contrasts,
    learn_relation,
    published,
    relation_sums,
)
from analytics.strength.model.observe import observe
from analytics.strength.model.relation import (
    PARAMETERS,
    exercise_class,
    gain_slopes,
    priors,
    repetitions_at,
)

RESERVE, KNOWN = priors("reserve"), priors("strength")


@pytest.mark.parametrize(
    ("words", "k"),
    [("leg_press", 50), ("knee_extension", 26), ("back_squat", 36), ("bench", 32),
     ("overhead_press", 32), ("standing_barbell_curl", 30), ("?", 30)],
)  # fmt: skip
def test_the_first_class_whose_word_stands_in_the_name_gives_k(words, k):
    assert float(exercise_class([words])["k"]) == k


@pytest.mark.parametrize(
    ("gain", "reps"), [(-0.1, 1), (0, 1), (np.log1p(9 / 30), 10), (5, 30)]
)
def test_repetitions_at_a_load_end_at_one_and_thirty(gain, reps):
    assert repetitions_at(gain, LN_K) == pytest.approx(reps)


# What a log must hold to teach the relation: one row for each rule, on the side that
# teaches and on the other. Two loads of 2 and 12 repetitions to failure.
def contrast(*, light=12.0, gap=7, n=3, off=0.0, k=27.0, rir=None):
    parts = []
    for reps, after in ((2.0, 0), (light, 3)):
        possible = reps + 0.25 if rir is None else reps + rir + 0.6
        load = 50 * k / (k + possible - 1)
        sets = log(
            np.arange(n) * gap + after,
            reps=reps,
            load=load,
            failed=rir is None,
            rir=np.nan if rir is None else rir,
        )
        parts.append(sets)
    made = together(*parts)
    made.loc[n:, "load_kg"] *= np.exp(off)
    return made.assign(set_id=[str(i) for i in range(len(made))])


def learned(sets):
    sets = sets.assign(
        performed_on=sets["performed_on"]
        + (pd.Timestamp("2025-01-16") - START)  # a window begins on 2025-01-16
    )
    seen = observe(sets).sets
    told = contrasts(
        seen,
        measured(seen),
        np.zeros(len(seen), dtype=np.int64),
        np.full(len(seen), LN_K),
        n_lifters=1,
    )
    relation = published(1, 0.33)
    found = learn_relation(relation, *told, sums=relation_sums(*told))
    return found.mean[0]


def posterior_of_contrasts(seen, now, *, common):
    """Mean and covariance of ln K, shape and bias by one dense regression.

    A level and a trend of each window, a form of each day twice the usual one, noise
    alike within a window; people about their cohort, the cohort about the published.
    """
    lifters = seen["lifter"].factorize()[0]
    window = (seen["date"] - pd.Timestamp("2025-01-16")).dt.days // 28
    window = seen.assign(window=window).groupby(["lifter", "window"]).ngroup()
    day, group = seen.assign(w=window).groupby(["w", "date"]).ngroup(), window.values
    level = [
        np.average(now.implied[group == g], weights=1 / now.variance[group == g])
        for g in group
    ]
    expected = repetitions_at(level - seen["log_load"].to_numpy(), LN_K)
    slopes = gain_slopes(expected, LN_K)
    called = (seen["kind"] == "rir").astype(float)
    called = called.groupby(lifters).transform("mean").to_numpy()
    week = seen["date"].to_numpy("datetime64[D]").astype(float) / 7
    of_window = np.eye(group.max() + 1)[group]
    week -= [week[group == g].mean() for g in group]
    noise = np.diag([now.variance[group == g].mean() for g in group])
    noise += (2 * KNOWN["day_sd"]) ** 2 * np.equal.outer(day.values, day.values)
    own = np.eye(lifters.max() + 1)[lifters]
    told = -np.column_stack([slopes[1], slopes[2], slopes[0] * called])
    design = np.hstack(
        [of_window, of_window * week[:, None]]
        + [own[:, [i]] * told for i in range(own.shape[1])]
    )
    relation, reserve = priors("relation"), RESERVE
    person = [relation["ln_k_person"], relation["shape_person"]]
    person = np.diag(np.square([*person, reserve["bias_person_sd"]]))
    cohort = [0.33, relation["shape_common"], reserve["bias_common_sd"]]
    cohort = np.diag(np.square(cohort)) * common
    n = own.shape[1]
    prior = np.kron(np.eye(n), person) + np.kron(np.ones((n, n)), cohort)
    skip, precision = 2 * of_window.shape[1], design.T @ np.linalg.solve(noise, design)
    precision[skip // 2 : skip, skip // 2 : skip] += np.eye(skip // 2) / 0.02**2
    precision[skip:, skip:] += np.linalg.inv(prior)
    cov = np.linalg.inv(precision)
    mean = cov @ design.T @ np.linalg.solve(noise, now.implied)
    return mean[skip:].reshape(n, 3), cov[skip:, skip:]


@pytest.mark.analytic
def test_contrasts_teach_what_one_regression_of_all_of_them_would():
    parts = [
        contrast(k=29.0).assign(lifter="A"),
        contrast(k=27.0, light=10.0).assign(lifter="A"),
        contrast(rir=2.0, light=9.0, k=31.0).assign(lifter="B"),
    ]
    parts[1]["performed_on"] += pd.Timedelta(days=28)
    parts[1].loc[3:, "performed_on"] -= pd.Timedelta(days=3)  # both on one day
    sets = together(*parts).assign(set_id=lambda x: x.index.astype(str))
    sets["performed_on"] += pd.Timestamp("2025-01-16") - START
    seen = observe(sets).sets
    now = measured(seen)
    lifter = seen["lifter"].factorize()[0]
    told = contrasts(seen, now, lifter, np.full(len(seen), LN_K), n_lifters=2)
    found = learn_relation(published(2, 0.33), *told, sums=relation_sums(*told))
    mean, _ = posterior_of_contrasts(seen, now, common=1)
    assert found.mean[:, :2] == pytest.approx(mean[:, :2], rel=1e-5)
    assert np.abs(mean[:, 0]).min() > 0.01
    _, alone = posterior_of_contrasts(seen, now, common=0)
    for i in (0, 1):
        own = alone[3 * i : 3 * i + 2, 3 * i : 3 * i + 2]
        assert found.levels.own_cov[i][:2, :2] == pytest.approx(own, rel=1e-5)


@pytest.mark.parametrize(
    ("sets", "teaches"),
    [
        (contrast(), True),
        # clearly other loads: four repetitions apart, expected and done
        (contrast(light=5.5), False),
        (contrast(light=7.0), True),
        # three days at least
        (contrast(n=2).iloc[[0, 2]], False),
        (contrast(n=2).iloc[:3], True),
        # at most fifteen repetitions
        (contrast(light=14.0), True),
        (contrast(light=22.0), False),
        # a freak day, beyond 0.12 of log strength, explains nothing
        (contrast(off=0.30), False),
        # one window is four weeks
        (contrast(gap=28, n=3), False),
        # near failure: at most three left by what the load lets expect
        (contrast(rir=2.0, light=9.0, k=29.0), True),
        (contrast(rir=3.0, light=9.0, k=29.0), False),
    ],
    ids=["plain", "near loads", "apart", "two days", "three days", "fourteen",
         "twenty-two", "freak", "other windows", "two called", "three called"],
)  # fmt: skip
def test_only_clear_contrasts_near_failure_teach_the_relation(sets, teaches):
    assert (learned(sets)[0] != 0) == teaches


def test_sets_far_from_failure_teach_nothing():
    # called 1 left, while by load and window five and more are left
    sets = contrast(rir=1.0)
    sets["reps"] = np.maximum(sets["reps"] - 5, 1)
    assert not learned(sets).any()


def test_contrasts_move_the_relation_towards_the_truth_and_nothing_else():
    steep, flat = (learned(contrast(k=k)) for k in (24.0, 38.0))
    assert steep[0] < -0.02 < 0.02 < flat[0]
    for found in (steep, flat):
        assert not found[2:].any()  # the bias and the rest keep their prior


@pytest.mark.parametrize(
    ("told", "kept"),
    [
        ((-0.79, -0.29), (-0.79, -0.29)),
        ((0.79, 0.59), (0.79, 0.59)),
        ((-0.81, -0.31), (-0.80, -0.30)),
        ((0.81, 0.61), (0.80, 0.60)),
    ],
)
def test_a_learned_relation_ends_where_people_and_equations_do(told, kept):
    exact = 1e7 * np.eye(3)[None]
    right = 1e7 * np.array([[*told, 0.0]])
    found = learn_relation(
        published(1, 0.33), exact, right, sums=relation_sums(exact, right)
    )
    assert found.mean[0, :2] == pytest.approx(kept, abs=1e-4)


@pytest.mark.analytic
def test_spreads_of_the_relation_are_those_of_people_and_cohorts():
    found = published(1, 0.33).levels
    person = [0.20, 0.05, 1.0, 1.2, 0.10, 0.25 / 3, 0.10]
    cohort = [0.33, 0.30, 0.9, 1.0, 0.10, 0.25, 0.25]
    assert np.sqrt(np.diag(found.own_cov[0])) == pytest.approx(person)
    assert np.sqrt(np.diag(found.common_cov)) == pytest.approx(cohort)
    assert len(PARAMETERS) == len(person)
