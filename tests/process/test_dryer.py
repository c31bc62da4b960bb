"""Tests of the dryer: balances, inverse, account."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process import water
from logbook.process.air import make_air
from logbook.process.dryer import (
    DryerReadings,
    air_needed,
    dryer,
    drying_heat,
    exhaust_air,
    heat_of_air,
    heater_heat,
    meal_enthalpy,
    predicted_moisture,
    steam_factor,
)
from logbook.process.quantity import Quantity, absent

KEPT = {"meal_in_c": 103.0, "meal_out_c": 65.0, "exhaust_c": 58.0}


def readings(**changed):
    """Readings of an hour in a plant of some 60 t/h."""
    usual = {
        "meal": Quantity("meal", 50.0, "t", 0.3),
        "moisture_in": Quantity("moisture in", 18.5, "%", 0.2),
        "moisture_out": Quantity("moisture out", 12.3, "%", 0.1),
        "meal_in_c": Quantity("meal in", 103.0, "°C", 0.5),
        "meal_out_c": Quantity("meal out", 65.0, "°C", 1.0),
        "air_c": Quantity("air", 120.0, "°C", 1.0),
        "exhaust_c": Quantity("exhaust", 58.0, "°C", 1.0),
        "outside_c": Quantity("outside", 15.0, "°C", 0.5),
        "outside_humidity": Quantity("outside humidity", 70.0, "%", 3.0),
        "steam": Quantity("dryer steam", 4.3, "t", 0.06),
        "steam_kpa": Quantity("steam pressure", 900.0, "kPa abs", 10.0),
    }
    return DryerReadings(**{**usual, **changed})


def test_dry_matter_and_water_keep_their_enthalpy_apart():
    """Per kilogram of dry matter: 1.5 t and the water at its own enthalpy."""
    assert meal_enthalpy(60.0, 0.0) == pytest.approx(90.0)
    assert meal_enthalpy(60.0, 50.0) == pytest.approx(90.0 + water.liquid_enthalpy(60.0))


def test_drying_nothing_at_one_temperature_takes_no_heat():
    """Same moisture, same temperature: nothing."""
    heat = drying_heat(50.0, 15.0, 15.0, meal_in_c=60.0, meal_out_c=60.0, exhaust_c=58.0)
    assert heat == pytest.approx(0.0, abs=1e-9)


def test_heat_of_drying_by_hand():
    """100 t at 20 to 10 %: 80 t dry, 11.111 t of water leave; each term worked out here."""
    heat = drying_heat(100.0, 20.0, 10.0, meal_in_c=80.0, meal_out_c=60.0, exhaust_c=55.0)
    gone = 20.0 - 80.0 / 9.0
    by_hand = (
        gone * water.vapour_enthalpy(55.0)
        + 80.0 * 1.5 * (60.0 - 80.0)
        + 80.0 / 9.0 * water.liquid_enthalpy(60.0)
        - 20.0 * water.liquid_enthalpy(80.0)
    )
    assert heat == pytest.approx(by_hand)


@given(out=st.floats(5.0, 18.0), meal=st.floats(1.0, 500.0))
def test_predicted_moisture_is_the_inverse_of_the_heat_of_drying(out, meal):
    """The heat that drying to a moisture takes predicts that moisture."""
    heat = drying_heat(meal, 18.5, out, **KEPT)
    assert predicted_moisture(meal, 18.5, heat, **KEPT) == pytest.approx(out, abs=1e-9)


def test_more_heat_than_water_is_refused():
    """No moisture below nothing: the message names air, steam and meal."""
    with pytest.raises(ValueError, match="would take"):
        predicted_moisture(10.0, 12.0, 50000.0, **KEPT)


def test_air_closes_the_balance_of_heat_with_real_humid_air():
    """Enthalpy in with hot air and meal = enthalpy out with exhaust and meal, by CoolProp throughout.

    The balance takes the vapour's enthalpy from steam tables: agreement within 0.5 % of the heat.
    """
    inlet = make_air(15.0, relative_humidity=0.7)
    heat = drying_heat(50.0, 18.5, 12.3, **KEPT)
    air = air_needed(heat, inlet, 120.0, 58.0)
    gone = 50.0 - 50.0 * 0.815 / 0.877
    out = exhaust_air(air, gone, inlet, 58.0)
    meal_change = 50.0 * 0.815 * (meal_enthalpy(65.0, 12.3) - meal_enthalpy(103.0, 18.5))
    left_over = air * (inlet.heated_to(120.0).enthalpy - out.enthalpy) - meal_change
    assert abs(left_over) < 0.005 * gone * 2600.0
    assert out.humidity_ratio == pytest.approx(inlet.humidity_ratio + gone / air)


def test_humid_air_from_outside_needs_no_more_heat_but_leaves_wetter():
    """A humid day: nearly the same air, a wetter exhaust."""
    heat = drying_heat(50.0, 18.5, 12.3, **KEPT)
    wet, dry = (make_air(28.0, relative_humidity=share) for share in (0.95, 0.2))
    air = [air_needed(heat, inlet, 120.0, 58.0) for inlet in (wet, dry)]
    assert air[0] == pytest.approx(air[1], rel=0.04)
    out = [exhaust_air(one, 3.5, inlet, 58.0) for one, inlet in zip(air, (wet, dry), strict=True)]
    assert out[0].relative_humidity > out[1].relative_humidity + 0.1


def test_exhaust_as_hot_as_the_air_dries_nothing():
    """Refused in words."""
    with pytest.raises(ValueError, match="brings no heat"):
        air_needed(100.0, make_air(15.0, relative_humidity=0.7), 58.0, 58.0)


def test_exhaust_cannot_hold_more_than_saturation():
    """Too little air for the water: said with both figures."""
    with pytest.raises(ValueError, match="holds 60 g of water"):
        exhaust_air(10.0, 3.5, make_air(15.0, relative_humidity=0.7), 43.5)


def test_heater_and_dryer_share_the_air():
    """What the heater adds is what the dryer uses and what leaves warm."""
    inlet = make_air(15.0, relative_humidity=0.7)
    warm = inlet.heated_to(58.0).enthalpy - inlet.enthalpy
    assert heater_heat(1.0, inlet, 120.0) == pytest.approx(heat_of_air(inlet, 120.0, 58.0) + warm)


def test_an_account_closes_when_the_steam_is_what_was_needed():
    """Measured steam equal to the needed: predicted moisture is the measured one."""
    first = dryer(readings())
    again = dryer(readings(steam=Quantity("dryer steam", first.steam_needed.value, "t", 0.06)))
    assert again.steam_excess.value == pytest.approx(0.0, abs=1e-9)
    assert again.moisture_predicted.value == pytest.approx(12.3, abs=1e-6)
    assert again.moisture_difference.value == pytest.approx(0.0, abs=1e-6)
    assert again.water.value == pytest.approx(50.0 - 50.0 * 0.815 / 0.877)


def test_short_steam_predicts_wetter_meal_than_measured():
    """The two sides of the comparison agree in sign and in size against their uncertainty."""
    found = dryer(readings(steam=Quantity("dryer steam", 3.0, "t", 0.05)))
    assert found.steam_excess.value < 0.0
    assert found.moisture_predicted.value > 12.3
    assert found.moisture_difference.value < 0.0
    ratio = found.steam_excess.value / found.steam_excess.sigma
    other = found.moisture_difference.value / found.moisture_difference.sigma
    assert ratio == pytest.approx(other, rel=0.3)


def test_a_factor_of_good_months_takes_the_offset_out():
    """With the factor found over a good month, that month shows no difference."""
    short = readings(steam=Quantity("dryer steam", 3.0, "t", 0.05))
    factor = steam_factor(dryer(short).steam_needed, short.steam)
    assert factor.value > 1.0
    found = dryer(readings(steam=short.steam, factor=factor))
    assert found.steam_excess.value == pytest.approx(0.0, abs=1e-9)
    assert found.moisture_difference.value == pytest.approx(0.0, abs=1e-9)


def test_every_figure_has_an_uncertainty_and_its_inputs():
    """Propagated from the readings, the specific heat and the losses."""
    found = dryer(readings())
    for name in ("heat", "air", "steam_needed", "moisture_predicted", "exhaust_humidity"):
        figure = getattr(found, name)
        assert figure.sigma > 0.0, name
        assert "meal" in figure.inputs, name
        assert "specific heat of dry meal" in figure.inputs, name
    assert 1.0 < found.heat.value / found.water.value / 1000.0 < 2.6


def test_a_missing_reading_leaves_the_rest_standing():
    """Without the exhaust temperature the water is still known, and what is missing is named."""
    found = dryer(readings(exhaust_c=absent("exhaust", "°C")))
    assert found.water.is_known
    assert found.heat.missing == ("exhaust",)
    assert found.moisture_difference.missing == ("exhaust",)
