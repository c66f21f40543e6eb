"""The whole line from somebody else's log to the verdict, on logs of known truth."""

import pytest

from analytics.cli.bench.whole_logs import simulate, verdict_on
from analytics.evidence import pipeline_table

NOT_ENOUGH = "not enough data yet"


def test_a_fortnight_of_one_lifter_is_not_enough(tmp_path):
    log = simulate("flat", "ordinary", seed=1, lifters=1, weeks=1)
    assert len(log) < 30
    test = verdict_on(log, tmp_path)
    assert test.verdict == NOT_ENOUGH
    assert any("needs at least" in reason for reason in test.reasons)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("truth", "design", "verdicts"),
    [
        ("peaked", "ordinary", {"agrees"}),
        ("one peaked curve", "ranges", {"agrees", NOT_ENOUGH}),
        ("flat", "ordinary", {"disagrees"}),
        ("leverage", "ranges and holds", {"agrees", NOT_ENOUGH}),
        ("rising", "ranges and holds", {"disagrees", NOT_ENOUGH}),
        ("inverted", "ranges", {"disagrees"}),
        ("peaked", "two variants", {NOT_ENOUGH}),
    ],
)
def test_the_whole_line_finds_the_truth_or_asks_for_more(
    truth, design, verdicts, tmp_path
):
    log = simulate(truth, design, seed=101)
    assert verdict_on(log, tmp_path).verdict in verdicts


def test_the_shipped_rates_of_the_whole_line_are_within_their_bounds():
    table = pipeline_table().set_index(["truth", "design"])
    few = table.xs("two variants", level="design")
    assert (few[NOT_ENOUGH] == few["logs"]).all()
    rest = table.drop("two variants", level="design")
    truths = rest.index.get_level_values("truth")
    peaked = truths.isin(["peaked", "one peaked curve", "leverage"])
    rival = truths.isin(["flat", "inverted", "rising", "falling"])
    wrong = rest.loc[rival, "agrees"].sum() + rest.loc[peaked, "disagrees"].sum()
    assert wrong <= 0.05 * rest.loc[peaked | rival, "logs"].sum()
