"""Tests of the water account."""

import math

import pytest

from logbook.process.azeotrope import water_per_hexane
from logbook.process.quantity import Quantity, absent
from logbook.process.water_account import READINGS, water_account

EXACT = {
    "beans": 1500.0,
    "bean_moisture": 11.0,
    "flakes": 1400.0,
    "flake_moisture": 10.2,
    "hulls": 85.0,
    "hulls_added": 20.0,
    "hull_moisture": 9.0,
    "sparge_steam": 130.0,
    "solvent_vapour": 475.0,
    "vapour_temp": 71.0,
    "dome_pressure": 101.3,
    "toasted_moisture": 18.4,
    "dryer_moisture": 12.3,
    "meal": 1120.0,
    "meal_moisture": 11.8,
}


def readings(sigma=0.0, **changed):
    """Figures of a day; `sigma` is a share of each."""
    usual = {
        key: Quantity(key, value, READINGS[key], sigma * value) for key, value in EXACT.items()
    }
    return {**usual, **changed}


def line(account, name):
    """The line with this name."""
    return next(one.water for one in account.lines if one.water.name == name)


def test_the_account_reduces_to_the_balance_of_the_toaster():
    """Beans, dryer, cooler and products cancel: flakes and steam less vapour less what meal holds.

    So the unaccounted water is what the toaster's balance leaves, whatever the beans' moisture.
    """
    account = water_account(readings())
    dry = 1120.0 * 0.882 - 20.0 * 0.91
    toasted = dry * 18.4 / 81.6
    vapour = 475.0 * water_per_hexane(71.0, 101.3)
    assert account.unaccounted.value == pytest.approx(1400.0 * 0.102 + 130.0 - vapour - toasted)
    other = water_account(readings(bean_moisture=Quantity("bean_moisture", 12.0, "%", 0.0)))
    assert other.unaccounted.value == pytest.approx(account.unaccounted.value)


def test_lines_add_up_to_the_totals():
    """Ways in, ways out, their difference and its share."""
    account = water_account(readings())
    total_in = sum(one.water.value for one in account.lines if one.is_in)
    total_out = sum(one.water.value for one in account.lines if not one.is_in)
    assert account.total_in.value == pytest.approx(total_in)
    assert account.total_out.value == pytest.approx(total_out)
    assert account.unaccounted.value == pytest.approx(total_in - total_out)
    share = 100.0 * (total_in - total_out) / total_in
    assert account.unaccounted_share.value == pytest.approx(share)
    assert account.left_out == ()


def test_single_lines_by_hand():
    """Beans, dryer and hulls worked out here."""
    account = water_account(readings())
    dry = 1120.0 * 0.882 - 20.0 * 0.91
    assert line(account, "water in beans").value == pytest.approx(165.0)
    assert line(account, "driven off in the dryer").value == pytest.approx(
        dry * (18.4 / 81.6 - 12.3 / 87.7)
    )
    assert line(account, "in hulls sold").value == pytest.approx(65.0 * 0.09)
    assert line(account, "in finished meal").value == pytest.approx(1120.0 * 0.118)


def test_a_reading_that_cancels_adds_no_uncertainty():
    """The dryer's moisture stands in two lines with opposite sign: its error does not count.

    Adding the lines' own uncertainties in squares would count it twice.
    """
    unsure = Quantity("dryer_moisture", 12.3, "%", 1.0)
    account = water_account(readings(dryer_moisture=unsure))
    assert line(account, "driven off in the dryer").sigma > 5.0
    assert line(account, "driven off in the cooler").sigma > 5.0
    assert account.unaccounted.sigma == pytest.approx(0.0, abs=1e-6)


def test_the_uncertainty_of_the_closing_is_that_of_its_slopes():
    """Independent readings: the root of the squares of slope times uncertainty."""
    changed = {
        "sparge_steam": Quantity("sparge_steam", 130.0, "t", 2.0),
        "flake_moisture": Quantity("flake_moisture", 10.2, "%", 0.15),
    }
    account = water_account(readings(**changed))
    assert account.unaccounted.sigma == pytest.approx(math.hypot(2.0, 14.0 * 0.15), rel=1e-6)


def test_a_line_without_its_readings_is_left_out_by_name():
    """No vapour temperature: that line is missing, the totals say so, the closing is not guessed."""
    account = water_account(readings(vapour_temp=absent("vapour_temp", "°C", "vapour thermometer")))
    assert [one.name for one in account.left_out] == ["with the vapour of the desolventizer"]
    assert account.left_out[0].missing == ("vapour thermometer",)
    assert "with the vapour of the desolventizer" in account.total_out.note
    assert account.total_out.is_known
    assert account.unaccounted.value is None
    assert account.unaccounted.missing == ("vapour thermometer",)


def test_readings_that_are_not_given_are_missing_by_their_key():
    """An empty book: every line is left out, nothing is made up."""
    account = water_account({})
    assert account.lines == ()
    assert account.total_in.value is None
    assert {"beans", "sparge_steam", "meal"} <= set(account.unaccounted.missing)


def test_steam_injected_counts_where_the_plant_injects_it():
    """Left out without a word where it is not given, a line of its own where it is."""
    plain = water_account(readings())
    injected = water_account(readings(injected_steam=Quantity("injected_steam", 12.0, "t", 0.5)))
    assert injected.total_in.value - plain.total_in.value == pytest.approx(12.0)
    assert injected.unaccounted.value - plain.unaccounted.value == pytest.approx(12.0)


def test_an_unknown_reading_is_refused_by_name():
    """A slip of the pen in a key does not pass silently."""
    with pytest.raises(KeyError, match="no reading 'bean_moist'"):
        water_account({"bean_moist": Quantity("x", 1.0, "%")})
