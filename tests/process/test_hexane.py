"""Tests of hexane: the joint of two equations, ranges; figures are in tests/published."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process import hexane


@given(t_c=st.floats(-29.9, 179.9))
def test_boiling_point_and_vapour_pressure_are_inverse(t_c):
    """To 0.1 mK over the whole range, across both joints."""
    again = hexane.boiling_point(hexane.vapour_pressure(t_c))
    assert again == pytest.approx(t_c, abs=1e-4)


@pytest.mark.parametrize("joint", [hexane.ANTOINE_FROM_C, hexane.ANTOINE_TO_C])
def test_the_two_equations_meet_without_a_step(joint):
    """A thousandth of a kelvin to either side: no jump, and the pressure rises through."""
    below, above = hexane.vapour_pressure(joint - 1e-3), hexane.vapour_pressure(joint + 1e-3)
    assert 0.0 < above / below - 1.0 < 2e-4


@given(t_c=st.floats(-29.0, 178.0))
def test_vapour_pressure_rises_everywhere(t_c):
    """Half a kelvin more is always more pressure."""
    assert hexane.vapour_pressure(t_c + 0.5) > hexane.vapour_pressure(t_c)


@pytest.mark.parametrize("t_c", [-31.0, 181.0, float("nan")])
def test_a_temperature_out_of_range_is_said(t_c):
    """For every figure, with the range."""
    for figure in (hexane.vapour_pressure, hexane.density, hexane.latent_heat):
        with pytest.raises(ValueError, match="-30 to 180 °C"):
            figure(t_c)


def test_a_pressure_out_of_range_is_said():
    """Nothing is extrapolated."""
    with pytest.raises(ValueError, match="outside the range for hexane"):
        hexane.boiling_point(5000.0)


def test_heat_to_vapour_is_warming_and_boiling():
    """From 57 to 72 degC: the latent heat at 72 and 15 K of a liquid of about 2.4 kJ/(kg K)."""
    warming = hexane.heat_to_vapour(57.0, 72.0) - hexane.latent_heat(72.0)
    assert warming / 15.0 == pytest.approx(2.42, abs=0.1)


def test_figures_on_vapour_say_that_they_support_and_do_not_replace():
    """The caution stands in every docstring where a figure could be taken as one of safety."""
    assert "supports, and does not replace" in hexane.CAUTION
    for figure in (hexane.vapour_mass, hexane.saturated_share):
        said = " ".join((figure.__doc__ or "").split())
        assert "replace, the site's procedures, local codes and licensed practice" in said


def test_vapour_over_warm_hexane_fills_the_gas():
    """Above its boiling point there is nothing but hexane: 100 %, not more."""
    assert hexane.saturated_share(80.0) == 100.0
    assert hexane.saturated_share(20.0) > hexane.UPPER_EXPLOSIVE_LIMIT
