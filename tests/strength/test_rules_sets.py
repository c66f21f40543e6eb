"""What each set says of strength, from both sides of where a number decides."""

import numpy as np
import pytest
from scipy import stats
from strength_logs import LN_K, log, measured

from analytics.strength.model.observe import observe
from analytics.strength.model.outcome import (
    habit,
    outcomes,
    prior_mean,
    tiredness,
)
from analytics.strength.model.relation import (
    PARAMETERS,
    log_gain,
)
from analytics.strength.model.sides import level_sides


def said(**more):
    """What one set says."""
    seen = observe(log([0], **more)).sets
    return measured(seen), seen


# The kinds of a set, by what was told of its end.
@pytest.mark.parametrize(
    ("told", "kind"),
    [
        ({"failed": True}, "failure"),
        ({"failed": True, "reps": 1.0}, "failure"),
        ({"failed": True, "reps": 0.5}, "below"),
        ({"failed": True, "reps": 0.0}, "below"),
        ({"rir": 0.0}, "rir"),
        ({"rir": 4.0}, "rir"),
        ({"rir": 4.5}, "far"),
        ({}, "unreported"),
    ],
)
def test_how_a_set_ended_decides_its_kind(told, kind):
    assert said(**told)[1]["kind"].tolist() == [kind]


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"load_kg": 0.0}, "no load above 0 kg"),
        ({"load_kg": 0.5}, None),
        ({"reps": np.nan}, "no number of reps"),
        ({"reps": 0.5}, "less than one rep, not to failure"),
        ({"reps": 0.5, "failed": True}, None),
        ({"reps": 1.0}, None),
        ({"body_share": 1.0, "body_mass_kg": np.nan}, "body mass unknown"),
        ({"body_share": 0.0, "body_mass_kg": np.nan}, None),
    ],
)
def test_a_set_that_cannot_be_used_says_why(changes, reason):
    two = log([0, 1]).assign(body_share=0.0, body_mass_kg=70.0)
    for column, value in changes.items():
        two.loc[1, column] = value
    told = observe(two).unusable["sentence"].tolist()
    assert len(told) == (reason is not None)
    assert reason is None or reason in told[0]


# Beside 24 kg for 8 with 2 left an unmarked set of 8 shows less up to 25.3 kg.
@pytest.mark.parametrize(
    ("rir", "load", "kind"),
    [
        (2.0, 25.2, "outdone"),
        (2.0, 25.4, "unreported"),
        (np.nan, 24.1, "unreported"),
        (np.nan, 23.9, "outdone"),
        (np.nan, 24.0, "outdone"),
    ],
)
def test_an_unmarked_set_counts_where_it_shows_more_than_the_others(rir, load, kind):
    seen = observe(log([0, 0], load=[24.0, load], rir=[rir, np.nan])).sets
    assert seen.set_index("set_id").loc["A1", "kind"] == kind


# Repetitions that could have been done, by hand from strength_priors.toml.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("told", "possible"),
    [
        # a call, whatever it is, is off by the whole published bias
        ({"rir": 0.0}, 8 + 0.6),
        ({"rir": 1.0}, 8 + 1 + 0.6),
        ({"rir": 3.0}, 8 + 3 + 0.6),
        # from twelve on 0.47 more for each repetition beyond, as far as any was called
        ({"rir": 4.0}, 8 + 4 + 0.6),
        ({"rir": 2.0, "reps": 11.0}, 11 + 2 + 0.6 + 0.47),
        ({"rir": 2.0, "reps": 16.0}, 16 + 2 + 0.6 + 2 * 0.47),
        # half of the next repetition's half is done when one fails
        ({"failed": True}, 8 + 0.25),
        ({"failed": True, "reps": 0.0}, 1.0),
        # a normal reserve known not to be negative: 2 (SD 1.6), and 0.3 and 0.5 of
        # what was called far from failure
        ({}, 8 + stats.truncnorm(-2 / 1.6, np.inf, 2.0, 1.6).mean()),
        (
            {"rir": 6.0},
            8 + 6 + 0.6 + 2 * 0.47 + stats.truncnorm(-0.6, np.inf, 1.8, 3.0).mean(),
        ),
    ],
)
def test_what_could_have_been_done_is_done_told_and_published_error(told, possible):
    now, seen = said(**told)
    assert now.repetitions[0] == pytest.approx(possible, rel=2e-3)
    strength = seen["log_load"][0] + log_gain(possible, LN_K)
    assert now.implied[0] == pytest.approx(strength, abs=2e-4)


# One repetition at ten of K = 30 is 1/39 of strength.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("told", "own_sd"),
    [
        ({"failed": True}, 0.0),
        ({"rir": 0.0}, 1.1),
        ({"rir": 4.0}, 1.1),
        ({"rir": 6.0}, 1.1),
        ({"rir": 1.5, "rir_half": 0.5}, np.hypot(1.1, 1 / np.sqrt(12))),  # a uniform's
        ({"rir": 3.0, "rir_half": 1.0}, np.hypot(1.1, 2 / np.sqrt(12))),
        ({}, stats.truncnorm(-2 / 1.6, np.inf, 2.0, 1.6).std()),
    ],
)
def test_how_exact_a_set_is_hangs_on_how_it_ended_alone(told, own_sd):
    wanted = 0.025**2 + (own_sd / 39) ** 2
    for reps in (4.0, 12.0):
        assert said(**told | {"reps": reps})[0].variance[0] == pytest.approx(
            wanted, rel=5e-3
        )


@pytest.mark.parametrize(("marked", "usual"), [(4, 2.0), (5, 1.0)])
def test_a_habit_is_taken_from_five_marked_sets_on(marked, usual):
    rir = np.where(np.arange(10) < marked, 1.0, np.nan)
    assert set(habit(observe(log(range(10), rir=rir)).sets)) == {usual}


# n sets before cost n c / (1 + n c / 2), at most 2, and all of a day share the mean.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("sets", "failed", "cost"),
    [
        (1, True, 0.0),
        (2, True, np.mean([0, 2 / 3])),
        (3, True, np.mean([0, 2 / 3, 1])),
        (2, False, np.mean([0, 0.16 / 1.08])),
        (60, True, np.mean([n / (1 + n / 2) for n in range(60)])),
    ],
)
def test_earlier_sets_tire_less_and_less_and_never_more_than_two(sets, failed, cost):
    seen = observe(log([0] * sets, failed=failed, rir=np.nan if failed else 1.0)).sets
    assert tiredness(seen) == pytest.approx(np.full(sets, cost))
    assert cost < 2


def test_a_load_that_did_not_move_tires_and_shows_nothing_of_being_tired():
    # the second of three did not move: one before the third, and the mean of two
    seen = observe(log([0] * 3, failed=True, reps=[8.0, 0.0, 8.0])).sets
    assert tiredness(seen) == pytest.approx(np.full(3, np.mean([0, 2 / 3])))


# Small steps of each parameter, for sets of every kind.
@pytest.mark.analytic
@pytest.mark.parametrize("parameter", range(len(PARAMETERS)))
def test_slopes_are_the_change_with_each_parameter(parameter):
    seen = observe(
        log(
            range(5),
            reps=[8.0, 8.0, 8.0, 12.0, 0.0],
            rir=[2.0, np.nan, 6.0, np.nan, np.nan],
            failed=[False, False, False, True, True],
        )
    ).sets

    def at(step):
        parameters = prior_mean(np.full(len(seen), LN_K))
        parameters[:, parameter] += step
        n = np.full(len(seen), 0.7)
        return outcomes(seen, parameters, tired=n, usual=np.full(len(seen), 2.0))

    steps = (at(1e-4).implied - at(-1e-4).implied) / 2e-4
    found = at(0.0).slopes[:, parameter]
    # a load not lifted is at its floor of one repetition; what an unmarked set leaves
    # is taken to move with its mean, truncated or not
    kept = seen["reps"] >= 1
    if PARAMETERS[parameter] == "unmarked":
        kept &= seen["kind"] != "unreported"
    assert found[kept] == pytest.approx(steps[kept], rel=1e-4, abs=1e-9)


def test_what_unmarked_sets_leave_beyond_the_usual_is_added_to_it():
    seen = observe(log([0])).sets
    parameters = prior_mean(np.array([LN_K]))
    parameters[:, PARAMETERS.index("unmarked")] = 1.0
    now = outcomes(seen, parameters, tired=np.zeros(1), usual=np.full(1, 2.0))
    assert now.implied == pytest.approx(measured(seen, usual=3.0).implied)


def test_tiredness_of_one_set_before_costs_the_published_share():
    # 0.36 x 2/3 of log repetitions (Ratamess 2010, 2012)
    fresh, tired = (
        measured(observe(log([0], failed=True)).sets, tired=n) for n in (0, 2 / 3)
    )
    gone = np.log(fresh.repetitions / tired.repetitions)
    assert gone[0] == pytest.approx(-0.36 * 2 / 3)


# Left and right: the difference of a day, drawn to none as one side_sd of 0.04 says,
# and half of it taken off each.
@pytest.mark.analytic
def test_half_of_a_difference_between_sides_is_taken_off_each():
    sets = log([0, 0], failed=True, side=["left", "right"], load=[22.0, 20.0])
    seen = observe(sets).sets
    now = measured(seen)
    level, table = level_sides(seen, now)
    off = now.implied[0] - now.implied[1]
    variance = now.variance.sum() + 0.022**2
    sd = (1 / variance + 1 / 0.04**2) ** -0.5
    mean = off / variance * sd**2
    assert table["left_right_ratio"][0] == pytest.approx(np.exp(mean))
    assert table["low"][0] == pytest.approx(np.exp(mean - 1.6448536 * sd))
    assert level.implied - now.implied == pytest.approx([-mean / 2, mean / 2])
