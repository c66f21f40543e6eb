"""Loads for a session and clients side by side, on the command line."""

import json

import pandas as pd
import pytest
from click.testing import CliRunner
from hand_made_fit import DAY, made_fit, made_sets

from analytics.advice import attention
from analytics.cli.main import main

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
