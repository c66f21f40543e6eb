"""What any lifter would say of an estimate, on small logs of every kind."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strength_battery import invariants, model

from analytics.strength.model.relation import published_log_gain, read_table

MANY = settings(max_examples=150, deadline=None, derandomize=True)
THOUSANDS = settings(max_examples=3000, deadline=None, derandomize=True)


@MANY
@given(sets=invariants.logs())
def test_a_fit_always_ends_with_an_interval(sets):
    invariants.check_answers(model.estimate, sets)


@MANY
@given(sets=invariants.logs())
def test_no_upper_end_lies_below_a_load_lifted_in_four_weeks(sets):
    invariants.check_holds_what_was_lifted(model.estimate, sets)


@MANY
@given(sets=invariants.logs(), data=st.data())
@pytest.mark.parametrize("change", invariants.CHANGES)
def test_a_better_set_never_makes_weaker(change, sets, data):
    row = data.draw(st.integers(0, len(sets) - 1))
    invariants.check_better_is_never_weaker(model.estimate, sets, row, change)


@MANY
@given(sets=invariants.logs(), factor=st.floats(0.1, 10))
def test_all_loads_times_a_factor_give_strength_times_the_factor(sets, factor):
    invariants.check_scale(model.estimate, sets, factor)


@MANY
@given(sets=invariants.logs())
def test_pounds_and_kilograms_agree(sets):
    invariants.check_units(model.estimate, sets)


@MANY
@given(sets=invariants.logs(), seed=st.integers(0, 9))
def test_the_order_of_rows_does_not_matter(sets, seed):
    invariants.check_order(model.estimate, sets, seed)


@MANY
@given(sets=invariants.logs())
def test_a_lifter_alone_and_in_company_is_as_strong(sets):
    invariants.check_alone(model.estimate, sets)


def mean_published(load_kg: float, reps: float) -> float:
    # Mean of the published equations, each shifted to give the load itself at one
    # repetition (Epley 1985, Brzycki 1993, Lander 1985, Lombardi 1989, O'Conner 1989,
    # Mayhew 1992, Wathen 1994, the load chart)
    rows = read_table("repetition_equations.toml")["row"]
    gains = [
        published_log_gain(r["equation"], reps) - published_log_gain(r["equation"], 1.0)
        for r in rows
    ]
    return load_kg * float(np.exp(np.mean(gains)))


@pytest.mark.published
@MANY
@given(sets=invariants.flat_logs())
def test_without_contrast_the_estimate_is_that_of_the_published_relation(sets):
    invariants.check_stays_published(model.estimate, sets, mean_published)
