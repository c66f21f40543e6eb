"""What a lifter withholds is in no figure that is made for others."""

import re

import numpy as np
import pandas as pd
import pytest

from analytics import reports, strength
from analytics import store as stored
from analytics.errors import ReleaseRefusedError
from analytics.reports.disclosure import SMALLEST_CELL
from analytics.reports.reader import DIGITS
from analytics.store import Asking, Store

READER, GONE = "R02", "R05"


@pytest.fixture
def withheld(sample_copy) -> Store:
    stored.withhold(sample_copy, GONE, True)
    return sample_copy


def seen(store: Store, asking: Asking, reader: str) -> strength.StrengthFit:
    """What a reader's pages and report are made of."""
    of = stored.for_reader(store.asked_by(asking), reader)
    return reports.seen_by(strength.fitted(of), reader)


@pytest.mark.parametrize(
    "asking",
    [
        Asking("anna@club.test", "lifter", (READER,)),
        Asking("kim@club.test", "coach", (READER, GONE)),
        Asking(),
    ],
    ids=lambda asking: asking.role,
)
def test_others_see_the_cohort_as_if_the_withheld_log_were_not_there(
    asking, sample_store, withheld, tmp_path
):
    of_all = seen(Store(sample_store), asking, READER)
    told = seen(withheld, asking, READER)
    stored.forget(withheld, GONE)
    expected = seen(withheld, asking, READER)
    for name in ("ratios", "personal", "trend", "last", "slopes"):
        pd.testing.assert_frame_equal(getattr(told, name), getattr(expected, name))
    assert (told.hyper, told.n_lifters) == (expected.hyper, expected.n_lifters)
    assert not told.trend.equals(of_all.trend)  # so it was worth leaving out


def test_who_withholds_still_sees_the_own_log(sample_store, withheld):
    asking = Asking("bo@club.test", "lifter", (GONE,))
    before, now = (seen(Store(s), asking, GONE) for s in (sample_store, withheld.path))
    assert now.n_obs == before.n_obs > 0
    pd.testing.assert_frame_equal(now.trend, before.trend)


def test_a_coach_still_sees_a_withheld_log_of_the_own_lifters(withheld):
    coach = withheld.asked_by(Asking("kim@club.test", "coach", (READER, GONE)))
    assert set(stored.lifters(coach)["lifter"]) == {READER, GONE}


@pytest.mark.long
def test_a_printed_report_leaves_the_withheld_log_out(withheld):
    page = _without_ids(reports.report_html(withheld, READER))
    stored.forget(withheld, GONE)
    assert _without_ids(reports.report_html(withheld, READER)) == page


def _without_ids(page: str) -> str:
    """Leave out the numbers of figures' parts, which count up in a process."""
    return re.sub(r"\b(clip|gradient_)\d+", r"\1", page)


def test_tables_before_and_after_one_withholds_are_not_both_released(
    sample_copy, tmp_path
):
    reports.write_tables(sample_copy, tmp_path / "one")
    stored.withhold(sample_copy, GONE, True)
    with pytest.raises(ReleaseRefusedError, match="sets of 1 lifters"):
        reports.write_tables(sample_copy, tmp_path / "two")
    stored.withhold(sample_copy, GONE, False)
    reports.write_tables(sample_copy, tmp_path / "two")


# The cohort's ratio is a mean of at least eleven before and ten after, each rounded to
# DIGITS: uniform errors of half a digit, of which n and n - 1 times are subtracted.
@pytest.mark.analytic
def test_two_looks_at_the_cohort_tell_the_ratio_of_one_who_left_to_7_percent():
    rng, n = np.random.default_rng(1), SMALLEST_CELL + 1
    ratios = rng.normal(0.65, 0.05, (20_000, n))
    before = ratios.mean(axis=1).round(DIGITS)
    after = ratios[:, 1:].mean(axis=1).round(DIGITS)
    error = n * before - (n - 1) * after - ratios[:, 0]
    digit_sd = 10.0**-DIGITS / np.sqrt(12)
    assert error.std() == pytest.approx(np.hypot(n, n - 1) * digit_sd, rel=0.03)
    assert error.std() > 0.06 * 0.65
