"""Every number of the advice, from both sides of where it decides."""

import numpy as np
import pandas as pd
import pytest
from hand_made_fit import DAY, made_fit, made_sets

from analytics.advice.choice import variant_facts
from analytics.advice.clients import clients
from analytics.advice.lean import lean_start
from analytics.advice.loads import _step_inside, next_load
from analytics.advice.repetitions import MOST_REPS, relation_sentence
from analytics.advice.technique import seen_sets, technique
from analytics.advice.volume import direct_work, line_trend, weekly_sets
from analytics.advice.warming import warm_up
from analytics.errors import InputError

CURL = "standing_barbell_curl"
HELD_TO = "held to 5%"
BODIES = pd.DataFrame(
    {"lifter": "R02", "measured_on": [DAY], "arm_girth_m": 0.3, "body_mass_kg": 70.0}
)


def log(**columns):
    """Six sessions of one lifter, one a week; columns are for all of them."""
    return made_sets({"R01": [CURL]}).assign(**columns)


def advise(sets, **wanted):
    wanted = {"reps": 8, "step_kg": 0.05, **wanted}
    return next_load(made_fit(sets), "R01", CURL, sets=sets, **wanted).iloc[0]


def at_days_before(days, **changes):
    """The log, and a set so many days before its last session."""
    sets = log()
    early = sets.iloc[:1].assign(
        performed_on=DAY - pd.Timedelta(days=days), set_id="early", **changes
    )
    return pd.concat([early, sets], ignore_index=True)


@pytest.mark.parametrize(("days", "refused"), [(0, True), (14, True), (15, False)])
def test_pain_stops_a_load_for_fourteen_days(days, refused):
    sets = at_days_before(days, pain=1.0)
    assert np.isnan(advise(sets)["load_kg"]) == refused
    assert np.isnan(clients(made_fit(sets), sets).iloc[0]["pain"]) != refused


def test_a_refused_load_names_the_site_of_the_pain():
    caution = advise(at_days_before(3, pain=1.0).assign(note="elbow twinge"))["caution"]
    assert "pain 1 (elbow) was logged on" in caution


@pytest.mark.parametrize(("later", "refused"), [(0, True), (400, True)])
def test_the_days_since_pain_count_from_the_last_session(later, refused):
    row = advise(at_days_before(10, pain=1.0), on_date=DAY + pd.Timedelta(days=later))
    assert np.isnan(row["load_kg"]) == refused


@pytest.mark.parametrize(("pain", "refused"), [(0.0, False), (0.5, True), (10, True)])
def test_any_pain_above_none_counts(pain, refused):
    assert np.isnan(advise(at_days_before(3, pain=pain))["load_kg"]) == refused


@pytest.mark.parametrize(("days", "load_kg"), [(42, 37.8), (43, 35.7)])
def test_what_was_lifted_counts_as_shown_for_six_weeks(days, load_kg):
    sets = at_days_before(days, load_kg=36.0)
    sets.loc[1:, "load_kg"] = 34.0
    sets = sets.iloc[[0, -1]]
    assert advise(sets)["load_kg"] == pytest.approx(load_kg, abs=0.1)


@pytest.mark.parametrize(
    ("shown_kg", "load_kg", "held"), [(36.0, 37.8, True), (37.0, 38.45, False)]
)
def test_a_load_rises_by_a_twentieth_at_most(shown_kg, load_kg, held):
    row = advise(log(load_kg=shown_kg))
    assert row["load_kg"] == pytest.approx(load_kg, abs=0.03)
    assert (HELD_TO in row["caution"]) == held


@pytest.mark.parametrize(
    ("changes", "counts"),
    [
        ({"reps": 1.0, "load_kg": 60.0}, True),
        ({"reps": 0.0, "load_kg": 60.0, "failed": True}, False),
        ({"load_kg": 60.0, "flag": "implausible load"}, False),
    ],
)
def test_a_set_with_a_flag_or_without_a_repetition_shows_nothing(changes, counts):
    sets = pd.concat([log(load_kg=34.0), log(**changes).tail(1)], ignore_index=True)
    sets["set_id"] = sets.index.astype(str)
    assert (HELD_TO not in advise(sets)["caution"]) == counts


@pytest.mark.parametrize(
    ("wanted", "low", "high", "load_kg"),
    [
        (21.0, 20 + 1e-12, 22.4, 20.0),  # a step at the very ends of the interval
        (22.0, 20.1, 22.5 - 1e-12, 22.5),
        (21.0, 20.1, 22.4, np.nan),  # none inside
        (23.0, 19.0, 26.0, 22.5),
        (0.2, -1.0, 2.0, 0.0),  # the body alone is inside
        (0.9, 0.5, 2.0, np.nan),
    ],
)
def test_a_load_is_the_nearest_step_inside_its_interval(wanted, low, high, load_kg):
    found = _step_inside(wanted, low, high, 2.5)
    assert found == pytest.approx(load_kg, nan_ok=True)


@pytest.mark.parametrize(
    ("step_kg", "load_kg", "said"), [(8.0, 40.0, True), (10.0, 40.0, False)]
)
def test_a_step_more_than_half_above_what_was_shown_is_said(step_kg, load_kg, said):
    # 34 kg was shown: a twentieth more is 35.7, and the nearest step inside is 40
    row = advise(log(load_kg=34.0), step_kg=step_kg)
    assert row["load_kg"] == load_kg
    assert ("go up over sessions" in row["caution"]) == said


@pytest.mark.parametrize(
    ("reps", "rir", "refused"),
    [(1, 0, False), (0, 0, True), (30, 0, False), (31, 0, True), (20, 10, False),
     (19, 10.5, True), (5, -0.5, True), (29, 2, True)],
)  # fmt: skip
def test_repetitions_and_reserve_have_ends(reps, rir, refused):
    wanted = {"reps": reps, "rir": rir}
    if refused:
        with pytest.raises(InputError):
            advise(log(), **wanted)
    else:
        advise(log(), **wanted)


def test_the_warm_up_is_two_three_and_four_fifths():
    # common practice, no source
    steps = warm_up(100.0, step_kg=2.5)
    assert steps.to_numpy().tolist() == [[40, 10], [60, 5], [80, 3]]


@pytest.mark.parametrize(("rir", "hard"), [(0, 1), (4, 1), (4.5, 0), (np.nan, 0)])
def test_a_hard_set_leaves_four_at_most(rir, hard):
    week = weekly_sets(log(rir=rir).tail(1)).iloc[0]
    assert week["direct"] == hard
    assert week["effort_unknown"] == np.isnan(rir)


@pytest.mark.parametrize(("flag", "counted"), [("", 1), ("implausible load", 0)])
def test_a_flagged_set_is_no_work(flag, counted):
    for rir in (2.0, np.nan):
        week = weekly_sets(log(flag=flag, rir=rir).tail(1)).iloc[0]
        assert week["direct"] + week["effort_unknown"] == counted


@pytest.mark.parametrize(("points", "known"), [(2, False), (3, True)])
def test_a_line_needs_three_points(points, known):
    slope, low, high = line_trend(np.arange(points) * 7.0, np.arange(points) * 2.0)
    assert np.isfinite([slope, low, high]).all() == known
    assert not known or slope == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(0.001, 0.02, "rose"), (-0.02, -0.001, "fell"), (-0.001, 0.02, "not clearly")],
)
def test_a_trend_is_told_where_its_interval_leaves_no_change_out(low, high, words):
    slopes = made_fit(log()).slopes.assign(
        slope_frac_per_week=(low + high) / 2, low=low, high=high
    )
    work = direct_work(log(), BODIES, slopes, lifter="R01")
    assert words in work.can_say[2]


@pytest.mark.parametrize(
    ("slope", "implausible"),
    [(0.05, False), (0.051, True), (-0.05, False), (-0.051, True)],
)
def test_nobody_changes_by_more_than_a_twentieth_a_week(slope, implausible):
    slopes = made_fit(log()).slopes.assign(slope_frac_per_week=slope)
    work = direct_work(log(), BODIES, slopes, lifter="R01")
    assert ("implausible" in work.can_say[2]) == implausible


@pytest.mark.parametrize(("lean_deg", "leans"), [(4.9, 0.0), (5.0, 1.0)])
def test_a_coach_sees_lean_from_five_degrees_on(lean_deg, leans):
    sets = log(lean_deg=lean_deg)
    assert clients(made_fit(sets), sets).iloc[0]["lean_frac"] == leans


@pytest.mark.parametrize(
    ("cheat", "lean_deg", "noted"),
    [(True, np.nan, True), (False, np.nan, False), (None, 0.0, False),
     (True, 3.0, True), (None, np.nan, None)],
)  # fmt: skip
def test_a_blank_beside_a_lean_is_no_cheating(cheat, lean_deg, noted):
    sets = log(cheat=pd.array([cheat] * 6, dtype="boolean"), lean_deg=lean_deg)
    seen = seen_sets(sets, made_fit(sets).trend)["cheat"]
    assert seen.tolist() == ([] if noted is None else [noted] * 6)


def watched(n, *, start=0.7, rise=60.0, lean=True, cheated=0, stances=("",)):
    """So many watched sets, a set a day, of loads from half to the whole maximum."""
    relative = np.linspace(0.5, 1.0, n)
    sets = pd.concat([log()] * (n // 6 + 1), ignore_index=True).head(n)
    days = DAY - pd.to_timedelta(np.arange(n), unit="D")
    sets = sets.assign(
        performed_on=days,
        set_id=[str(i) for i in range(n)],
        load_kg=50 * relative,
        lean_deg=rise * np.maximum(0, relative - start) if lean else np.nan,
        cheat=pd.array(np.arange(n) < cheated, dtype="boolean"),
        stance=[stances[i % len(stances)] for i in range(n)],
    )
    return sets, made_fit(sets).trend


def said(n, **log_of):
    return " ".join(technique(*watched(n, **log_of), lifter="R01").sentences)


@pytest.mark.parametrize(("n", "told"), [(11, False), (12, True)])
def test_lean_and_cheat_are_told_from_twelve_watched_sets(n, told):
    words = said(n, cheated=3)
    assert ("Lean starts" in words) == told
    assert ("Lean: not enough data yet (11 sets with a lean), about 1" in words) != told
    words = said(n, cheated=3, lean=False)
    assert ("Cheated: 3 of 12 sets, 25% (10% to 49%)" in words) == told  # Wilson 1927
    assert ("Cheating: not enough data yet (11 sets" in words) != told


@pytest.mark.parametrize(("n", "told"), [(22, False), (24, True)])
def test_stances_are_compared_from_twelve_sets_of_each(n, told):
    words = said(n, stances=("parallel", "split"))
    assert ("At the same relative load" in words) == told
    assert ("12 in each of two would begin to tell" in words) != told


@pytest.mark.parametrize(("cheated", "told"), [(12, False), (11, True)])
def test_no_share_is_told_where_only_cheats_were_noted(cheated, told):
    words = said(12, cheated=cheated, lean=False)
    assert ("Cheated: 11 of 12" in words) == told
    assert ("none as not" in words) != told


def test_cheat_is_told_below_the_start_of_lean_and_from_it_on():
    words = said(26, cheated=5)
    # 26 loads from 0.5 to 1, a fiftieth apart: ten lie below 0.7
    assert "Cheated below that load: 5 of 10 sets" in words
    assert "from it on: 0 of 16 sets" in words


@pytest.mark.parametrize(
    ("beyond", "found"), [(3, False), (4, True)], ids=["three", "four"]
)
def test_a_start_of_lean_has_four_sets_beyond_it(beyond, found):
    relative = np.r_[np.full(20, 0.45), np.full(beyond, 0.9)]
    lean = (
        np.r_[np.zeros(20), np.full(beyond, 20.0)]
        + np.tile([0.0, 0.1], len(relative))[: len(relative)]
    )
    start = lean_start(relative, lean, set_number=np.arange(len(lean)) % 3 + 1.0)
    assert np.isfinite(start.start_frac) == found


@pytest.mark.parametrize(("size", "rises"), [(0.5, False), (2.0, True)])
def test_lean_rises_where_chance_would_give_it_once_in_twenty(size, rises):
    rng = np.random.default_rng(3)
    relative = np.linspace(0.5, 1, 60)
    noise = rng.normal(0, 1, 60)
    found = lean_start(
        relative,
        noise + size * (relative > 0.75),
        set_number=np.arange(60) % 3 + 1.0,
    )
    assert np.isfinite(found.start_frac) == rises
    assert np.isnan(found.p_value) or found.p_value <= 0.05


@pytest.mark.parametrize(
    ("relative", "middle"), [(0.60, 0.65), (0.69, 0.65), (0.71, 0.75)]
)
def test_lean_is_shown_by_tenths_of_the_maximum(relative, middle):
    sets, trend = watched(12)
    table = technique(sets.assign(load_kg=50 * relative), trend, lifter="R01").by_load
    assert table["relative_load"].tolist() == [middle]


@pytest.mark.parametrize(("learned", "own"), [(0.004, False), (0.005, True)])
def test_a_relation_is_called_own_from_half_a_per_cent_learned(learned, own):
    fit = made_fit(log())
    fit.relation["learned_frac"] = learned
    words = relation_sentence(fit, "R01", CURL)
    assert ("own sets at different loads" in words) == own
    assert "8 repetitions are taken to be possible at 81%" in words  # 30 / 37
    assert MOST_REPS == 15


@pytest.mark.parametrize("name", ["preacher_curl_45", "hammer_curl"])
def test_strength_in_hand_is_that_a_whole_sticking_region_away(name):
    # draw by draw, at 20 degrees and more from its hardest angle
    from analytics.catalogue import load_catalogue
    from analytics.mechanics.draws import N_DRAWS, SEED
    from analytics.mechanics.limits import drawn_limb

    model = load_catalogue().variants[name].model
    arm = drawn_limb(model.joint, n_draws=N_DRAWS, seed=SEED)
    variant, margins, near = load_catalogue().variants[name], [], []
    mine = model.joint.grid() <= model.range_to_deg
    mine &= model.joint.grid() >= model.range_from_deg
    angle = model.joint.grid()[mine]
    for piece in arm.draws.pieces():
        rows = arm.rows(variant, piece)
        per_kg, own, most = (
            part[0][:, mine] for part in (rows.per_kg_nm, rows.own_nm, rows.most_nm)
        )
        for one_kg, limb, able in zip(per_kg, own, most, strict=True):
            asks = one_kg > 0
            load = ((able - limb)[asks] / one_kg[asks]).min()
            used = (limb + load * one_kg).clip(min=0) / able
            assert used.max() == pytest.approx(1, rel=1e-5)
            away = np.abs(angle - angle[used.argmax()]) >= 20
            margins.append(1 - used[away].max())
            near.append((used >= 0.9).mean())
    facts = variant_facts([name]).iloc[0]
    found = facts[["sticking_margin_frac", "near_limit_frac"]].to_numpy(float)
    assert found == pytest.approx([np.median(margins), np.median(near)], abs=1e-3)


def test_sets_of_an_exercise_are_counted_from_one_each_day():
    sets = log(lean_deg=3.0)
    sets = sets.assign(performed_on=sets["performed_on"].to_numpy()[[0, 0, 0, 1, 1, 2]])
    seen = seen_sets(sets, made_fit(sets).trend).sort_values("set_id")
    assert seen["set_number"].tolist() == [1, 2, 3, 1, 2, 1]


@pytest.mark.parametrize(
    ("variant", "held_kg"),
    [(CURL, 30.0), ("standing_dumbbell_curl", 60.0), ("curl_of_one's_own", 30.0)],
)
def test_two_dumbbells_are_held_at_once(variant, held_kg):
    sets = log(lean_deg=3.0, load_kg=30.0)
    trend = made_fit(sets).trend.assign(variant=variant)
    seen = seen_sets(sets.assign(variant=variant), trend)
    assert seen["held_kg"].unique().tolist() == [held_kg]


def test_the_balance_is_asked_of_the_heaviest_sound_set_standing():
    sets, trend = watched(12)
    sets.loc[sets["load_kg"].idxmax(), "flag"] = "implausible load"
    words = " ".join(technique(sets, trend, lifter="R01").sentences)
    assert "the heaviest lifted standing here, 48 kg" in words  # 50 kg is flagged
    # 48 kg of the 50 of one repetition, and a stance that carries so many
    carried = float(words.split("up to ")[1].split(" kg")[0])
    share = float(words.split("in a parallel stance (")[1].split("%")[0])
    assert share == pytest.approx(carried / 50 * 100, abs=1.5)
