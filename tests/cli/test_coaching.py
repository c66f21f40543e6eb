"""Loads for a session and clients side by side, on the command line."""

import json
import re

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner
from hand_made_fit import DAY, made_fit, made_sets

from analytics.advice import (
    alerts,
    attention,
    last_session,
    lifts,
    session,
    usual_step,
)
from analytics.cli.main import main
from analytics.errors import InputError
from analytics.reports import session_html

STANDING, PAD = "standing_barbell_curl", "preacher_curl_45"


@pytest.fixture(scope="module")
def sample(sample_store):
    return str(sample_store)


def run(*arguments, store):
    return CliRunner().invoke(main, [*arguments, "--store", store])


def test_a_session_has_a_row_for_each_exercise_as_next_has_it(sample):
    wanted = ["LH-Curl stehend", "hammer curl", STANDING]
    done = run("session", "r02", *wanted, "--reps", "6", "--as", "json", store=sample)
    rows = json.loads(done.stdout)
    assert [row["variant"] for row in rows] == [STANDING, "hammer_curl"]
    for row in rows:
        call = ("next", "R02", row["variant"], "--reps", "6", "--as", "json")
        assert json.loads(run(*call, store=sample).stdout) == [row]


def test_cautions_stand_below_the_loads_once_each(sample):
    done = run("session", "R02", PAD, STANDING, store=sample)
    head, *lines = done.stdout.splitlines()
    assert " ".join(head.split()) == "variant reps rir load_kg low_kg high_kg basis"
    assert [line.split()[0] for line in lines[:2]] == [PAD, STANDING]
    assert sum("sudden pain" in line for line in lines) == 1
    assert any(line.startswith(f"{PAD}: On a pad") for line in lines)


@pytest.mark.published
@pytest.mark.parametrize("call", [("session",), ("next", "--reps", "8")])
def test_loads_are_shown_in_pounds_of_pound_plates(call, sample):
    # 1 lb is 0.45359237 kg: International yard and pound agreement, 1959. Bars go up
    # by a pair of plates of 2.5 lb: common practice, no source.
    name, *more = call
    call = (name, "R02", STANDING, *more, "--as", "json")
    (in_kg,) = json.loads(run(*call, store=sample).stdout)
    done = run(*call, "--unit", "lb", store=sample)
    (row,) = json.loads(done.stdout)
    for end in ("low", "high"):
        assert row[f"{end}_lb"] == pytest.approx(in_kg[f"{end}_kg"] / 0.45359237)
    assert row["load_lb"] / 5 == pytest.approx(round(row["load_lb"] / 5))
    assert not any(column.endswith("_kg") for column in row)
    assert " kg" not in row["basis"] + row["caution"]


def test_pain_leaves_a_session_without_loads(sample):
    call = ("session", "R09", PAD, STANDING, "--as", "json")
    rows = json.loads(run(*call, store=sample).stdout)
    assert [row["load_kg"] for row in rows] == [None, None]
    assert "pain 4" in rows[0]["caution"]


def test_who_has_pain_comes_first_and_every_client_is_there(sample):
    rows = json.loads(run("clients", "--as", "json", store=sample).stdout)
    assert sorted(row["lifter"] for row in rows) == [f"R{n:02d}" for n in range(1, 15)]
    assert rows[0]["lifter"] == "R09"
    assert "pain 4 of 10" in rows[0]["flags"]
    unflagged = [row["chance_no_gain"] for row in rows if not row["flags"]]
    assert unflagged == sorted(unflagged, reverse=True)
    of_pad = run("clients", "--variant", "Preacher 45", "--as", "json", store=sample)
    pads = json.loads(of_pad.stdout)
    assert {row["variant"].split()[0] for row in pads} == {PAD}
    assert 0 < len(pads) < 14


def test_people_read_clients_in_per_cent_and_plain_figures(sample):
    rows = json.loads(run("clients", "--as", "json", store=sample).stdout)
    lines = run("clients", store=sample).stdout.splitlines()[1:]
    for line, row in zip(lines, rows, strict=True):
        for name in ("strength_kg", "low_kg", "high_kg"):
            assert f" {row[name]:.1f} " in line
        for name in ("change_4w", "change_8w", "chance_no_gain"):
            told = row[name] is not None and f"{100 * row[name]:.1f}\xa0%"
            assert f" {told or '-'} " in line
        assert not re.search(r"\d%|0\.0\d", line)


def test_words_of_the_trade_name_an_exercise_where_only_one_has_them(sample):
    done = run("next", "R02", "Marteau", "--reps", "8", store=sample)
    assert done.exit_code == 0
    assert "'Marteau' is hammer_curl" in done.stderr
    done = run("clients", "--variant", "scott curl", store=sample)
    assert done.exit_code == 2
    assert all(f"preacher_curl_{angle}" in done.stderr for angle in (0, 30, 45, 60, 90))


def test_flags_say_pain_stall_absence_and_odd_sets_in_that_order():
    sets = made_sets(
        {who: [STANDING] for who in ("away", "odd", "ok", "sore", "stuck")}
    )
    fit = made_fit(sets)
    days = pd.Timedelta(days=11)
    sets.loc[sets["lifter"] == "away", "performed_on"] -= days
    sets.loc[(sets["lifter"] == "sore") & (sets["performed_on"] == DAY), "pain"] = 3
    sets.loc[sets.index[sets["lifter"] == "odd"][:2], "flag"] = "implausible"
    fit.slopes.loc[fit.slopes["lifter"] == "stuck", "stalled_since"] = DAY
    table = attention([fit], sets).set_index("lifter")["flags"]
    assert table.to_dict() == {
        "sore": "pain 3 of 10 on 2026-03-20",
        "stuck": "no gain since 2026-03-20",
        "away": "no log for 11 days",
        "odd": "implausible sets: 2",
        "ok": "",
    }
    assert list(table.index) == ["sore", "stuck", "away", "odd", "ok"]


def test_a_store_without_sets_has_no_clients(tmp_path):
    done = run("clients", store=str(tmp_path / "none.duckdb"))
    assert (done.exit_code, done.stdout) == (0, "")
    assert "nothing to show" in done.stderr


def test_alerts_of_one_lifter_name_the_lift_and_count_absence_to_a_day():
    sets = made_sets({"A": [STANDING]})
    fit = made_fit(sets)
    assert alerts([fit], sets, "A") == []
    fit.trend["log_sd"] = 0.1
    sets.loc[sets.index[0], "flag"] = "implausible"
    assert alerts([fit], sets, "A", on=DAY + pd.Timedelta(days=11)) == [
        "no log for 11 days",
        f"{STANDING}: implausible sets: 1",
        f"{STANDING}: 1RM unsettled: 47.5 to 52.5 kg",
    ]


def test_two_weeks_without_a_log_are_said_and_one_is_not():
    sets = made_sets({"one": [STANDING], "two": [STANDING]}, weeks=8)
    for who, weeks in (("one", [3]), ("two", [3, 5])):
        gone = sets["performed_on"].isin([DAY - pd.Timedelta(weeks=w) for w in weeks])
        sets = sets[~(gone & (sets["lifter"] == who))]
    flags = attention([made_fit(sets)], sets).set_index("lifter")["flags"]
    assert flags.to_dict() == {"two": "2 of the last 8 weeks without a log", "one": ""}


def test_the_last_session_gives_the_heaviest_set_of_each_exercise():
    sets = made_sets({"A": [STANDING, PAD, STANDING]})
    sets.loc[sets.index[-1], ["load_kg", "reps", "rir"]] = [40.0, 5.0, 1.0]
    fit = made_fit(sets)
    last = last_session([fit], sets, "A").set_index("setup")
    assert last.loc[STANDING, ["sets", "load_kg", "reps"]].tolist() == [2, 40, 5]
    sets.loc[sets.index[-1], "rir"] = np.nan  # and not the reserve of the lighter set
    whole = last_session([fit], sets, "A").set_index("setup")
    assert np.isnan(whole.loc[STANDING, "rir"])
    assert list(last.index) == [STANDING, PAD]
    found = lifts([fit], "A").set_index("setup")
    assert found.loc[STANDING, "trend"] == "still gaining, 98 %"
    assert found.loc[PAD, "trend"] == "cannot be told yet"


def test_a_step_in_pounds_is_a_multiple_of_five():
    sets = made_sets({"A": [STANDING]})
    fit = made_fit(sets)
    for setup, step in ((STANDING, 5), ("standing_dumbbell_curl", 5)):
        assert usual_step(fit, setup, unit="lb") == step
    assert usual_step(fit, "low_cable_curl", unit="lb") == 10


def test_a_session_keeps_the_loads_beside_an_exercise_that_has_none():
    sets = made_sets({"A": [STANDING]})
    fit = made_fit(sets)
    steps = {STANDING: 1.0}
    asked = [(fit, STANDING), (fit, "own thing")]
    loads = session(asked, "A", sets=sets, reps=8, steps_kg=steps)
    assert loads["load_kg"].notna().tolist() == [True, False]
    assert loads.loc[0, "load_kg"] % 1 == 0
    assert "own thing" in loads.loc[1, "caution"]
    with pytest.raises(InputError, match="own thing"):
        session(asked[1:], "A", sets=sets, reps=8)
    page = session_html(loads, "A", unit="lb")
    assert "10 lb" not in page
    assert f"{loads.loc[0, 'load_kg'] / 0.45359237:.4g} lb" in page
    assert "pain" in page


def test_shares_are_a_row_per_week_and_variant_with_the_answer_beside(sample):
    done = run("share", "r01", "--as", "json", store=sample)
    rows = json.loads(done.stdout)
    assert list(rows[0]) == ["week", "variant", "hard_sets", "share", "low", "high"]
    assert {"chin_up", "barbell_row", STANDING} <= {row["variant"] for row in rows}
    assert all(0 < row["share"] < 1.2 for row in rows)
    assert "no effort written down" in done.stderr
    told = run("share", "R01", store=sample).stderr
    assert "Published growth of the elbow flexors" in told
    assert "no limit load of a pull" in told
    assert "sudden pain" in told


def test_a_share_of_what_has_one_cannot_be_given(sample):
    done = run("share", "R01", "--given", "chin_up=0.5", store=sample)
    assert done.exit_code == 2
    assert "cannot be given" in done.stderr
    assert run("share", "R01", "--given", "5", store=sample).exit_code == 2
