"""Who is asked about and in what order, from both sides of every threshold."""

from dataclasses import replace

import pandas as pd
import pytest
from hand_made_fit import DAY, made_fit, made_sets

from analytics import advice
from analytics.advice.attention import COLUMNS, alerts

CURL, PAD = "standing_barbell_curl", "preacher_curl_45"


def both(**columns):
    """Two lifters, six weeks of one session; columns are for the first alone."""
    sets = made_sets({"R01": [CURL], "R02": [CURL]})
    mine = sets["lifter"] == "R01"
    for name, value in columns.items():
        sets.loc[mine, name] = value
    return sets


def changed(fit, table, **columns):
    """Change one lifter's rows of a table of a fit in place."""
    rows = getattr(fit, table)
    for name, value in columns.items():
        rows.loc[rows["lifter"] == "R01", name] = value
    return fit


def flags(fit, sets, **asked):
    table = advice.attention([fit], sets, **asked).set_index("lifter")
    return table.loc["R01", "flags"]


def test_nothing_is_said_of_who_trains_as_always():
    sets = both()
    table = advice.attention([made_fit(sets)], sets)
    assert table["flags"].tolist() == ["", ""]
    assert list(table.columns) == COLUMNS
    assert table["lifter"].tolist() == ["R01", "R02"]
    assert table["variant"].tolist() == [CURL, CURL]
    assert table["strength_kg"].tolist() == [50.0, 50.0]


@pytest.mark.parametrize(("days", "said"), [(10, ""), (11, "no log for 11 days")])
def test_absence_is_told_after_ten_days(days, said):
    sets = both()
    sets.loc[sets["lifter"] == "R01", "performed_on"] -= pd.Timedelta(days=days)
    assert flags(made_fit(sets), sets) == said
    asked = DAY + pd.Timedelta(days=days)
    assert flags(made_fit(both()), both(), on=asked) == said


@pytest.mark.parametrize(
    ("gone", "said"),
    [([], ""), ([2], ""), ([2, 3], "2 of the last 8 weeks without a log")],
)
def test_weeks_without_a_log_are_told_from_two_on(gone, said):
    sets = both()
    first = sets["performed_on"].min()
    week = (sets["performed_on"] - first).dt.days // 7
    sets = sets[(sets["lifter"] == "R02") | ~week.isin(gone)]
    assert flags(made_fit(sets), sets) == said


@pytest.mark.parametrize(("weeks", "said"), [(7, 6), (8, 7), (9, 7), (20, 7)])
def test_only_the_last_eight_full_weeks_count(weeks, said):
    # one session so long ago, one now: the weeks between are without, the present
    # one is not over yet
    sets = both()
    days = [DAY - pd.Timedelta(weeks=weeks), *[DAY] * 5]
    sets.loc[sets["lifter"] == "R01", "performed_on"] = days
    told = said + (weeks > 8)
    assert flags(made_fit(sets), sets) == f"{told} of the last 8 weeks without a log"


def test_a_week_begins_on_monday():
    # 20 March 2026 is a Friday: Sunday the 15th is of the last full week, and in the
    # two before it nothing was done, then two weeks were
    sets = both()
    back = [35, 28, 28, 5, 1, 0]
    days = [DAY - pd.Timedelta(days=n) for n in back]
    sets.loc[sets["lifter"] == "R01", "performed_on"] = days
    assert flags(made_fit(sets), sets) == "2 of the last 8 weeks without a log"


@pytest.mark.parametrize(("pain", "told"), [(0.0, False), (1.5, True)])
def test_pain_is_told_with_its_day(pain, told):
    sets = both()
    sets.loc[5, "pain"] = pain
    words = "pain 1.5 of 10 on 2026-03-20" if told else ""
    assert flags(made_fit(sets), sets) == words


def test_the_sites_of_recent_pain_stand_beside_it():
    sets = both()
    sets.loc[[2, 4, 5], "pain"] = [9.0, 2.0, 1.5]
    sets.loc[[2, 4, 5], "note"] = [
        "knee hurts",
        "Handgelenk",
        "left elbow, mal au coude",
    ]
    words = "pain 2 of 10 on 2026-03-20, elbow, wrist"  # the knee was three weeks ago
    assert flags(made_fit(sets), sets) == words


def test_notes_on_pain_that_nobody_judged_are_counted_with_their_sites():
    table = pd.DataFrame({"lifter": ["B", "C", "A"], "flags": ["no gain", "", ""]})
    notes = pd.DataFrame({"lifter": ["B", "A", "A"], "site": ["", "wrist", "elbow"]})
    flagged = advice.flag_notes(table, notes)
    assert flagged["lifter"].tolist() == ["B", "A", "C"]
    assert flagged["flags"].tolist() == [
        "no gain; notes that speak of pain: 1",
        "notes that speak of pain: 2, elbow, wrist",
        "",
    ]


@pytest.mark.parametrize(("share", "told"), [(0.099, False), (0.101, True)])
def test_standing_a_tenth_below_the_best_is_told(share, told):
    sets = both()
    fit = made_fit(sets)
    fit.trend.loc[fit.trend["lifter"] == "R01", "strength_kg"] = [
        *[50.0] * 2, 100.0, *[50.0] * 2, 100 * (1 - share),
    ]  # fmt: skip
    words = "10% below the highest 1RM, of 2026-02-27"
    assert flags(fit, sets) == (words if told else "")


@pytest.mark.parametrize(
    ("table", "changes", "words"),
    [
        ("slopes", {"stalled_since": pd.Timestamp("2026-02-01")},
         "no gain since 2026-02-01"),
        ("trend", {"basis": "assumed reserve"}, "reserve never told"),
        ("trend", {"log_sd": 0.0913}, "1RM unsettled: 47.5 to 52.5 kg"),
        ("trend", {"log_sd": 0.0911}, ""),
    ],
)  # fmt: skip
def test_what_a_lift_says(table, changes, words):
    # half an interval of 90 % is 1.6449 spreads: 15 % of strength at 0.0912
    sets = both()
    fit = changed(made_fit(sets), table, **changes)
    assert flags(fit, sets) == words


def test_a_lifter_without_a_strength_is_told_as_such():
    sets = both()
    fit = made_fit(sets)
    fit = replace(fit, trend=fit.trend[fit.trend["lifter"] == "R02"])
    assert flags(fit, sets) == "no strength yet"


@pytest.mark.parametrize(("n", "words"), [(0, ""), (1, "implausible sets: 1")])
def test_implausible_sets_are_counted(n, words):
    sets = both()
    sets.loc[: n - 1, "flag"] = "implausible load"
    assert flags(made_fit(sets), sets) == words


def ordered(*lifters):
    """Order of lifters of whom each is given pain, a stall, flags and a chance."""
    codes = [f"R{n:02d}" for n in range(1, len(lifters) + 1)]
    sets = made_sets({code: [CURL] for code in codes})
    fit = made_fit(sets)
    for code, (pain, stalled, unsure, chance) in zip(codes, lifters, strict=True):
        sets.loc[sets["lifter"] == code, "pain"] = pain
        own = fit.slopes["lifter"] == code
        since = DAY if stalled else pd.NaT
        fit.slopes.loc[own, ["stalled_since", "p_not_positive"]] = [since, chance]
        if unsure:
            fit.trend.loc[fit.trend["lifter"] == code, "basis"] = "assumed reserve"
    return [int(code[1:]) for code in advice.attention([fit], sets)["lifter"]]


@pytest.mark.parametrize(
    ("lifters", "order"),
    [
        ([(None, False, True, 0.9), (1.0, False, False, 0.1)], [2, 1]),
        ([(1.0, True, True, 0.9), (2.0, False, False, 0.1)], [2, 1]),
        ([(None, False, True, 0.9), (None, True, False, 0.1)], [2, 1]),
        ([(None, False, False, 0.9), (None, False, True, 0.1)], [2, 1]),
        ([(None, False, False, 0.1), (None, False, False, 0.9)], [2, 1]),
        ([(None, False, False, 0.1), (None, False, False, 0.1)], [1, 2]),
    ],
    ids=["pain", "more pain", "stall", "flags", "chance", "code"],
)
def test_pain_comes_first_then_stalls_flags_and_chance(lifters, order):
    assert ordered(*lifters) == order


def test_a_lifter_is_shown_by_the_movement_of_most_sets():
    few = made_sets({"R01": [PAD]}, weeks=3).assign(movement="of_one's_own")
    sets = pd.concat([both(), few], ignore_index=True)
    own, other = made_fit(sets[sets["movement"] != "of_one's_own"]), made_fit(few)
    object.__setattr__(other, "movement", "of_one's_own")
    for fits in ([own, other], [other, own]):
        table = advice.attention(fits, sets)
        assert table["lifter"].tolist() == ["R01", "R02"]
        assert table["variant"].tolist() == [CURL, CURL]
    only = advice.attention([own, other], sets, variant=PAD)
    assert only[["lifter", "variant"]].to_numpy().tolist() == [["R01", PAD]]


def test_nobody_is_an_empty_table():
    assert list(advice.attention([], both()).columns) == COLUMNS
    assert advice.attention([made_fit(both())], both(), variant=PAD).empty


def test_alerts_are_of_one_lifter_each_once_and_name_the_lift():
    few = made_sets({"R01": [PAD]}, weeks=3).assign(movement="of_one's_own")
    sets = pd.concat([both(), few], ignore_index=True)
    sets.loc[5, "pain"] = 3.0
    own, other = made_fit(sets[sets["movement"] != "of_one's_own"]), made_fit(few)
    object.__setattr__(other, "movement", "of_one's_own")
    changed(other, "trend", basis="assumed reserve")
    assert alerts([own, other], sets, "R01") == [
        "pain 3 of 10 on 2026-03-20",
        f"{PAD}: reserve never told",
    ]
    assert alerts([own, other], sets, "R02") == []
