"""Research tables: what they say, what they withhold, and that others can read them."""

import json
from types import SimpleNamespace

import frictionless
import numpy as np
import pandas as pd
import pytest
from hand_made_fit import ONE_RM_KG, made_fit, made_sets

from analytics.errors import InputError
from analytics.reports import tables
from analytics.reports.package import write_package

STANDING, PAD, DUMBBELL = ONE_RM_KG
KEY = b"sixteen bytes or more"


def cohort(*, pad: int = 12, dumbbell: int = 3, lifters: int = 16) -> pd.DataFrame:
    """Everybody does the standing curl, some the pad, few the dumbbells."""
    done = {}
    for number in range(lifters):
        setups = [STANDING]
        setups += [PAD] if number < pad else []
        setups += [DUMBBELL] if number < dumbbell else []
        done[f"Z{number:02d}"] = setups
    return made_sets(done)


def curve() -> SimpleNamespace:
    residuals = pd.DataFrame(
        {
            "setup": [PAD, DUMBBELL],
            "predicted": [0.62, 1.0],
            "predicted_low": [0.5, 0.9],
            "predicted_high": [0.8, 1.1],
        }
    )
    return SimpleNamespace(
        verdict="not enough data yet",
        p_value=0.4,
        weights={"peaked": 0.5, "flat": 0.3, "inverted": 0.2},
        residuals=residuals,
    )


MODELLED = pd.DataFrame(
    {
        "variant": [PAD],
        "elbow_deg": [20.0],
        "low_deg": [20.0],
        "high_deg": [25.0],
        "limit_load_ratio": [0.6],
        "evenness": [0.59],
    }
)


def build(sets: pd.DataFrame, k: int = 10) -> tuple[dict[str, pd.DataFrame], object]:
    fit = made_fit(sets)
    panel = tables.count_panel(fit, sets, smallest_cell=k)
    found = {
        "ratios": tables.ratio_table(panel, fit, curve()),
        "strength_by_week": tables.week_table(panel, fit),
        "sticking_angles": tables.sticking_table(panel, MODELLED),
        "curve_test": tables.curve_table(panel, curve()),
        "data_quality": tables.quality_table(panel),
    }
    return found, fit


def test_a_setup_of_few_lifters_is_withheld_and_another_one_with_it():
    found, _ = build(cohort())
    ratios = found["ratios"].set_index("setup")
    assert ratios.loc[DUMBBELL, "status"] == "suppressed"
    # The total over setups would give the dumbbells away if the pad stood alone.
    assert ratios.loc[PAD, "status"] == "suppressed"
    counts = found["data_quality"].set_index(["setup", "kind"])["status"]
    assert counts[STANDING, "any"] == "published"
    hidden = ratios.loc[[DUMBBELL, PAD]].drop(columns=["reference", "status"])
    assert hidden.isna().all().all()


def test_without_small_cells_everything_is_published():
    found, _ = build(cohort(pad=12, dumbbell=11))
    for name in ("ratios", "strength_by_week", "data_quality"):
        assert set(found[name]["status"]) == {"published"}, name
    ratios = found["ratios"].set_index("setup")
    assert ratios.loc[PAD, "ratio"] == pytest.approx(0.6)
    assert ratios.loc[PAD, "predicted"] == pytest.approx(0.62)


def test_no_cell_of_any_table_is_about_fewer_lifters_than_stated():
    for k in (5, 10, 14):
        found, _ = build(cohort(pad=12, dumbbell=6), k)
        for name, table in found.items():
            if "lifters" in table:
                shown = table["lifters"].dropna().astype(int)
                assert (shown >= k).all(), (name, k)


def test_fewer_lifters_than_a_cell_writes_nothing():
    with pytest.raises(InputError, match="movement: 8, a table needs 10"):
        build(cohort(lifters=8))


def reconstruct(found: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """Everything an attacker gets by subtracting published from total counts."""
    quality = found["data_quality"]
    whole = quality[quality["kind"] == "any"]
    total = int(whole.loc[whole["setup"] == "all", "sets"].iloc[0])
    shown = whole[(whole["setup"] != "all") & (whole["status"] == "published")]
    gaps = [{"line": "all", "sets": total - int(shown["sets"].sum())}]
    for setup, count in shown.set_index("setup")["sets"].items():
        for name, key in (("data_quality", "kind"), ("strength_by_week", "week")):
            part = found[name]
            part = part[(part["setup"] == setup) & (part["status"] == "published")]
            part = part[part["kind"] != "any"] if key == "kind" else part
            gaps.append({"line": (setup, key), "sets": count - int(part["sets"].sum())})
    return pd.DataFrame(gaps)


@pytest.mark.parametrize("seed", range(8))
def test_subtracting_from_totals_never_isolates_few_lifters(seed):
    rng = np.random.default_rng(seed)
    sets = cohort(pad=int(rng.integers(8, 16)), dumbbell=int(rng.integers(1, 9)))
    sets = sets[rng.random(len(sets)) < 0.8].reset_index(drop=True)
    sets["failed"] = rng.random(len(sets)) < rng.choice([0.02, 0.3])
    found, fit = build(sets)
    setup_of = fit.set_points.set_index("set_id")["setup"]
    sets["setup"] = sets["set_id"].map(setup_of)
    sets["week"] = sets["performed_on"].dt.to_period("W-SUN").dt.start_time
    sets["kind"] = np.where(sets["failed"], "failure", "rir")
    for gap in reconstruct(found).itertuples():
        if gap.sets == 0:
            continue
        if gap.line == "all":
            hidden = found["ratios"].query("status == 'suppressed'")["setup"]
            about = sets[sets["setup"].isin(hidden)]
        else:
            setup, key = gap.line
            name = "data_quality" if key == "kind" else "strength_by_week"
            part = found[name]
            part = part[(part["setup"] == setup) & (part["status"] == "suppressed")]
            about = sets[(sets["setup"] == setup) & sets[key].isin(part[key])]
        assert len(about) == gap.sets  # the attack itself works
        assert about["lifter"].nunique() >= 10, gap.line


def test_the_difference_of_two_weeks_does_not_give_away_who_left():
    # Twelve lifters in some weeks, eleven in others: the means times their counts
    # would give the twelfth one's strength, were they plain means.
    rng = np.random.default_rng(5)
    errors = []
    sets = made_sets({f"Z{n:02d}": [STANDING] for n in range(12)})
    late = (sets["lifter"] == "Z11") & (
        sets["performed_on"] < sets["performed_on"].max()
    )
    sets = sets[~late].reset_index(drop=True)
    for _ in range(60):
        fit = made_fit(sets)
        strength_kg = dict(
            zip(sets["lifter"].unique(), rng.normal(35, 6, 12), strict=True)
        )
        fit.trend["strength_kg"] = fit.trend["lifter"].map(strength_kg)
        panel = tables.count_panel(fit, sets, smallest_cell=10)
        weeks = tables.week_table(panel, fit)
        total = weeks["mean_kg"] * weeks["lifters"]
        errors.append(float(total.iloc[-1] - total.iloc[-2]) - strength_kg["Z11"])
    # No better than naming the cohort mean, whose error is the spread of 6 kg; 18 %
    # below is the lower 2.5 % point of a spread estimated from 60 draws.
    assert np.sqrt(np.mean(np.square(errors))) >= 0.82 * 6


def test_a_station_named_like_a_person_does_not_appear_where_withheld():
    sets = cohort()
    fit = made_fit(sets)
    label = f"{DUMBBELL} @ Anna's garage"
    for table in (fit.setups, fit.set_points, fit.ratios, fit.trend, fit.personal):
        table["setup"] = table["setup"].replace(DUMBBELL, label)
    panel = tables.count_panel(fit, sets, smallest_cell=10)
    text = tables.ratio_table(panel, fit, curve()).to_csv()
    text += tables.quality_table(panel).to_csv()
    assert "Anna" not in text


def test_pseudonyms_replace_codes_and_follow_the_key():
    sets = cohort(pad=12, dumbbell=11)
    fit = made_fit(sets)
    panel = tables.count_panel(fit, sets, smallest_cell=10)
    one = tables.personal_table(panel, fit, key=KEY)
    assert not one["pseudonym"].str.contains("Z0").any()
    assert one["pseudonym"].nunique() == 12
    pd.testing.assert_frame_equal(one, tables.personal_table(panel, fit, key=KEY))
    other = tables.personal_table(panel, fit, key=KEY[::-1])
    assert set(one["pseudonym"]).isdisjoint(other["pseudonym"])


@pytest.fixture
def package(tmp_path):
    sets = cohort(pad=12, dumbbell=6)
    found, fit = build(sets, 5)
    panel = tables.count_panel(fit, sets, smallest_cell=5)
    found["personal_ratios"] = tables.personal_table(panel, fit, key=KEY)
    write_package(found, fit, tmp_path, smallest_cell=5)
    return tmp_path


# frictionless (PyPI, 5.21) is the outside reader of the standard.
@pytest.mark.external
def test_frictionless_finds_the_package_valid(package):
    report = frictionless.validate(str(package / "datapackage.json"))
    assert report.valid, report.flatten(["name", "rowNumber", "type", "message"])
    assert report.stats["tasks"] >= 6


@pytest.mark.external
def test_frictionless_notices_a_changed_number(package):
    path = package / "ratios.csv"
    path.write_bytes(path.read_bytes().replace(b"0.6", b"six"))
    report = frictionless.validate(str(package / "datapackage.json"))
    assert not report.valid


def test_the_description_names_units_sources_method_and_cell_size(package):
    described = json.loads((package / "datapackage.json").read_text("utf-8"))
    fields = {
        field["name"]: field
        for resource in described["resources"]
        if resource["type"] == "table"
        for field in resource["schema"]["fields"]
    }
    assert fields["mean_kg"]["unit"] == "kg"
    assert fields["elbow_deg"]["unit"] == "deg"
    assert all(field["description"] for field in fields.values())
    assert described["method"]["smallest_cell"] == 5
    assert described["method"]["version"]
    assert described["method"]["parameters"]["day_sd"] == 0.034
    assert len(described["sources"]) > 10


def test_neither_a_code_nor_the_key_is_in_any_file(package):
    for path in package.iterdir():
        content = path.read_bytes()
        for lifter in range(16):
            assert f"Z{lifter:02d}".encode() not in content, path.name
        assert KEY not in content, path.name


def test_a_later_package_without_a_key_leaves_no_personal_rows_behind(package):
    found, fit = build(cohort(pad=12, dumbbell=6), 5)
    write_package(found, fit, package, smallest_cell=5)
    assert not list(package.glob("personal_ratios*"))
    assert frictionless.validate(str(package / "datapackage.json")).valid


def test_parquet_holds_the_same_rows_as_csv(package):
    for path in package.glob("*.csv"):
        text = pd.read_csv(path)
        typed = pd.read_parquet(path.with_suffix(".parquet"))
        assert list(text.columns) == list(typed.columns)
        assert len(text) == len(typed)


def test_text_that_a_spreadsheet_would_run_is_disarmed_in_the_files(tmp_path):
    sets = cohort(pad=12, dumbbell=11)
    found, fit = build(sets)
    found["ratios"]["setup"] = "=cmd|' /C calc'!A0"
    write_package(found, fit, tmp_path, smallest_cell=10)
    rows = (tmp_path / "ratios.csv").read_text("utf-8").splitlines()[1:]
    assert all(row.startswith("'=cmd") for row in rows)
