"""Tests of hexane and water boiling together."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process import hexane, water
from logbook.process.azeotrope import azeotrope, margin, water_per_hexane
from logbook.process.quantity import Quantity, absent


@given(p_kpa=st.floats(10.0, 500.0))
def test_the_two_pressures_add_up_to_the_total(p_kpa):
    """p(hexane) + p(water) = p at the temperature found, below the boiling point of either."""
    found = azeotrope(p_kpa)
    total = hexane.vapour_pressure(found.t_c) + water.saturation_pressure(found.t_c)
    assert total == pytest.approx(p_kpa, rel=1e-8)
    assert found.t_c < min(hexane.boiling_point(p_kpa), water.saturation_temperature(p_kpa))
    assert 0.0 < found.water_mass_fraction < found.water_mole_fraction < 1.0


def test_warmer_vapour_takes_more_water_along():
    """More water for each kilogram of hexane with every kelvin."""
    ratios = [water_per_hexane(t_c) for t_c in (62.0, 66.0, 70.0, 75.0, 85.0)]
    assert ratios == sorted(ratios)
    assert ratios[-1] > 3.0 * ratios[0]


def test_vapour_cannot_be_colder_than_the_azeotrope():
    """60 degC at one atmosphere: liquid solvent at the thermometer, said so."""
    with pytest.raises(ValueError, match=r"cannot be colder than 61\.4 °C"):
        water_per_hexane(60.0)


def test_vapour_as_hot_as_boiling_water_is_steam():
    """No hexane is left in it."""
    with pytest.raises(ValueError, match="all steam"):
        water_per_hexane(101.0)


def test_a_pressure_out_of_range_is_said():
    """10 to 500 kPa."""
    with pytest.raises(ValueError, match="10 to 500 kPa abs"):
        azeotrope(1.0)


def test_the_margin_falls_with_the_barometer():
    """A higher pressure raises the azeotrope: less margin at the same vapour temperature."""
    vapour = Quantity("vapour", 70.0, "°C", 0.5)
    low = margin(vapour, Quantity("barometer", 97.0, "kPa abs", 0.5))
    high = margin(vapour, Quantity("barometer", 103.0, "kPa abs", 0.5))
    assert low.value - high.value == pytest.approx(1.7, abs=0.2)
    assert high.value == pytest.approx(70.0 - azeotrope(103.0).t_c)


def test_a_margin_below_nothing_is_still_told():
    """A vapour colder than the azeotrope is the very thing to see: a negative margin, no error."""
    shown = margin(Quantity("vapour", 58.0, "°C", 0.5), Quantity("p", 101.3, "kPa abs", 0.5))
    assert shown.value < -3.0
    assert "does not replace" in shown.note


def test_a_missing_temperature_is_named():
    """Nothing is guessed."""
    assert margin(absent("vapour", "°C"), Quantity("p", 101.3, "kPa abs")).missing == ("vapour",)
