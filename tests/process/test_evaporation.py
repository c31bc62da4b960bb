"""Tests of miscella: boiling temperature, implied oil, stages."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.process import hexane
from logbook.process.evaporation import (
    boiling_temperature,
    hexane_activity,
    implied_oil,
    mole_fraction,
    oil_fraction_of,
    solvent_evaporated,
    stage,
)
from logbook.process.quantity import Quantity, absent

OIL = st.floats(0.0, 0.99)
KPA = st.floats(5.0, 105.0)
EXPONENT = st.floats(0.0, 1.0)


def test_pure_hexane_boils_as_hexane():
    """No oil, no elevation, whatever the correction."""
    for exponent in (0.0, 0.75, 1.0):
        found = boiling_temperature(101.325, 0.0, size_exponent=exponent)
        assert found == pytest.approx(hexane.boiling_point(101.325))


def test_raoults_law_is_the_law_by_mole_fractions():
    """70 % oil: 0.3/86.175 over 0.3/86.175 + 0.7/876.65 is 0.8135; p = x p_hexane."""
    mole = (0.3 / 86.17536) / (0.3 / 86.17536 + 0.7 / 876.65)
    assert mole_fraction(0.7) == pytest.approx(mole)
    boils = boiling_temperature(40.0, 0.7)
    assert mole * hexane.vapour_pressure(boils) == pytest.approx(40.0, rel=1e-9)


@given(oil=OIL)
def test_mole_and_mass_fractions_are_inverse(oil):
    """There and back."""
    assert oil_fraction_of(mole_fraction(oil)) == pytest.approx(oil, abs=1e-12)


@given(oil=st.floats(0.0, 0.95), kpa=KPA, exponent=EXPONENT)
def test_implied_oil_is_the_inverse_of_the_boiling_temperature(oil, kpa, exponent):
    """What boils at a temperature holds the oil that made it boil there."""
    boils = (
        boiling_temperature(kpa, oil, size_exponent=exponent)
        if _in_range(oil, kpa, exponent)
        else None
    )
    if boils is not None:
        assert implied_oil(boils + 1e-9, kpa, size_exponent=exponent) == pytest.approx(
            oil, abs=2e-6
        )


def _in_range(oil, kpa, exponent):
    activity = hexane_activity(mole_fraction(oil), size_exponent=exponent)
    return kpa / activity < hexane.vapour_pressure(hexane.HOTTEST_C - 0.1)


@given(oil=st.floats(0.01, 0.9), kpa=st.floats(5.0, 60.0))
def test_more_oil_and_more_pressure_both_boil_hotter(oil, kpa):
    """Monotone in either."""
    here = boiling_temperature(kpa, oil)
    assert boiling_temperature(kpa, oil + 0.01) > here
    assert boiling_temperature(kpa * 1.05, oil) > here


@given(oil=st.floats(0.05, 0.98), exponent=st.floats(0.05, 1.0))
def test_the_size_of_the_oil_only_lowers_the_pressure(oil, exponent):
    """Big molecules crowd hexane out by volume: activity below Raoult's, falling with the exponent."""
    mole = mole_fraction(oil)
    sized = hexane_activity(mole, size_exponent=exponent)
    assert sized < mole
    assert sized < hexane_activity(mole, size_exponent=exponent / 2.0)


def test_traces_of_hexane_in_oil_have_half_their_ideal_pressure():
    """Activity coefficient near 0.5 at infinite dilution in soybean oil (from memory)."""
    assert hexane_activity(1e-6, size_exponent=0.75) / 1e-6 == pytest.approx(0.5, abs=0.03)
    assert hexane_activity(0.0) == 0.0


@pytest.mark.parametrize(
    ("kpa", "oil", "words"),
    [
        (1.0, 0.5, "is the reading a vacuum"),
        (40.0, 72.0, "72 % as 0.72"),
        (40.0, -0.1, "outside the range"),
        (450.0, 0.98, "outside -30 to 180 °C"),
        (float("nan"), 0.5, "outside the range"),
    ],
)
def test_what_is_out_of_range_is_refused_in_words(kpa, oil, words):
    """Never a figure beyond the range."""
    with pytest.raises(ValueError, match=words):
        boiling_temperature(kpa, oil)


def test_miscella_colder_than_hexane_boils_does_not_boil():
    """35 degC at 40 kPa: pure hexane boils at 41.9 degC there, so one reading is wrong."""
    with pytest.raises(ValueError, match=r"pure hexane boils at 41\.\d °C"):
        implied_oil(35.0, 40.0)


def test_nearly_pure_oil_is_left_to_the_stripper():
    """110 degC at 5 kPa is beyond 99.5 % oil: boiling points tell no more."""
    with pytest.raises(ValueError, match="residual solvent"):
        implied_oil(110.0, 5.0)


def test_a_stage_tells_what_its_readings_say():
    """The corrected figure lies below Raoult's; its uncertainty holds the correction's own."""
    found = stage(
        Quantity("t", 100.0, "°C", 0.5),
        Quantity("p", 40.0, "kPa abs", 0.5),
        Quantity("oil", 95.5, "%", 0.5),
    )
    assert found.oil.value < found.oil_by_raoult.value
    assert found.oil.value == pytest.approx(96.4, abs=0.1)
    assert found.oil.sigma > found.oil_by_raoult.sigma
    assert found.difference.value == pytest.approx(95.5 - found.oil.value)
    assert abs(found.difference.value) < 2.0 * found.difference.sigma
    assert found.boils_at.value == pytest.approx(92.8, abs=0.5)


def test_a_stage_with_impossible_readings_has_no_figure_and_says_why():
    """Too cold to boil: no value, a note, and no exception in an account."""
    found = stage(
        Quantity("t", 30.0, "°C", 0.5),
        Quantity("p", 40.0, "kPa abs", 0.5),
        absent("oil", "%", "oil by refractometer"),
    )
    assert found.oil.value is None
    assert "nothing boils" in found.oil.note
    assert found.difference.missing == ("oil by refractometer",)


def test_solvent_evaporated_closes_with_oil():
    """Oil stays: feed less product is the vapour."""
    vapour = solvent_evaporated(20.0, 0.25, 0.75)
    assert vapour == pytest.approx(20.0 / 0.25 - 20.0 / 0.75)
    with pytest.raises(ValueError, match="cannot be"):
        solvent_evaporated(20.0, 0.0, 0.5)
