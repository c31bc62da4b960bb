"""Humid air against ASHRAE's tables, a textbook example and PsychroLib.

ASHRAE Handbook Fundamentals (2017), chapter 1, Table 2 "Thermodynamic Properties of Moist Air at
Standard Atmospheric Pressure" and Example 1: read in the test file of PsychroLib
(tests/test_psychrolib_si.py), which quotes them with the tolerances used here. PsychroLib takes
ideal gases; CoolProp real ones with the enhancement of saturation, so the two part by up to
0.7 % in humidity near saturation at 60 degC.
"""

from __future__ import annotations

import psychrolib
import pytest

from logbook.process.air import make_air, saturated_ratio
from logbook.process.pressure import barometer_at

TABLE_2 = [
    (5.0, 0.005425, 0.005, 18.639),
    (25.0, 0.020173, 0.005, 76.504),
    (50.0, 0.086863, 0.01, 275.353),
    (85.0, 0.838105, 0.02, 2307.539),
]
"""degC, saturated humidity ratio, its tolerance, saturated enthalpy in kJ/kg (tolerance 1 %)."""
ATMOSPHERE = [(0.0, 101325.0), (500.0, 95461.0), (1000.0, 89875.0), (4000.0, 61640.0)]
"""Height, m; pressure, Pa: ASHRAE, chapter 1, Table 1, as quoted there; to 1 Pa."""
GRID = [
    (t_c, humidity, kpa)
    for t_c in (-10.0, 0.0, 10.0, 20.0, 35.0, 50.0, 60.0)
    for humidity in (0.1, 0.4, 0.7, 0.95)
    for kpa in (85.0, 95.0, 101.325)
]


@pytest.fixture(autouse=True)
def si_units():
    """PsychroLib keeps its unit system in a module variable: set for the test, and put back."""
    before = psychrolib.GetUnitSystem()
    psychrolib.SetUnitSystem(psychrolib.SI)
    yield
    if before is not None:
        psychrolib.SetUnitSystem(before)


@pytest.mark.parametrize(("t_c", "ratio", "tolerance", "enthalpy"), TABLE_2)
def test_saturated_air_is_that_of_table_2(t_c, ratio, tolerance, enthalpy):
    """Humidity and enthalpy of saturated air, with the tolerances that go with the quotation."""
    assert saturated_ratio(t_c) == pytest.approx(ratio, rel=tolerance)
    air = make_air(t_c, relative_humidity=1.0)
    assert air.enthalpy == pytest.approx(enthalpy, rel=0.01)


def test_dry_air_at_25_degrees():
    """H = 25.148 kJ/kg and v = 0.8443 m3/kg of dry air (quoted as above; 0.03 and 0.1 %)."""
    air = make_air(25.0, humidity_ratio=0.0)
    assert air.enthalpy == pytest.approx(25.148, rel=5e-4)
    assert air.volume == pytest.approx(0.8443, rel=1e-3)


def test_moist_air_at_30_degrees():
    """h(30 degC, W 0.02) = 81.316 kJ/kg; at 95461 Pa v = 0.940855 m3/kg, density 1.08412 kg/m3.

    Real gas against the ideal formulas of the quotation: 0.1 %.
    """
    assert make_air(30.0, humidity_ratio=0.02).enthalpy == pytest.approx(81.316, rel=1e-3)
    high = make_air(30.0, humidity_ratio=0.02, p_kpa=95.461)
    assert high.volume == pytest.approx(0.940855374, rel=1e-3)
    assert high.density == pytest.approx(1.084119863, rel=1e-3)


def test_humidity_from_the_wet_bulb():
    """W(30 degC, wet bulb 25 degC, 95461 Pa) = 0.0192281274; the enhancement of saturation adds 0.5 %."""
    air = make_air(30.0, wet_bulb_c=25.0, p_kpa=95.461)
    assert air.humidity_ratio == pytest.approx(0.0192281274, rel=0.01)
    assert air.wet_bulb == pytest.approx(25.0, abs=0.01)


def test_ashrae_example_1():
    """40 degC dry bulb, 20 degC wet bulb at sea level, read off the chart to the digits printed."""
    air = make_air(40.0, wet_bulb_c=20.0)
    assert air.humidity_ratio == pytest.approx(0.0065, abs=1e-4)
    assert air.enthalpy == pytest.approx(56.7, abs=0.35)
    assert air.dew_point == pytest.approx(7.0, abs=0.6)
    assert air.relative_humidity == pytest.approx(0.14, abs=0.005)
    assert air.volume == pytest.approx(0.896, abs=1e-3)


def test_textbook_room():
    """25 degC, 75 %, 100 kPa: w = 0.0152 kg/kg (a thermodynamics course's worked example), h = 63.8.

    Inputs read at the course's page of the Pennsylvania State University; h = 1.005 x 25 +
    0.0152 x 2547.2 = 63.84 kJ/kg worked out. Real gas: 0.5 % more water.
    """
    air = make_air(25.0, relative_humidity=0.75, p_kpa=100.0)
    assert air.humidity_ratio == pytest.approx(0.0152, abs=1.5e-4)
    assert air.enthalpy == pytest.approx(63.84, rel=0.005)


@pytest.mark.parametrize(("t_c", "humidity", "kpa"), GRID)
def test_agrees_with_psychrolib_over_a_grid(t_c, humidity, kpa):
    """Humidity to 0.8 %, enthalpy to 0.9 kJ/kg, volume to 0.2 %, dew point and wet bulb to 0.1 K."""
    pascal = kpa * 1000.0
    air = make_air(t_c, relative_humidity=humidity, p_kpa=kpa)
    ratio = psychrolib.GetHumRatioFromRelHum(t_c, humidity, pascal)
    assert air.humidity_ratio == pytest.approx(ratio, rel=8e-3)
    same = make_air(t_c, humidity_ratio=ratio, p_kpa=kpa)
    enthalpy = psychrolib.GetMoistAirEnthalpy(t_c, ratio) / 1000.0
    assert same.enthalpy == pytest.approx(enthalpy, abs=0.9)
    assert same.volume == pytest.approx(psychrolib.GetMoistAirVolume(t_c, ratio, pascal), rel=2e-3)
    dew = psychrolib.GetTDewPointFromRelHum(t_c, humidity)
    assert air.dew_point == pytest.approx(dew, abs=0.1)
    wet = psychrolib.GetTWetBulbFromRelHum(t_c, humidity, pascal)
    if abs(wet) > 1.0:  # About nothing the two differ by whether the wet wick freezes.
        assert air.wet_bulb == pytest.approx(wet, abs=0.1)


@pytest.mark.parametrize(("height", "pascal"), ATMOSPHERE)
def test_standard_atmosphere(height, pascal):
    """Mean barometer at four heights, to 1 Pa."""
    assert barometer_at(height) * 1000.0 == pytest.approx(pascal, abs=1.0)
