"""Counts of a cohort in parts publish and withhold what those of one log do."""

from dataclasses import replace

import pandas as pd
import pytest
from pandas.testing import assert_frame_equal
from research_club import fitted, random_club

from analytics.reports import counted
from analytics.reports.counting import count_line, count_panel
from analytics.reports.disclosure import Tally, may_show
from analytics.reports.held import LINES
from analytics.reports.tables import quality_table


def in_parts(fit, sets):
    """Count as a cohort does: three parts in brief, then who did small cells."""
    number = sets["lifter"].str[1:].astype(int) % 3
    parts = [counted.count_sets(fit, of) for _, of in sets.groupby(number)]
    whole = counted.together([part.brief() for part in parts])
    chosen = counted.few(whole)
    lines = {
        line: pd.concat([part.lines[line].merge(chosen[line]) for part in parts])
        for line in LINES
    }
    return replace(whole, lines=lines)


@pytest.mark.parametrize("seed", range(12))
def test_parts_withhold_what_one_log_withholds(seed, monkeypatch):
    monkeypatch.setattr(counted, "KNOWN_BELOW", 5)  # so that most cells are tallies
    sets = random_club(seed)
    for movement, fit in fitted(sets).items():
        rows = sets[sets["movement"] == movement]
        one, parts = (
            count_panel(fit, of, smallest_cell=5)
            for of in (counted.count_sets(fit, rows), in_parts(fit, rows))
        )
        assert parts.shown == one.shown
        assert parts.labels == one.labels
        assert_frame_equal(quality_table(parts), quality_table(one))
        for setup in one.shown:
            theirs, ours = (count_line(of, "week", setup=setup) for of in (one, parts))
            assert_frame_equal(ours, theirs, check_dtype=False)


@pytest.mark.analytic
def test_tallies_of_two_cells_are_taken_at_the_worst():
    # The same five lifters may have done both: 6 + 5 and 2 + 4 of 40 sets.
    both = Tally(5, 20, 6, 2).beside(Tally(4, 20, 5, 4))
    assert both == Tally(5, 40, 11, 6)
    assert may_show(both, smallest_cell=5)
    assert not may_show(both, smallest_cell=6)
