"""What is drawn ahead is what a curve test then asks for."""

import pytest
from simulated_fits import DEFAULTS, simulated_fit

from analytics.evidence import curve_test, draw_ahead, predictions


def test_a_first_test_of_a_lifter_after_it_draws_nothing_more(monkeypatch):
    fit = simulated_fit("peaked", lifters=1, sets=4, setups=DEFAULTS[:4])
    monkeypatch.setattr(predictions, "_KNOWN", {})
    plain = curve_test(fit, lifter="R01")
    assert len(plain.residuals)
    predictions._KNOWN.clear()
    for piece in draw_ahead(fit):
        piece()

    def drawn(*_, **__):
        raise AssertionError("drawn again")

    monkeypatch.setattr(predictions, "log_ratio_draws", drawn)
    after = curve_test(fit, lifter="R01")
    assert after.weights == pytest.approx(plain.weights, rel=1e-6)
    assert after.as_dict()["residuals"] == [
        pytest.approx(row) for row in plain.as_dict()["residuals"]
    ]
