"""Every spread of a prediction that was taken from people."""

import math

import numpy as np
import pytest
from scipy import stats
from simulated_fits import HELD, REFERENCE

from analytics.catalogue import Setup, load_catalogue
from analytics.evidence.personal import _log_prior, _row
from analytics.evidence.predictions import person_frac, reading_sd, spreads_of
from analytics.evidence.spread import body_help_sd, model_sds, number, setup_cov
from analytics.mechanics import log_ratio_draws

# Covariance between variants: what they share of each source of spread.
COV = {"reading_sd": [0.0, 0.0], "model_sd": 0.03}


def shared(first, second, *, lifter=None, **changed):
    variants = load_catalogue().variants
    kinds = [variants[first], variants[second]]
    return setup_cov(kinds, lifter=lifter, **(COV | changed))


@pytest.mark.published
def test_supports_share_what_measured_people_lose_on_a_pad():
    # 79.69 over 88.51 N m on a pad and standing, ten men, over the 0.98 that the
    # models give at 90 degrees: log(0.900 / 0.98) = -0.085
    log_sd = -math.log(79.69 / 88.51 / 0.98)
    assert number("support", "log_sd") == pytest.approx(log_sd, abs=0.0005)
    for held in ("preacher_curl_90", "concentration_curl"):
        cov = shared("preacher_curl_0", held)
        assert cov[0, 1] == pytest.approx(log_sd**2, abs=1e-4)


@pytest.mark.published
def test_free_variants_share_what_moving_adds_to_the_help_of_the_body():
    # free over supported 1/0.900 at rest, 1/0.833 as one-repetition maxima:
    # log(0.900 / 0.833) = 0.077; between the eight lifters 0.12
    log_sd = math.log(0.900 / 0.833)
    assert body_help_sd(None) == pytest.approx(log_sd, abs=0.005)
    assert body_help_sd("R01") == pytest.approx(math.hypot(0.08, 0.12))
    assert shared("hammer_curl", "low_cable_curl")[0, 1] == pytest.approx(0.08**2)
    one = shared("hammer_curl", "low_cable_curl", lifter="R01")
    assert one[0, 1] == pytest.approx(0.08**2 + 0.12**2)


def test_what_holds_the_body_shares_nothing_with_what_does_not():
    for held in ("preacher_curl_45", "incline_curl_45", "concentration_curl"):
        assert shared(REFERENCE, held)[0, 1] == 0.0
    assert shared("preacher_curl_45", "incline_curl_45")[0, 1] == 0.0


@pytest.mark.analytic
def test_each_setup_has_its_own_part_of_the_model_term_and_of_a_station():
    # model 0.03, half of it shared within a variant; a cable 0.10, a reading as given
    bench = shared("incline_curl_45", "incline_curl_45", reading_sd=[0.0, 0.05])
    assert bench[0, 0] == pytest.approx(0.03**2)
    assert bench[0, 1] == pytest.approx(0.03**2 / 2)
    assert bench[1, 1] == pytest.approx(0.03**2 + 0.05**2)
    cable = shared("low_cable_curl", REFERENCE)
    assert cable[0, 0] - cable[1, 1] == pytest.approx(0.10**2)
    assert model_sds() == (0.03, 0.06, 0.12)


@pytest.mark.analytic
def test_body_help_cancels_between_free_setups_and_stays_against_a_support():
    # rank one: var(a - b) of two free setups has none of it, of free and pad all
    free = Setup(variant=REFERENCE)
    setups = [Setup(variant="standing_dumbbell_curl"), Setup(variant=HELD)]
    cohort, one = (
        spreads_of(setups, [free, free], np.zeros(2), lifter=lifter, seed=1)[0]
        for lifter in (None, "R01")
    )
    np.testing.assert_allclose(one - cohort, [[0, 0], [0, 0.12**2]], atol=1e-12)


@pytest.mark.parametrize(
    ("row", "log_sd"),
    [
        ("session", 0.0335),  # open trial log, 289 lifters on one machine
        ("specificity", 0.05),  # assumed; direction published
        ("posture", 0.10),  # assumed
    ],
)
def test_spreads_that_plans_and_failures_use_are_those_of_the_table(row, log_sd):
    assert number(row, "log_sd") == log_sd


def test_a_cohort_is_ten_specimens_and_a_lifter_one():
    assert person_frac(None) == pytest.approx(10**-0.5)
    assert person_frac("R01") == 1.0


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("setup", "step"),
    # assumed: 5 degrees of a variant's own range, 3 of one that was logged, and a
    # third of how far a free upper arm has drifted (about 37.5 degrees at 120)
    [
        (Setup(variant=HELD), 5.0),
        (Setup(variant=HELD, range_deg=(40.0, 120.0)), 3.0),
        (Setup(variant=REFERENCE, hold=(120.0, 90.0)), math.hypot(3, 0.35 * 37.5)),
    ],
)
def test_a_first_angle_is_known_to_so_many_degrees(setup, step):
    name = setup.variant
    first, last = setup.span or load_catalogue().variants[name].model.range_deg
    ends = [(a, a if first == last else last) for a in (first - step, first + step)]
    change = log_ratio_draws(
        [(name, span) for span in ends],
        reference=(name, (first, last)),
        n_draws=60,
        seed=1,
        person_frac=0.0,
    )
    assert reading_sd([setup], seed=1)[0] == pytest.approx(np.abs(change).mean())


@pytest.mark.parametrize(
    ("factor", "shift", "moved"),
    [(0.89, 0.0, True), (0.91, 0.0, False), (1.0, 1.01, True), (1.0, 0.99, False)],
)
def test_a_log_has_moved_a_prior_by_a_tenth_of_its_spread_or_all_of_it(
    factor, shift, moved
):
    prior = stats.norm.ppf((np.arange(2000) + 0.5) / 2000)
    even = np.full(2000, 1 / 2000)
    sd = prior.std()
    row = _row("scale", "1", prior, even, factor * prior + shift * sd, even)
    assert row["moved"] == moved


@pytest.mark.analytic
def test_priors_of_a_personal_curve_are_those_of_the_table():
    # normal (1, 0.5) without its constant
    assert _log_prior(2.0) == pytest.approx(
        stats.norm(1, 0.5).logpdf(2.0) - stats.norm(1, 0.5).logpdf(1.0)
    )
    assert number("personal", "scale_log_sd") == 0.35
