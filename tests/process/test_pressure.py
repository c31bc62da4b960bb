"""Tests of absolute pressures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.units import UnitError
from logbook.process.pressure import (
    absolute_kpa,
    absolute_pressure,
    barometer_at,
    reading_of,
    station_kpa,
)
from logbook.process.quantity import Quantity, absent

UNITS = (
    "mmHg vacuum",
    "inHg vacuum",
    "kPa vacuum",
    "mbar abs",
    "kPa abs",
    "mmHg abs",
    "inHg abs",
    "psia",
    "kPa(g)",
    "bar(g)",
    "mbar(g)",
    "psig",
    "mm H2O(g)",
)


@pytest.mark.parametrize(
    ("value", "unit", "kpa"),
    [
        (0.0, "mmHg vacuum", 98.0),
        (100.0, "mbar abs", 10.0),
        (7.0, "bar(g)", 798.0),
        (-58.0, "kPa(g)", 40.0),
        (58.0, "kPa vacuum", 40.0),
        (60.0, "mmHg abs", 60.0 * 0.133322387415),
        (20.0, "inHg vacuum", 98.0 - 20.0 * 3.386388640341),
    ],
)
def test_each_kind_of_gauge_is_understood(value, unit, kpa):
    """Absolute, gauge and vacuum readings at a barometer of 98 kPa."""
    assert absolute_kpa(value, unit, barometer_kpa=98.0) == pytest.approx(kpa, abs=1e-9)


@given(kpa=st.floats(1.0, 300.0), unit=st.sampled_from(UNITS), barometer=st.floats(80.0, 105.0))
def test_what_a_gauge_shows_gives_the_pressure_back(kpa, unit, barometer):
    """There and back in any unit and at any barometer."""
    shown = reading_of(kpa, unit, barometer_kpa=barometer)
    assert absolute_kpa(shown, unit, barometer_kpa=barometer) == pytest.approx(kpa, abs=1e-9)


def test_a_vacuum_deeper_than_the_barometer_is_refused():
    """Nothing is below nothing: gauge, unit or barometer is wrong, and the message says so."""
    with pytest.raises(
        ValueError, match=r"750 mmHg vacuum is below nothing at a barometer of 95 kPa"
    ):
        absolute_kpa(750.0, "mmHg vacuum", barometer_kpa=95.0)


def test_a_bare_difference_is_no_pressure():
    """A gauge of "460 mmHg" may be a vacuum or an absolute pressure: it is refused, not guessed."""
    with pytest.raises(UnitError, match="mmHg"):
        absolute_kpa(460.0, "mmHg")


def test_the_barometer_counts_in_the_uncertainty_of_a_vacuum_only():
    """An absolute gauge does not care for the weather; a vacuum gauge does."""
    barometer = Quantity("barometer", 101.3, "kPa abs", 0.8)
    vacuum = absolute_pressure(Quantity("stage", 61.3, "kPa vacuum", 0.6), barometer)
    straight = absolute_pressure(Quantity("stage", 40.0, "kPa abs", 0.6), barometer)
    assert vacuum.value == straight.value == pytest.approx(40.0)
    assert vacuum.sigma == pytest.approx(1.0)
    assert straight.sigma == pytest.approx(0.6)
    assert vacuum.inputs == ("stage", "barometer")


def test_an_impossible_vacuum_gives_no_figure_and_says_why():
    """In an account nothing is raised: the figure has no value and its note says why."""
    found = absolute_pressure(
        Quantity("stage", 110.0, "kPa vacuum", 0.5), Quantity("barometer", 101.3, "kPa abs", 0.8)
    )
    assert found.value is None
    assert "below nothing" in found.note


def test_a_missing_reading_is_named():
    """The reading's own missing inputs are handed on."""
    found = absolute_pressure(absent("stage", "kPa vacuum", "gauge 1"), Quantity("b", 101.0, "kPa"))
    assert (found.value, found.missing) == (None, ("gauge 1",))


def test_the_weather_reports_barometer_is_brought_to_the_plants_height():
    """At sea level it stays; at 300 m it is 3.5 kPa less."""
    assert station_kpa(101.8, 0.0) == pytest.approx(101.8)
    assert 101.8 - station_kpa(101.8, 300.0) == pytest.approx(3.57, abs=0.02)


def test_a_height_beyond_the_atmosphere_is_refused():
    """The formula holds to 11000 m."""
    with pytest.raises(ValueError, match="12000 m is outside"):
        barometer_at(12000.0)
