"""Rules that stages share: loads per arm, setups, log ratios, weeks, intervals."""

import numpy as np
import pandas as pd
import pytest

from analytics.catalogue import (
    BODY_LIMITS,
    Setup,
    load_as_logged,
    load_per_arm,
    make_body,
    say_setups,
)
from analytics.errors import InputError
from analytics.evidence import curve_test
from analytics.evidence.direct import direct_points
from analytics.evidence.failures import FailurePoints
from analytics.evidence.holds import maximal_holds
from analytics.intervals import Z90, low_middle_high, week_of
from analytics.ratios import LogRatios
from analytics.store.fields import FIELDS
from analytics.strength import completed, fitted

RATIOS = LogRatios(
    labels=("a", "b", "c"),
    mean=np.array([0.1, -0.2, 0.3]),
    cov=np.array([[0.04, 0.01, 0.0], [0.01, 0.09, 0.02], [0.0, 0.02, 0.01]]),
)


@pytest.mark.analytic
def test_a_load_per_arm_and_back_is_the_load():
    # A bar of 40 kg on two arms is 20 kg on each; dumbbells are logged per hand.
    assert load_per_arm(40.0, 2.0) == 20.0
    assert load_as_logged(load_per_arm(17.5, 2.0), 2.0) == 17.5


@pytest.mark.analytic
def test_a_hold_logged_total_asks_for_the_moment_of_one_arm():
    # Two dumbbells of 20 kg, logged once as 20 a hand and once as 40 in total.
    holds = pd.DataFrame(
        {
            "lifter": ["a", "b"],
            "variant": "hammer_curl",
            "kind": "hold",
            "angle_deg": 90.0,
            "load_kg": [20.0, 40.0],
            "arms_share": [1.0, 2.0],
            "hold_s": 5.0,
            "failed": True,
            "rir": np.nan,
        }
    )
    none = FailurePoints(
        table=pd.DataFrame(columns=["variant", "angle_deg", "moment_nm", "n"]),
        cov=np.empty((0, 0)),
    )
    points, _ = direct_points(maximal_holds(holds).table, none)
    # Weight of 20 kg at the grip, and of forearm and hand; at 90 the upper arm is 15
    # degrees forward, so the forearm is as far above level.
    body = make_body()
    arm_nm = 9.80665 * (20 * body.grip_m + body.forearm_and_hand_kg_m)
    arm_nm *= np.cos(np.deg2rad(15))
    np.testing.assert_allclose(points["moment_nm"], arm_nm)


def test_a_total_in_the_log_stays_one_arm_up_to_the_direct_points(bring, store):
    days = "".join(f"A,2026-01-{day:02d},hammer curl,40,6,,\n" for day in range(5, 17))
    bring(
        f"who,day,lift,kg,reps,held,at\n{days}A,2026-01-20,hammer curl,40,,5,90\n",
        columns=(
            '[columns]\nlifter = "who"\nperformed_on = "day"\nexercise = "lift"\n'
            'load = "kg"\nreps = "reps"\nhold_s = "held"\nangle_deg = "at"\n'
            '[settings]\nunit = "kg"\ndates = "iso"\ndumbbells = "total"\n'
        ),
    )
    seen = curve_test(fitted(store, "elbow_flexion")).direct_points
    assert seen["moment_nm"].round(1).tolist() == [69.3]


@pytest.mark.parametrize(
    ("setup", "key", "words"),
    [
        (Setup(variant="v"), "v", "Title"),
        (Setup(variant="v", equipment="rack 2"), "v @ rack 2", "Title on rack 2"),
        (Setup(variant="v", range_deg=(30, 120)), "v [30:120]", "Title (30–120°)"),
        (
            Setup(variant="v", equipment="x", range_deg=(None, 97.5)),
            "v @ x [nan:97.5]",
            "Title on x (to 97.5°)",
        ),
        (Setup(variant="v", range_deg=(10, None)), "v [10:nan]", "Title (from 10°)"),
        (
            Setup(variant="v", hold=(30.0, 90.0)),
            "v held 30° : 90°",
            "Title held 30° ÷ 90°",
        ),
    ],
)
def test_a_setup_has_one_key_and_one_wording(setup, key, words):
    assert str(setup) == setup.key == key
    assert setup.label({"v": "Title"}) == words
    assert say_setups(key, {"v": "Title"}) == words
    assert say_setups(f"more of {key}.", {"v": "Title"}) == f"more of {words}."


def test_the_key_of_a_setup_is_that_of_the_strength_series():
    rows = pd.DataFrame(
        [("v", "", np.nan, np.nan), ("v", "x", 30.0, np.nan), ("w", "", 12.5, 110.0)],
        columns=["variant", "equipment", "range_from_deg", "range_to_deg"],
    )
    setups = [Setup.of(row) for _, row in rows.iterrows()]
    sets = rows.assign(lifter="A", performed_on="2025-01-06", load_kg=20.0, reps=8)
    assert list(map(str, setups)) == completed(sets)["setup"].tolist()
    assert [setup.span for setup in setups] == [None, None, (12.5, 110.0)]
    assert setups[1].plain.equipment == ""
    assert len({*setups, *setups}) == 3


def test_a_body_may_be_as_large_in_a_log_as_in_the_mechanics():
    for name, column in (("forearm_length", "forearm_m"), ("stature", "stature_m")):
        assert tuple(FIELDS[name].limits) == BODY_LIMITS[column]
    assert tuple(FIELDS["body_mass"].limits) == BODY_LIMITS["body_mass_kg"]


@pytest.mark.analytic
def test_ratios_change_their_reference_as_differences_of_normals_do():
    # Var(a - b) = Var a + Var b - 2 Cov(a, b).
    other = RATIOS.against("b")
    np.testing.assert_allclose(other.mean, [0.3, 0.0, 0.5])
    np.testing.assert_allclose(np.diag(other.cov), [0.11, 0.0, 0.06])
    both = RATIOS.with_reference("r")
    assert both.labels == ("a", "b", "c", "r")
    assert both.mean[3] == 0
    assert not both.cov[3].any()
    assert both.with_reference("r") is both
    np.testing.assert_allclose(both.against("a").mean[3], -0.1)


def test_ratios_are_picked_by_label_and_shifted_by_what_is_known():
    some = RATIOS.subset(["c", "a"])
    np.testing.assert_array_equal(some.cov, [[0.01, 0.0], [0.0, 0.04]])
    np.testing.assert_allclose(some.shift([1.0, 2.0]).mean, [1.3, 2.1])
    np.testing.assert_array_equal(some.shift(1.0).cov, some.cov)
    joined = some.beside(RATIOS.subset(["b"]))
    assert joined.labels == ("c", "a", "b")
    np.testing.assert_array_equal(np.diag(joined.cov), [0.01, 0.04, 0.09])
    assert not joined.cov[2, :2].any()
    with pytest.raises(InputError, match="no ratio of 'd'; there are: a, b, c"):
        RATIOS.subset(["d"])
    with pytest.raises(InputError, match="1 labels need a mean of 1"):
        LogRatios(labels=("a",), mean=np.zeros(2), cov=np.eye(2))


@pytest.mark.published
def test_the_interval_is_of_ninety_per_cent():
    # Tables of the normal distribution: 0.95 quantile 1.645.
    assert round(Z90, 3) == 1.645
    np.testing.assert_array_equal(low_middle_high(np.arange(101.0)), [5, 50, 95])


@pytest.mark.trade
def test_a_week_begins_on_its_monday():
    # ISO 8601: 2026-01-04 is a Sunday, the week of Monday 2025-12-29.
    days = pd.Series(pd.to_datetime(["2026-01-04", "2026-01-05"]))
    assert week_of(days).dt.strftime("%Y-%m-%d").tolist() == [
        "2025-12-29",
        "2026-01-05",
    ]
