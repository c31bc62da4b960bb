"""Water and steam against the verification values of IAPWS-IF97, and ASHRAE's saturation table.

IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997 for the Thermodynamic
Properties of Water and Steam: Tables 5 (region 1), 15 (region 2), 35 and 36 (saturation). The
release itself was not at hand; its values were read, the same to the last digit, in the test
files of several public programs that quote these tables.

ASHRAE Handbook Fundamentals (2017), chapter 1, Table 3, "Thermodynamic Properties of Water at
Saturation": read in the test file of PsychroLib, which quotes it and allows 3e-4.
"""

from __future__ import annotations

import pytest

from logbook.process import water

KELVIN = 273.15

TABLE_35 = [(300.0, 0.353658941e-2), (500.0, 0.263889776e1), (600.0, 0.123443146e2)]
"""Temperature, K; saturation pressure, MPa."""
TABLE_36 = [(0.1, 0.372755919e3), (1.0, 0.453035632e3), (10.0, 0.584149488e3)]
"""Pressure, MPa; saturation temperature, K."""
TABLE_15 = [(300.0, 0.0035, 0.254991145e4), (700.0, 0.0035, 0.333568375e4)]
"""Region 2 (steam): temperature, K; pressure, MPa; enthalpy, kJ/kg."""
TABLE_5_V = [(300.0, 3.0, 0.100215168e-2), (500.0, 3.0, 0.120241800e-2)]
"""Region 1 (liquid): temperature, K; pressure, MPa; specific volume, m3/kg."""
TABLE_5_H = [(300.0, 3.0, 0.115331273e3), (500.0, 3.0, 0.975542239e3)]
"""Region 1 (liquid): temperature, K; pressure, MPa; enthalpy, kJ/kg."""
ASHRAE_3 = [(5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3), (100.0, 101418.0), (150.0, 476101.4)]
"""Temperature, degC; saturation pressure, Pa."""

STEAM_TABLE = [
    (0.01, 0.61166, 2500.91),
    (20.0, 2.33921, 2453.52),
    (40.0, 7.38443, 2405.98),
    (60.0, 19.94580, 2357.65),
    (80.0, 47.41472, 2308.00),
    (100.0, 101.41798, 2256.40),
    (120.0, 198.6654, 2202.11),
    (150.0, 476.1014, 2113.75),
    (180.0, 1002.635, 2014.16),
]
"""degC, kPa by IF97, latent heat in kJ/kg by the scientific formulation IAPWS-95; worked out."""


@pytest.mark.parametrize(("kelvin", "mpa"), TABLE_35)
def test_saturation_pressure_is_that_of_table_35(kelvin: float, mpa: float) -> None:
    """All nine digits printed, where the range here reaches."""
    assert water.saturation_pressure(kelvin - KELVIN) == pytest.approx(mpa * 1000.0, rel=2e-9)


@pytest.mark.parametrize(("mpa", "kelvin"), TABLE_36)
def test_saturation_temperature_is_that_of_table_36(mpa: float, kelvin: float) -> None:
    """All nine digits printed."""
    assert water.saturation_temperature(mpa * 1000.0) + KELVIN == pytest.approx(kelvin, rel=2e-9)


def test_superheated_steam_has_the_enthalpy_of_table_15() -> None:
    """3.5 kPa and 300 or 700 K: the second is in range here, the first is steam at its edge."""
    for kelvin, mpa, enthalpy in TABLE_15:
        found = water.steam_enthalpy(mpa * 1000.0, kelvin - KELVIN)
        assert found == pytest.approx(enthalpy, rel=2e-9)


def test_liquid_at_saturation_stays_near_the_compressed_liquid_of_table_5() -> None:
    """Table 5 is at 3 MPa; saturated water differs by the pressure alone, by less than 0.15 % in volume."""
    for kelvin, _, volume in TABLE_5_V:
        assert 1.0 / water.liquid_density(kelvin - KELVIN) == pytest.approx(volume, rel=1.5e-3)
    for kelvin, mpa, enthalpy in TABLE_5_H:
        own = water.saturation_pressure(kelvin - KELVIN)
        pushed = (mpa * 1000.0 - own) * 1e-3
        assert water.liquid_enthalpy(kelvin - KELVIN) == pytest.approx(enthalpy - pushed, abs=1.5)


@pytest.mark.parametrize(("celsius", "pascal"), ASHRAE_3)
def test_saturation_pressure_is_that_of_ashrae(celsius: float, pascal: float) -> None:
    """To 3e-4, the tolerance that goes with the quoted table."""
    assert water.saturation_pressure(celsius) * 1000.0 == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize(("celsius", "kpa", "latent"), STEAM_TABLE)
def test_rows_of_the_steam_table(celsius: float, kpa: float, latent: float) -> None:
    """Pressure to the digits given; latent heat to 1e-4, by which the two formulations differ."""
    assert water.saturation_pressure(celsius) == pytest.approx(kpa, rel=1e-5)
    assert water.latent_heat(celsius) == pytest.approx(latent, rel=1e-4)
