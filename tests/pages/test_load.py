"""Twenty people and one who brings in logs, on one server."""

from __future__ import annotations

import load_run
import pytest


@pytest.mark.slow
def test_twenty_people_and_one_importing_coach_meet_no_error_and_lose_no_set(tmp_path):
    # How long pages take is printed by the script itself: machines differ.
    tally = load_run.run(tmp_path, people=20, seconds=300)
    print(tally.words())
    assert not tally.errors
    assert tally.sets_lost == 0
    assert tally.sets_added > 0
    assert tally.whole_s
