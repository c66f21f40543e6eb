"""How far sets and days scatter, and what is a slip, from both sides."""

from dataclasses import replace

import numpy as np
import pytest
from strength_logs import log, measured, together

from analytics.strength import fit_strength
from analytics.strength.model import outliers
from analytics.strength.model.observe import observe
from analytics.strength.model.relation import priors
from analytics.strength.model.series import make_rows, smooth_rows, walk_variance

REPS, KNOWN = priors("repetitions"), priors("strength")


@pytest.mark.analytic
@pytest.mark.parametrize(("weeks", "clock"), [(0, 0), (1, 1), (2, 2), (3, 5), (10, 26)])
def test_strength_drifts_thrice_as_fast_beyond_two_weeks_of_pause(weeks, clock):
    assert walk_variance(np.array(float(weeks))) == pytest.approx(0.019**2 * clock)


# Two told sets of one day, d standard deviations from their middle: up to 2.5 they
# count alike, beyond a set pulls no harder, so its share of the row falls.
@pytest.mark.parametrize(("off", "share"), [(2.4, 1 / 3), (2.6, 0.33), (10, 0.14)])
def test_a_set_far_off_its_day_pulls_no_harder(off, share):
    seen = observe(log([0, 0, 0], failed=True)).sets
    now = measured(seen)
    sd = now.variance[0] ** 0.5
    # two agree, so that the middle moves by a third of the pull of the third
    implied = now.implied + np.array([0, 0, 1.5 * off * sd])
    rows = make_rows(seen, replace(now, implied=implied))
    pulled = rows.implied[0] - now.implied[0]
    bounded = min(1.5 * off * sd / 3, 2.5 * sd / 2)
    assert pulled == pytest.approx(bounded, rel=1e-3)
    assert rows.set_share[2] == pytest.approx(pulled / (1.5 * off * sd), rel=1e-6)


def huber(kind, size):
    """Variance of the last row over its own, so many standard deviations off."""
    days = np.arange(0, 80, 4)
    told = {
        "below": {"failed": True, "reps": 0.5},
        "unreported": {},
        "told": {"rir": 1.0},
    }
    sets = together(log(days, rir=1.0), log([80], **told[kind]))
    seen = observe(sets).sets
    now = measured(seen)
    own = (now.variance + KNOWN["day_sd"] ** 2) ** 0.5
    level = now.implied[0]
    implied = np.append(np.full(20, level), level + size * own[-1])
    rows = make_rows(seen, replace(now, implied=implied))
    levels = smooth_rows(rows)
    noise = levels.noise_scale * own[-1]
    off = (implied[-1] - levels.mean[-1]) / noise
    return levels.site_variance[-1] / noise**2, off


@pytest.mark.parametrize(
    ("kind", "size", "bound"),
    [
        ("told", 2.0, np.inf),
        ("told", 8.0, 2.5),
        ("told", -8.0, 2.5),
        ("unreported", 8.0, 2.5),
        ("unreported", -0.9, np.inf),
        ("unreported", -4.0, 1.0),
        ("below", -8.0, 2.5),
    ],
)
def test_a_row_far_off_counts_with_a_wider_variance(kind, size, bound):
    widened, off = huber(kind, size)
    assert widened == pytest.approx(max(abs(off) / bound, 1), rel=1e-3)


def test_a_load_not_lifted_above_strength_says_nothing():
    # its variance of 4 is a hundred per cent and more of strength
    widened, _ = huber("below", 8.0)
    own = REPS["luck_log_sd"] ** 2 + KNOWN["day_sd"] ** 2
    assert widened == pytest.approx(4.0 / own, rel=0.5)


@pytest.mark.parametrize(("rows", "learned"), [(11, False), (12, True)])
def test_noise_is_learned_from_twelve_rows_on_and_never_below_the_published(
    rows, learned
):
    wild = 20 * np.exp(np.where(np.arange(rows) % 2, 0.12, -0.12))
    seen = observe(log(np.arange(rows) * 3, load=wild, failed=True)).sets
    assert (smooth_rows(make_rows(seen, measured(seen))).noise_scale > 1.2) == learned
    seen = observe(log(np.arange(rows) * 3, failed=True)).sets
    assert smooth_rows(make_rows(seen, measured(seen))).noise_scale < 1.2


# Slips of the pen.
@pytest.mark.parametrize(
    ("factor", "found"),
    [(1.55, False), (1.65, True), (1 / 1.55, False), (1 / 1.65, True), (16.0, True)],
)
@pytest.mark.parametrize(("n", "enough"), [(4, False), (5, True)])
def test_a_set_off_by_more_than_people_differ_is_implausible(factor, found, n, enough):
    sets = observe(log(np.arange(n) * 3, failed=True)).sets
    implied = np.zeros(n)
    implied[-1] = np.log(factor)
    # at the end of a series half of the fifteen neighbours are there
    off = outliers.implausible(sets, np.r_[implied])
    assert (off[-1] != 0) == (found and enough)
    assert not off[:-1].any()


def test_a_set_is_held_against_fifteen_around_it():
    sets = observe(log(np.arange(40) * 3, failed=True)).sets
    implied = np.repeat([0.0, 1.0], 20)  # a step; each has its own kind around it
    assert not outliers.implausible(sets, implied).any()
    implied = np.r_[np.zeros(17), np.ones(7), np.zeros(16)]
    assert outliers.implausible(sets, implied)[20] != 0  # seven of fifteen
    implied = np.r_[np.zeros(16), np.ones(8), np.zeros(16)]
    assert outliers.implausible(sets, implied)[20] == 0  # eight of fifteen


@pytest.mark.parametrize(
    ("factor", "words"),
    [
        (2.2046, "the other unit"),
        (2.2046 * 1.08, "the other unit"),
        (2.2046 * 1.12, None),
        (10.0, "decimal sign"),
        (11.3, "decimal sign"),
        (11.7, None),
        (8.7, "decimal sign"),
        (8.3, None),
    ],
)
def test_a_slip_is_called_by_its_size(factor, words):
    load = np.full(15, 20.0)
    load[7] *= factor
    told = fit_strength(log(np.arange(15) * 3, load=load, failed=True)).outliers[
        "sentence"
    ]
    assert len(told) == 1
    assert ("as if" in told[0]) == (words is not None)
    assert words is None or words in told[0]


@pytest.mark.parametrize(
    ("size", "gap_days", "found"),
    [(0.10, 3, 0), (0.30, 3, 1), (-0.30, 3, 1), (0.30, 21, 1), (0.30, 22, 0)],
)
def test_a_step_that_stays_is_found_within_three_weeks(size, gap_days, found):
    days = np.r_[np.arange(10) * 3, 27 + gap_days + np.arange(10) * 3]
    load = 20 * np.exp(np.repeat([0.0, size], 10))
    told = fit_strength(log(days, load=load, failed=True)).outliers["sentence"]
    assert len(told) == found
    assert not found or f"{100 * abs(np.expm1(size)):.0f} %" in told[0]
