"""Every interval that is drawn is the one in the table; every spread is drawn from."""

import numpy as np
import pandas as pd
import pytest
from charts_drawn import CHARTS
from charts_tables import RATIOS, RESIDUALS, TREND

from analytics.catalogue import load_catalogue
from analytics.evidence.candidates import possible_setups
from analytics.evidence.gaps import gaps
from analytics.evidence.holds import maximal_holds
from analytics.mechanics import draws, log_ratio_draws
from analytics.reports.disclosure import (
    check_smallest_cell,
    may_show,
    rounded_count,
    suppressed_cells,
)


@pytest.mark.parametrize(
    ("name", "table", "columns"),
    [
        ("over_time", TREND, ("low_kg", "strength_kg", "high_kg")),
        ("latest", TREND.tail(1), ("low_kg", "strength_kg", "high_kg")),
        ("side_by_side", RATIOS, ("low", "ratio", "high")),
        ("residuals", RESIDUALS, ("gap_low", "gap_frac", "gap_high")),
    ],
)
def test_a_chart_draws_the_interval_of_its_table(name, table, columns):
    chart = CHARTS[name]().to_dict()
    held = {value for row in _rows(chart) for value in row.values()
            if isinstance(value, float)}  # fmt: skip
    for column in columns:
        assert set(table[column]) <= held


def _rows(chart: dict) -> list[dict]:
    return [row for table in chart["datasets"].values() for row in table]


# Frey Law and Avin 2010 (value from memory): elbow holds last 17.98 s x fraction^-2.21,
# so a hold of twice that time shows 2^(1/2.21) of its load as the whole maximum.
@pytest.mark.published
@pytest.mark.parametrize(
    ("hold_s", "factor"),
    [
        (5.0, 1.0),
        (17.98, 1.0),
        (2 * 17.98, 2 ** (1 / 2.21)),
        (90.0, 5.0056 ** (1 / 2.21)),
    ],
)
def test_a_longer_hold_shows_a_stronger_arm_by_the_published_endurance(hold_s, factor):
    holds = pd.DataFrame(
        {
            "kind": ["hold"],
            "lifter": "R01",
            "variant": "standing_barbell_curl",
            "angle_deg": 90.0,
            "load_kg": 40.0,
            "arms_share": 2.0,
            "hold_s": hold_s,
            "failed": True,
            "rir": np.nan,
        }
    )
    shown = maximal_holds(holds).table["load_kg"][0]
    assert shown == pytest.approx(20.0 * factor, rel=1e-4)
    assert maximal_holds(holds.assign(failed=False, rir=0.5)).effort_known
    assert not maximal_holds(holds.assign(failed=False, rir=0.6)).effort_known


def test_every_modelled_variant_may_start_25_and_50_degrees_later():
    catalogue = load_catalogue().variants
    possible = possible_setups("elbow_flexion")
    for name, variant in catalogue.items():
        if not variant.modelled or variant.movement != "elbow_flexion":
            continue
        first, last = variant.model.range_deg
        starts = [s.range_deg for s in possible if s.variant == name and s.range_deg]
        wanted = [(first + x, last) for x in (25, 50) if last - first - x >= 40]
        assert starts == wanted, name


PULLED = ["low_cable_curl", "band_curl", "prone_incline_curl"]
# The grip gives way in lifts of the whole body alone; a population is weighed; what
# pulls draw besides is tested with them.
ELSEWHERE = {"grip_force", "population_mean", "elbow_strength"}
ELSEWHERE |= {"pull_shoulder_deg", "pull_forearm_deg"}
# Of joints whose muscles are measured together.
OF_WHOLE_JOINTS = {f"torque_{x}" for x in ("peak", "width", "tilt", "neighbour")}
SPREAD = [name for name in load_catalogue().spreads if name not in ELSEWHERE]


@pytest.mark.parametrize("parameter", SPREAD)
def test_every_spread_of_the_data_moves_what_is_drawn(parameter, monkeypatch):
    own = draws.spread

    def without(name: str) -> float:
        kind = name.split(".")[0].split("@")[0]
        kind = {"anchor_forward": "anchor_m", "anchor_up": "anchor_m"}.get(kind, kind)
        return 0.0 if kind == parameter else own(name)

    wanted = {"reference": "standing_barbell_curl", "n_draws": 12, "seed": 3}
    if parameter == "rival_rise":
        wanted["shape"] = "rising"
    names = [*PULLED, "reverse_curl", "preacher_curl_45", "hammer_curl"]
    if parameter in OF_WHOLE_JOINTS:
        wanted["reference"] = "lying_leg_curl"
        names = ["seated_leg_curl", "lying_leg_curl_bent_half"]
    before = log_ratio_draws(names, **wanted)
    monkeypatch.setattr(draws, "spread", without)
    assert np.abs(log_ratio_draws(names, **wanted) - before).max() > 1e-4


@pytest.mark.parametrize("group", ["biceps", "brachialis", "brachioradialis"])
def test_moment_arms_differ_as_the_publications_do(group):
    table = load_catalogue().tables["moment_arm_at_90"]
    mine = np.array(table.columns["muscle"]) == group
    logs = np.log(table.numbers("moment_arm")[mine])
    least = float(load_catalogue().spreads["moment_arm"].sd)
    wanted = max(least, logs.std(ddof=1))
    assert draws.spread(f"moment_arm.{group}") == pytest.approx(wanted)


# Disclosure: common practice, values assumed.
@pytest.mark.trade
@pytest.mark.parametrize(
    ("lifters", "shown"), [(9, False), (10, True)], ids=["nine", "ten"]
)
def test_a_cell_holds_ten_lifters(lifters, shown):
    line = {"a": [f"R{n}" for n in range(lifters)] * 2}
    assert may_show(line["a"], smallest_cell=10) == shown
    assert (suppressed_cells(line, smallest_cell=10) == set()) == shown


def test_five_is_the_smallest_cell_and_counts_go_by_five():
    check_smallest_cell(5)
    told = [rounded_count(n, smallest_cell=5) for n in (5, 9, 10, 14, 15)]
    assert told == [5, 5, 10, 10, 15]


@pytest.mark.analytic
@pytest.mark.parametrize(("off", "missed"), [(0.99, False), (1.01, True)])
def test_a_gap_has_the_interval_of_log_and_model_together(off, missed):
    # both half widths on the log scale, at right angles
    reach = np.hypot(np.log(1.1), np.log(1.2))
    ends = {"low": 1 / 1.1, "high": 1.1, "predicted_low": 1 / 1.2}
    row = {"ratio": np.exp(off * reach), "predicted": 1.0, "predicted_high": 1.2}
    found = gaps(pd.DataFrame([row | ends])).iloc[0]
    assert found["misses"] == missed
    assert found["gap_low"] == pytest.approx(np.expm1(off * reach - reach))
    assert found["gap_high"] == pytest.approx(np.expm1(off * reach + reach))
