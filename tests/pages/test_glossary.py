"""Words of the trade are explained where they stand."""

import re

import pandas as pd
import pytest

from app import figure
from app.glossary import explained

# The ten terms that people new to the pages asked about.
TERMS = {
    "1RM": "latest 1RM of R07",
    "RIR": "8 repetitions with 2 in reserve",
    "RPE": "RPE 9",
    "Interval": "its 90 % interval",
    "Evenness": "Evenness 0.67",
    "Limit load": "Limit load from 0° to 140°",
    "Sticking region": "the sticking region lies near 90°",
    "Setup": "the same setup",
    "Shrunken ratio": "Personal ratios",
    "Verdict": "Verdict for R07",
}


@pytest.mark.parametrize(("term", "sentence"), TERMS.items())
def test_a_term_is_explained_in_the_sentence_it_stands_in(term, sentence):
    told = re.findall(r"\*\*(.+?)\*\*: (.+)", explained(sentence))
    assert [name for name, _ in told] == [term]
    assert len(told[0][1]) > 30


def test_a_sentence_without_a_term_has_no_tooltip():
    assert explained("R07 trained on 2025-01-06") is None
    assert explained("an armful of harm") is None


def test_columns_explain_their_words():
    columns = figure.column_settings(
        pd.DataFrame({"strength_kg": [40.5], "lifter": ["A"]})
    )
    assert columns["strength_kg"]["help"] == explained("1RM")
    assert columns["lifter"]["help"] is None
