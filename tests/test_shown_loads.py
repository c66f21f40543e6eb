"""Loads in pounds, as sentences and tables show them."""

import pandas as pd
import pytest

from analytics.shown_loads import loads_in, taken_away, text_in


# 1 lb is 0.45359237 kg: International yard and pound agreement, 1959.
@pytest.mark.published
@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("22.5 kg for 8", "49.6 lb for 8"),
        ("20 kg", "44 lb"),
        ("(90 % interval 38.3 to 44.5 kg)", "(90 % interval 84.4 to 98.1 lb)"),
        ("lies between 1,000 and 1,100.5 kg", "lies between 2205 and 2426.2 lb"),
        ("take -12.5 kg of help", "take -27.6 lb of help"),
        ("8 repetitions, 3 sets", "8 repetitions, 3 sets"),
        ("'20 kg' is refused", "'20 kg' is refused"),
        ("Estimated 1RM [kg]", "Estimated 1RM [lb]"),
    ],
)
def test_a_sentence_is_put_in_pounds_and_stays_as_it_is_in_kilograms(typed, shown):
    assert text_in(typed, "lb") == shown
    assert text_in(typed, "kg") == typed


@pytest.mark.published
def test_columns_of_kilograms_are_put_in_pounds_and_no_others():
    table = pd.DataFrame({"load_kg": [0.45359237], "reps": [8], "load_arm_m": [0.3]})
    assert loads_in(table, "lb").iloc[0].tolist() == [1.0, 8.0, 0.3]
    assert loads_in(table, "kg").equals(table)


@pytest.mark.published
def test_a_table_that_leaves_names_its_pounds_and_keeps_what_people_wrote():
    table = pd.DataFrame(
        {
            "load_kg": [45.359237],
            "flags": ["1RM near 20 kg"],
            "note": ["20 kg felt"],
        }
    )
    away = taken_away(table, "lb")
    assert list(away) == ["load_lb", "flags", "note"]
    assert away["load_lb"].tolist() == [pytest.approx(100.0)]
    assert away["flags"].tolist() == ["1RM near 44 lb"]
    assert away["note"].tolist() == ["20 kg felt"]
    assert taken_away(table, "kg") is table
