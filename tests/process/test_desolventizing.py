"""Tests of the desolventizer-toaster's account."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process import desolventizing as dt
from logbook.process import hexane, water
from logbook.process.azeotrope import azeotrope, water_per_hexane
from logbook.process.desolventizing import (
    ToasterReadings,
    flakes_mass,
    moisture_leaving,
    solvent_driven_off,
    steam_needed,
    toaster,
)
from logbook.process.quantity import Quantity, absent

KEPT = {"flakes_c": 57.0, "meal_c": 105.0, "vapour_c": 71.0, "steam_kpa": 700.0}


def readings(**changed):
    """Readings of an hour in a plant of some 60 t/h."""
    usual = {
        "dry_meal": Quantity("dry meal", 40.0, "t", 0.3),
        "solvent_in": Quantity("spent solvent", 30.0, "%", 0.6),
        "water_in": Quantity("spent moisture", 8.6, "%", 0.3),
        "solvent_out": Quantity("toasted solvent", 300.0, "mg/kg", 30.0),
        "moisture_out": Quantity("toasted moisture", 18.3, "%", 0.2),
        "flakes_c": Quantity("flakes", 57.0, "°C", 1.0),
        "meal_c": Quantity("meal", 105.0, "°C", 0.5),
        "vapour_c": Quantity("vapour", 71.5, "°C", 0.5),
        "steam": Quantity("direct steam", 5.4, "t", 0.1),
        "steam_kpa": Quantity("steam pressure", 700.0, "kPa abs", 20.0),
    }
    return ToasterReadings(**{**usual, **changed})


@given(solvent=st.floats(20.0, 40.0), moisture=st.floats(4.0, 12.0))
def test_flakes_are_dry_meal_solvent_and_water(solvent, moisture):
    """Shares add up to the whole."""
    flakes = flakes_mass(40.0, solvent, moisture)
    assert flakes * (100.0 - solvent - moisture) / 100.0 == pytest.approx(40.0)


def test_flakes_without_dry_matter_cannot_be():
    """60 % solvent and 40 % water leave nothing."""
    with pytest.raises(ValueError, match="cannot be"):
        flakes_mass(40.0, 60.0, 40.0)


def test_solvent_left_in_meal_is_not_driven_off():
    """1000 mg/kg in 100 t of meal is 0.1 t less vapour."""
    all_of_it = solvent_driven_off(80.0, 30.0, 8.0, 0.0, 20.0)
    some_left = solvent_driven_off(80.0, 30.0, 8.0, 1000.0, 19.9)
    assert all_of_it - some_left == pytest.approx(0.1, rel=1e-6)


@given(jackets=st.floats(0.0, 8000.0), moisture=st.floats(1.0, 8.0))
def test_steam_needed_closes_the_balance_of_heat(jackets, moisture):
    """All enthalpy in equals all enthalpy out, written out the long way."""
    steam = steam_needed(20.0, 40.0, moisture, jacket_mj=jackets, **KEPT)
    leaves = 20.0 * water_per_hexane(71.0)
    held = moisture + steam - leaves
    into = steam * water.steam_enthalpy(700.0) + jackets + moisture * water.liquid_enthalpy(57.0)
    out = (
        20.0 * hexane.heat_to_vapour(57.0, 71.0)
        + 40.0 * 1.5 * (105.0 - 57.0)
        + held * water.liquid_enthalpy(105.0)
        + leaves * water.vapour_enthalpy(71.0)
    )
    assert into == pytest.approx(out, rel=1e-9)


def test_jackets_save_steam_and_dry_the_meal():
    """A megajoule through the jackets is a megajoule of steam less, and less water picked up."""
    wet, dry = (steam_needed(20.0, 40.0, 5.5, jacket_mj=q, **KEPT) for q in (0.0, 4000.0))
    assert wet - dry == pytest.approx(4000.0 / (water.heat_given(700.0, 105.0)))
    leaves = 20.0 * water_per_hexane(71.0)
    assert moisture_leaving(40.0, 5.5, wet, leaves) > moisture_leaving(40.0, 5.5, dry, leaves)


def test_more_water_than_came_in_cannot_leave():
    """Vapour too hot or steam meter too low: said so."""
    with pytest.raises(ValueError, match="vapour temperature and steam meter"):
        moisture_leaving(40.0, 1.0, 0.5, 2.0)


def test_an_account_closes_on_the_steam_the_moisture_asks_for():
    """With that steam the predicted moisture is the measured one and nothing is in excess."""
    first = toaster(readings())
    steam = Quantity("direct steam", first.steam_for_moisture.value, "t", 0.1)
    again = toaster(readings(steam=steam))
    assert again.moisture_predicted.value == pytest.approx(18.3, abs=1e-9)
    assert again.moisture_difference.value == pytest.approx(0.0, abs=1e-9)
    assert again.steam_excess.value == pytest.approx(0.0, abs=1e-9)


def test_jackets_and_direct_steam_are_all_the_heat():
    """The share of direct steam and the jackets' heat are two sides of one balance.

    The jackets' heat put back into `steam_needed` returns the measured steam.
    """
    found = toaster(readings())
    flakes = flakes_mass(40.0, 30.0, 8.6)
    steam = steam_needed(
        found.solvent.value,
        40.0,
        flakes * 0.086,
        flakes_c=57.0,
        meal_c=105.0,
        vapour_c=71.5,
        steam_kpa=700.0,
        jacket_mj=found.jacket_heat.value,
    )
    assert steam == pytest.approx(5.4, rel=1e-9)
    direct = 5.4 * water.heat_given(700.0, 105.0)
    assert found.direct_share.value == pytest.approx(
        100.0 * direct / (direct + found.jacket_heat.value), rel=1e-9
    )


def test_condensed_steam_and_vapour_are_the_direct_steam():
    """What does not stay in the meal leaves with the vapour."""
    found = toaster(readings())
    both = found.steam_condensed.value + found.water_in_vapour.value
    assert both == pytest.approx(5.4)
    assert found.water_in_vapour.value == pytest.approx(
        found.solvent.value * found.water_per_solvent.value
    )
    assert found.steam_per_meal.value == pytest.approx(135.0)
    assert found.above_azeotrope.value == pytest.approx(71.5 - azeotrope().t_c)


def test_the_uncertainty_of_the_prediction_is_mostly_that_of_the_flakes_and_steam():
    """Half a point of moisture: what the analyses and the meter allow; exact ones would allow less."""
    found = toaster(readings())
    assert 0.2 < found.moisture_predicted.sigma < 0.8
    exact = toaster(readings(steam=Quantity("direct steam", 5.4, "t", 0.0)))
    assert exact.moisture_predicted.sigma < found.moisture_predicted.sigma


def test_a_missing_steam_meter_leaves_what_does_not_need_it():
    """Solvent, its heat and the steam that the moisture asks for stay; the rest names the meter."""
    found = toaster(readings(steam=absent("direct steam", "t", "sparge steam flow")))
    assert found.heat_for_solvent.is_known
    assert found.heat_for_meal.is_known
    assert found.steam_for_moisture.is_known
    for figure in (found.moisture_predicted, found.steam_excess, found.jacket_heat):
        assert figure.missing == ("sparge steam flow",)


def test_vapour_colder_than_the_azeotrope_is_told_and_not_worked_with():
    """No composition of the vapour, but the negative margin is shown."""
    found = toaster(readings(vapour_c=Quantity("vapour", 59.0, "°C", 0.3)))
    assert found.moisture_predicted.value is None
    assert "azeotrope" in found.moisture_predicted.note
    assert found.above_azeotrope.value < 0.0


def test_the_module_says_that_it_supports_and_does_not_replace():
    """A caution where figures could be taken as a statement of safety."""
    said = " ".join((dt.__doc__ or "").split())
    assert "support, and do not replace, the site's procedures, local codes" in said
