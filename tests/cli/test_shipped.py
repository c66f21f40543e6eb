"""Shipped simulations belong to the catalogue that is shipped with them."""

import shutil

import pytest
from pandas.testing import assert_frame_equal

from analytics.cli.bench.power import setup_information
from analytics.cli.bench.ship import CATALOGUE, EVIDENCE, catalogue_hash
from analytics.evidence import information_table


@pytest.mark.parametrize("name", sorted(path.name for path in EVIDENCE.glob("*.csv")))
def test_a_shipped_table_was_computed_from_the_present_catalogue(name):
    head = (EVIDENCE / name).read_text(encoding="utf-8").splitlines()[0]
    assert head.startswith("#")
    assert f"catalogue {catalogue_hash()};" in head, (
        f"{name} is older than the catalogue: renew it, see analytics/cli/bench"
    )


@pytest.mark.frozen
def test_what_informs_about_length_comes_out_as_shipped():
    again = setup_information("elbow_flexion")
    assert_frame_equal(again, information_table(), atol=0.006)


def test_the_fingerprint_sees_a_value_and_no_comment(tmp_path):
    copy = tmp_path / "data"
    shutil.copytree(CATALOGUE, copy)
    variants = copy / "variants.toml"
    text = variants.read_text(encoding="utf-8")
    variants.write_text(f"# a comment\n{text}", encoding="utf-8", newline="\r\n")
    assert catalogue_hash(copy) == catalogue_hash()
    changed = text.replace("range_from_deg = ", "range_from_deg = 1", 1)
    variants.write_text(changed, encoding="utf-8")
    assert catalogue_hash(copy) != catalogue_hash()
