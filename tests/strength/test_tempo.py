"""A logged tempo: read as the trade writes it, and nothing without one."""

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from strength_logs import log, together

from analytics.strength import fit_strength
from analytics.strength.model.relation import priors
from analytics.strength.model.tempo import at_usual_tempo, moving_s, slowness


# Common practice, no source: seconds down, pause, up, pause.
@pytest.mark.trade
@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("3-1-1-0", 4), ("3110", 4), ("31X0", 4), ("4/0/2", 6), ("2 : 0 : 2", 4),
        ("5-1", 6), ("10-0-10-0", 20), ("3-1-1-0 s", 4), ("x-0-x", 2),
    ],
)  # fmt: skip
def test_tempos_are_read_as_they_are_written(text, seconds):
    assert moving_s(pd.Series([text]))[0] == seconds


@pytest.mark.parametrize("text", ["", "slow", "3", "12", "3-1-1-0-2", "fast 2-0-1"])
def test_other_words_tell_no_seconds_and_change_nothing(text):
    assert np.isnan(moving_s(pd.Series([text]))[0])
    assert slowness(pd.Series([text]))[0] == 0


@pytest.mark.published
def test_the_cost_of_a_slow_tempo_is_that_of_the_study():
    # Leg extension, 9 people, Rev Bras Med Esporte 2007, 13(5): 80 % of the maximum
    # 9.4 (SD 1.9) at 80 and 5.9 (0.9) at 25 deg/s; 60 %: 16.3 (3.9) and 8.8 (1.3).
    cost = priors("tempo")["exponent_mean"] * np.log(80 / 25)
    assert_allclose(at_usual_tempo([5.9, 8.8], cost), [9.4, 16.3], rtol=0.08)
    usual = priors("tempo")["usual_s"]
    slowest = slowness(pd.Series(["30-0-30"]))[0]
    assert slowest == pytest.approx(np.log(80 / 25), rel=1e-3)
    assert slowness(pd.Series([f"{usual - 1:g}-0-1", "x-0-x"])).tolist() == [0, 0]


def _log(**more):
    return log(np.arange(0, 70, 7), rir=1.0, **more)


@pytest.mark.analytic
def test_nothing_changes_without_a_tempo():
    sets = together(_log(), log(np.arange(3, 70, 7), 5.0, 23.0, failed=True))
    plain = fit_strength(sets)
    for words in ("", None, "controlled", "2-0-1-0"):
        other = fit_strength(sets.assign(tempo=words))
        pd.testing.assert_frame_equal(other.trend, plain.trend, check_exact=True)
        pd.testing.assert_frame_equal(other.relation, plain.relation)


@pytest.mark.analytic
def test_a_slow_tempo_tells_more_strength_and_less_exactly():
    plain, slow = (fit_strength(_log(tempo=t)) for t in ("2-0-1-0", "4-0-2-0"))
    one, other = (fit.trend.iloc[-1] for fit in (plain, slow))
    # Eight and the reserve are 9.6 repetitions, at twice the seconds 1 + 8.6 * 2^0.52.
    reps, cost = 9.6, 0.52 * np.log(2)
    gain = np.log((30 + at_usual_tempo(reps, cost) - 1) / (30 + reps - 1))
    assert other.log_strength - one.log_strength == pytest.approx(gain, rel=0.03)
    assert other.log_sd > one.log_sd
    # By no more sets than one does it become better known: it is one unknown for all.
    by_tempo = np.sqrt(other.log_sd**2 - one.log_sd**2)
    few = [fit_strength(_log(tempo=t).head(3)) for t in ("2-0-1-0", "4-0-2-0")]
    short = [fit.trend.iloc[-1].log_sd for fit in few]
    assert by_tempo == pytest.approx(np.sqrt(short[1] ** 2 - short[0] ** 2), rel=0.05)


@pytest.mark.analytic
def test_what_a_tempo_did_is_said():
    fit = fit_strength(together(_log(tempo="4-0-2"), _log(tempo="slow", lifter="B")))
    said = fit.reasons.groupby("lifter")["sentence"].agg(" ".join)
    assert "10 at a slow tempo" in said["A"]
    assert "`slow`" in said["B"]
