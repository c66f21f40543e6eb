"""What tasks hand on comes back as it was, and says nothing to run."""

import io
import json
import zipfile

import numpy as np
import pandas as pd
import pytest

from analytics.cohort.bundle import PLAIN, packed, unpacked
from analytics.errors import FileRefusedError
from analytics.reports.disclosure import Tally


def test_values_come_back_and_names_like_paths_do_not_meet():
    value = {
        "a": {"b/c": np.arange(3)},
        "a/b": {"c": np.zeros((2, 0))},
        "rows": pd.DataFrame({"x": ["ä", None]}),
        "both": (Tally(3, 9, 4, 3), [1.5, None, np.float64(2)]),
    }
    found = unpacked(packed(value))
    assert found["a"]["b/c"].tolist() == [0, 1, 2]
    assert found["a/b"]["c"].shape == (2, 0)
    pd.testing.assert_frame_equal(found["rows"], value["rows"])
    assert found["both"] == (Tally(3, 9, 4, 3), [1.5, None, 2.0])
    assert packed(value) == packed(value)


@pytest.mark.parametrize("name", ["os:system", "analytics.cohort.run:run_cohort"])
def test_a_file_does_not_say_what_is_run(name):
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w") as archive:
        archive.writestr(PLAIN, json.dumps({"result": [name, {"dict": []}]}))
    with pytest.raises(FileRefusedError, match=name):
        unpacked(content.getvalue())
