"""Tests of water and steam: ranges, consistency; the figures themselves are in tests/published."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process import water


@given(t_c=st.floats(0.1, 365.0))
def test_boiling_temperature_and_pressure_are_inverse(t_c):
    """To 0.1 mK over the whole range."""
    again = water.saturation_temperature(water.saturation_pressure(t_c))
    assert again == pytest.approx(t_c, abs=1e-4)


@given(t_c=st.floats(1.0, 200.0))
def test_steam_at_its_boiling_point_is_saturated_steam(t_c):
    """With the temperature given or left out the enthalpy is the same."""
    p_kpa = water.saturation_pressure(t_c)
    saturated = water.steam_enthalpy(p_kpa)
    assert saturated == pytest.approx(water.vapour_enthalpy(t_c), abs=0.01)
    boils = water.saturation_temperature(p_kpa)
    assert water.steam_enthalpy(p_kpa, boils) == pytest.approx(saturated, abs=0.01)
    assert water.steam_enthalpy(p_kpa, boils + 0.5) > saturated


def test_direct_steam_gives_latent_heat_and_some_of_its_own():
    """Steam of 7 bar into meal at 105 degC: the enthalpies' difference."""
    given_heat = water.heat_given(700.0, 105.0)
    assert given_heat == pytest.approx(water.steam_enthalpy(700.0) - water.liquid_enthalpy(105.0))
    assert 2300.0 < given_heat < 2350.0


@pytest.mark.parametrize("t_c", [-0.1, 371.0, float("nan")])
def test_a_temperature_out_of_range_is_said(t_c):
    """One clear sentence with the range, no figure."""
    with pytest.raises(ValueError, match="0 to 370 °C"):
        water.saturation_pressure(t_c)


@pytest.mark.parametrize("p_kpa", [0.0, 25000.0, float("nan")])
def test_a_pressure_out_of_range_is_said(p_kpa):
    """The same for pressures."""
    with pytest.raises(ValueError, match="kPa abs is outside the range"):
        water.saturation_temperature(p_kpa)


def test_water_below_its_boiling_point_is_no_steam():
    """150 degC at 700 kPa is liquid; the message tells where it boils."""
    with pytest.raises(ValueError, match=r"is no steam: it boils at 165\.0"):
        water.steam_enthalpy(700.0, 150.0)


def test_liquid_water_is_as_dense_as_it_is_known_to_be():
    """998.2 kg/m3 at 20 degC and 958.4 at 100 (from memory)."""
    assert water.liquid_density(20.0) == pytest.approx(998.2, abs=0.1)
    assert water.liquid_density(100.0) == pytest.approx(958.4, abs=0.1)
