"""Tests of the cooler."""

import pytest

from logbook.process.air import make_air
from logbook.process.cooler import CoolerReadings, cooler, cooling_heat
from logbook.process.quantity import Quantity, absent


def readings(**changed):
    """Readings of an hour."""
    usual = {
        "meal": Quantity("meal", 46.0, "t", 0.3),
        "moisture_in": Quantity("moisture in", 12.3, "%", 0.1),
        "moisture_out": Quantity("moisture out", 11.8, "%", 0.1),
        "meal_in_c": Quantity("meal in", 65.0, "°C", 1.0),
        "meal_out_c": Quantity("meal out", 24.0, "°C", 0.6),
        "outside_c": Quantity("outside", 15.0, "°C", 0.8),
        "outside_humidity": Quantity("outside humidity", 70.0, "%", 3.0),
    }
    return CoolerReadings(**{**usual, **changed})


def test_the_approach_is_meal_less_air():
    """24 over 15 degC: 9 K, with 1 K of uncertainty from 0.6 and 0.8."""
    found = cooler(readings())
    assert found.approach.value == pytest.approx(9.0)
    assert found.approach.sigma == pytest.approx(1.0)
    assert found.approach.unit == "K"


def test_the_wet_bulb_is_the_limit():
    """The meal stands further above the wet bulb than above the air itself, unless it is foggy."""
    found = cooler(readings())
    wet = make_air(15.0, relative_humidity=0.7).wet_bulb
    assert found.above_wet_bulb.value == pytest.approx(24.0 - wet)
    fog = cooler(readings(outside_humidity=Quantity("outside humidity", 100.5, "%", 0.0)))
    assert fog.above_wet_bulb.value == pytest.approx(fog.approach.value, abs=0.05)


def test_heat_by_hand():
    """Dry meal only: 100 t from 60 to 20 degC at 1.5 kJ/(kg K) gives 6000 MJ."""
    assert cooling_heat(100.0, 0.0, 0.0, meal_in_c=60.0, meal_out_c=20.0) == pytest.approx(6000.0)


def test_evaporation_takes_a_part_of_the_heat():
    """Half a point of moisture carries a fifth of the heat away; none carries none."""
    found = cooler(readings())
    assert found.water.value == pytest.approx(46.0 - 46.0 * 0.877 / 0.882)
    assert 10.0 < found.latent_share.value < 30.0
    same = cooler(readings(moisture_out=Quantity("moisture out", 12.3, "%", 0.1)))
    assert same.latent_share.value == pytest.approx(0.0, abs=1e-9)


def test_a_missing_reading_is_named_and_the_rest_stands():
    """Without outside humidity only the wet bulb is not known."""
    found = cooler(readings(outside_humidity=absent("outside humidity", "%")))
    assert found.above_wet_bulb.missing == ("outside humidity",)
    assert found.approach.is_known
    assert found.heat.is_known
    assert found.heat.sigma > 0.0
