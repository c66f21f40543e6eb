"""The benchmark's mixed model against its closed form and a general library."""

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from analytics.cli.bench.timing import (
    balanced_panel,
    closed_form,
    fit_ours,
    fit_statsmodels,
)


@pytest.mark.analytic
def test_mixed_model_by_cells_equals_the_closed_form_to_six_digits():
    # balanced layout: REML equals the analysis of variance
    rows = balanced_panel(100)
    assert_allclose(fit_ours(rows), closed_form(rows), rtol=1e-6)


@pytest.mark.external
def test_general_library_comes_to_the_same_closed_form():
    # statsmodels MixedLM, REML; its optimiser stops early, so 2 %
    rows = balanced_panel(60)
    assert_allclose(fit_statsmodels(rows), closed_form(rows), rtol=0.02)


@pytest.mark.slow
@pytest.mark.analytic
def test_mixed_model_of_240_000_rows_is_ten_times_as_fast_as_the_general_library():
    rows = balanced_panel()
    seconds = []
    for fit in (fit_ours, fit_statsmodels):
        fit(balanced_panel(20))
        started = time.perf_counter()
        found = fit(rows)
        seconds.append(time.perf_counter() - started)
        assert np.abs(found / closed_form(rows) - 1).max() < 0.01
    assert_allclose(fit_ours(rows), closed_form(rows), rtol=1e-6)
    assert seconds[1] > 10 * seconds[0]
