"""Force-length curves against the published forms and evaluated libraries."""

import numpy as np
import pytest

from analytics.errors import InputError
from analytics.mechanics import CURVES, active_force, passive_force
from analytics.mechanics.curves import equilibrium, tendon_strain

# Fibre length: active force of Thelen 2003 (gamma 0.45), De Groote 2016 (parameters
# of SymPy 1.14) and Millard 2013 (OpenSim 4.6 default spline); passive force of
# Thelen (k 5, e0 0.6) and Millard. Evaluated with those libraries, 4 digits.
EVALUATED = [
    (0.5, 0.5738, 0.0529, 0.1177, 0.0000, 0.0000),
    (0.6, 0.7008, 0.2969, 0.4511, 0.0000, 0.0000),
    (0.7, 0.8187, 0.6753, 0.7670, 0.0000, 0.0000),
    (0.8, 0.9149, 0.8240, 0.8707, 0.0000, 0.0000),
    (0.9, 0.9780, 0.9253, 0.9568, 0.0000, 0.0000),
    (1.0, 1.0000, 0.9941, 1.0000, 0.0000, 0.0000),
    (1.1, 0.9780, 0.9549, 0.9574, 0.0088, 0.0170),
    (1.2, 0.9149, 0.8007, 0.8237, 0.0291, 0.0497),
    (1.3, 0.8187, 0.5897, 0.6840, 0.0759, 0.1261),
    (1.4, 0.7008, 0.3875, 0.5437, 0.1834, 0.2629),
    (1.6, 0.4493, 0.1273, 0.2637, 1.0000, 0.7171),
]


@pytest.mark.external
@pytest.mark.parametrize(
    "row",
    EVALUATED,
    ids=lambda row: f"length {row[0]}" if isinstance(row, tuple) else "",
)
def test_curves_match_the_evaluated_publications(row):
    length, thelen, de_groote, millard, thelen_passive, millard_passive = row
    half_digit = 0.5e-4 * 1.001
    assert abs(active_force(length, curve="thelen") - thelen) <= half_digit
    assert abs(active_force(length, curve="de_groote") - de_groote) <= half_digit
    assert abs(active_force(length, curve="millard") - millard) <= half_digit
    assert abs(passive_force(length, curve="thelen") - thelen_passive) <= half_digit
    assert abs(passive_force(length, curve="millard") - millard_passive) <= half_digit


@pytest.mark.published
def test_de_groote_curve_peaks_below_one_at_optimal_length():
    # De Groote 2016 with its printed parameters: 0.9941 at length 1, not 1.
    assert 0.99 < active_force(1.0, curve="de_groote") < 1


@pytest.mark.analytic
def test_de_groote_passive_force_is_zero_below_optimal_length_and_one_at_its_strain():
    # (exp(4 (l - 1) / 0.6) - 1) / (exp(4) - 1) is 1 at l = 1.6; negative below 1.
    assert passive_force(0.7, curve="de_groote") == 0
    np.testing.assert_allclose(passive_force(1.6, curve="de_groote"), 1, rtol=1e-12)


@pytest.mark.analytic
def test_tendon_is_continuous_and_stretches_by_its_published_strain():
    # Thelen 2003: 3.3 % at peak force; toe ends at a third of it.
    np.testing.assert_allclose(tendon_strain(1.0), 0.033, rtol=0.01)
    np.testing.assert_allclose(tendon_strain([0, -0.1]), 0, atol=1e-15)
    around = tendon_strain([0.33 - 1e-9, 0.33 + 1e-9])
    np.testing.assert_allclose(around[0], around[1], rtol=1e-6)


@pytest.mark.analytic
@pytest.mark.parametrize("curve", CURVES)
@pytest.mark.parametrize("pennation_rad", [0.0, 0.1745])
def test_fibre_and_tendon_forces_balance_and_lengths_add_up(curve, pennation_rad):
    # Definition: tendon length + fibre length along it = muscle-tendon length.
    table = equilibrium(
        slack_over_optimal=2.35, pennation_rad=pennation_rad, curve=curve
    )
    inside = (table.stretch > 0.4) & (table.stretch < 1.6)
    fibre = table.fibre[inside]
    along = np.sqrt(1 - (np.sin(pennation_rad) / fibre) ** 2)
    force = table.active[inside] + table.passive[inside]
    at_fibre = active_force(fibre, curve=curve) + passive_force(fibre, curve=curve)
    np.testing.assert_allclose(force, at_fibre * along, atol=2e-4)
    np.testing.assert_allclose(
        table.stretch[inside], fibre * along + 2.35 * tendon_strain(force), atol=2e-4
    )


@pytest.mark.analytic
def test_a_rigid_tendon_leaves_the_fibre_all_the_stretch():
    table = equilibrium(
        slack_over_optimal=2.0, pennation_rad=0.0, curve="thelen", rigid=True
    )
    inside = (table.stretch > 0.1) & (table.stretch < 2.4)
    np.testing.assert_allclose(table.fibre[inside], table.stretch[inside], atol=1e-9)


def test_an_unknown_curve_is_refused_with_those_that_exist():
    with pytest.raises(InputError, match="thelen, millard, de_groote"):
        active_force(1.0, curve="gauss")
