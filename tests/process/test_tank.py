"""Tests of tank contents by dip or ullage, and of the change of a stock."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from logbook.plant.model import TankTable
from logbook.process.oil_density import oil_density_of
from logbook.process.quantity import Quantity, absent
from logbook.process.tank import (
    area_at,
    contents,
    reading_for,
    stock_change,
    together,
    volume_at,
    volume_of,
    volumes_at,
)

STRAIGHT = TankTable((0.0, 2.0, 4.0), (0.0, 100.0, 200.0))
STEPS = st.lists(st.tuples(st.floats(0.05, 5.0), st.floats(0.05, 200.0)), min_size=1, max_size=12)


def table_of(steps, *, is_ullage=False):
    """A strapping table from steps of dip and volume."""
    dips = np.concatenate(([0.0], np.cumsum([dip for dip, _ in steps])))
    volumes = np.concatenate(([0.0], np.cumsum([volume for _, volume in steps])))
    return TankTable(tuple(dips.tolist()), tuple(volumes.tolist()), is_ullage)


@given(STEPS, st.lists(st.floats(0.0, 1.0), min_size=2, max_size=30))
def test_a_higher_dip_never_means_a_smaller_volume(steps, shares):
    """Whatever the table, the curve rises with it."""
    table = table_of(steps)
    found = volumes_at(table, np.sort(shares) * table.dip[-1])
    assert np.all(np.diff(found) >= -1e-9)


@given(STEPS, st.floats(0.0, 1.0), st.booleans())
def test_the_dip_for_a_volume_is_the_one_that_gives_it(steps, share, ullage):
    """Volume to dip and back, with dips and with ullages."""
    table = table_of(steps, is_ullage=ullage)
    volume = share * table.volume[-1]
    assert volume_at(table, reading_for(table, volume)) == pytest.approx(volume, abs=1e-6)


@given(STEPS, st.floats(0.0, 1.0))
def test_the_curve_is_the_one_of_scipy(steps, share):
    """The PCHIP of scipy as a second opinion, for volume and for slope."""
    table = table_of(steps)
    dip = share * table.dip[-1]
    other = PchipInterpolator(table.dip, table.volume)
    assert volume_at(table, dip) == pytest.approx(float(other(dip)), rel=1e-9, abs=1e-9)
    slope = max(float(other.derivative()(dip)), 0.0)
    assert area_at(table, dip) == pytest.approx(slope, rel=1e-6, abs=1e-6)


def test_each_line_of_the_table_is_kept():
    """At the dips of the table the volumes are the table's."""
    table = TankTable((0.0, 0.3, 1.0, 5.0, 5.5), (0.0, 2.0, 9.0, 60.0, 61.0))
    np.testing.assert_allclose(volumes_at(table, table.dip), table.volume)


def test_a_lying_cylinder_is_followed_more_closely_than_by_straight_lines():
    """By eleven lines, in the middle half: 0.02 % of the full tank off, straight lines 0.1 %."""

    def true(depth):
        angle = np.arccos(1.0 - depth)
        return 10.0 * (angle - (1.0 - depth) * np.sin(angle))

    dips = np.linspace(0.0, 2.0, 11)
    table = TankTable(tuple(dips.tolist()), tuple(true(dips).tolist()))
    at = np.linspace(0.6, 1.4, 81)
    error = np.abs(volumes_at(table, at) - true(at)).max() / true(dips)[-1]
    straight = np.abs(np.interp(at, dips, true(dips)) - true(at)).max() / true(dips)[-1]
    assert error < 0.0002
    assert straight > 5.0 * error


def test_an_ullage_is_read_down_from_the_last_dip():
    """1 m down in a 4 m tank is a dip of 3 m."""
    table = TankTable(STRAIGHT.dip, STRAIGHT.volume, is_ullage=True)
    assert volume_at(table, 1.0) == pytest.approx(150.0)
    with pytest.raises(ValueError, match=r"the ullage 4\.5 is outside the tank table \(0 to 4\)"):
        volume_at(table, 4.5)


def test_a_dip_outside_the_table_is_told_with_the_range():
    """Not carried on beyond the last line; in a series NaN."""
    with pytest.raises(ValueError, match=r"the dip 4\.2 is outside the tank table \(0 to 4\)"):
        volume_at(STRAIGHT, 4.2)
    with pytest.raises(ValueError, match="300 m³ is outside"):
        reading_for(STRAIGHT, 300.0)
    np.testing.assert_allclose(
        volumes_at(STRAIGHT, [-0.1, 0.0, 4.0, math.nan]), [math.nan, 0.0, 200.0, math.nan]
    )


@pytest.mark.parametrize(
    ("dip", "volume", "words"),
    [
        ((0.0,), (0.0,), "two lines"),
        ((0.0, 1.0), (0.0, 1.0, 2.0), "for each dip"),
        ((0.0, 1.0, 1.0), (0.0, 1.0, 2.0), "rise"),
        ((0.0, 1.0, 2.0), (0.0, 2.0, 1.0), "rise"),
    ],
)
def test_a_table_that_is_none_is_refused(dip, volume, words):
    """Too short, uneven or falling."""
    with pytest.raises(ValueError, match=words):
        volume_at(TankTable(dip, volume), 0.5)


def test_a_level_part_of_a_table_stays_level():
    """Two dips of one volume, as below a dead bottom."""
    table = TankTable((0.0, 1.0, 2.0, 3.0), (0.0, 0.0, 10.0, 20.0))
    assert volume_at(table, 0.5) == 0.0
    assert area_at(table, 0.5) == 0.0


def test_the_uncertainty_of_a_dip_reaches_the_mass():
    """50 m³ a metre and 3 mm: 0.15 m³; 0.1 % of the table, and the density's share."""
    dip = Quantity("dip", 2.5, "m", 0.003)
    temperature = Quantity("temperature", 40.0, "°C", 1.0)
    found = contents("crude oil", STRAIGHT, dip, oil_density_of, temperature, table_percent=0.1)
    assert found.volume.value == pytest.approx(125.0)
    assert found.volume.sigma == pytest.approx(math.hypot(0.15, 0.125))
    assert found.mass.value == pytest.approx(125.0 * 0.90646, rel=1e-4)
    relative = math.hypot(found.volume.sigma / 125.0, found.density.sigma / found.density.value)
    assert found.mass.sigma == pytest.approx(found.mass.value * relative, rel=1e-4)


def test_a_full_tank_keeps_its_uncertainty():
    """A dip on the last line may truly lie above it; that is no reason to tell nothing."""
    assert volume_of(STRAIGHT, Quantity("dip", 4.0, "m", 0.01)).sigma == pytest.approx(0.5)


def test_what_is_missing_of_a_tank_is_named():
    """A dip that was not taken, or that lies outside, leaves no mass and says why."""
    warm = Quantity("temperature", 40.0, "°C", 1.0)
    gone = contents("oil", STRAIGHT, absent("dip of tank 1", "m"), oil_density_of, warm)
    assert gone.mass.missing == ("dip of tank 1",)
    outside = contents("oil", STRAIGHT, Quantity("dip", 9.0, "m", 0.0), oil_density_of, warm)
    assert outside.mass.value is None
    assert "outside the tank table" in outside.mass.note
    cold = contents(
        "oil", STRAIGHT, Quantity("dip", 1.0, "m"), oil_density_of, absent("temperature", "°C")
    )
    assert cold.volume.value == 50.0
    assert cold.volume.sigma is None
    assert cold.mass.missing == ("temperature",)


@given(
    st.floats(0, 1000),
    st.floats(0, 1000),
    st.lists(st.floats(0, 100), max_size=4),
    st.lists(st.floats(0, 100), max_size=4),
)
def test_a_stock_closes(opening, closing, came, went):
    """Opening + received + made − dispatched = closing; used is what is made, with a minus."""
    quantities = [Quantity("load", one, "t", 0.1) for one in came]
    sent = [Quantity("load", one, "t", 0.1) for one in went]
    found = stock_change(
        "oil",
        Quantity("opening", opening, "t", 1.0),
        Quantity("closing", closing, "t", 1.0),
        received=quantities,
        dispatched=sent,
    )
    assert opening + sum(came) + found.made.value - sum(went) == pytest.approx(closing, abs=1e-6)
    assert found.used.value == pytest.approx(-found.made.value, abs=1e-9)
    assert found.change.value == pytest.approx(closing - opening)
    assert found.made.sigma == pytest.approx(
        math.sqrt(2.0 + 0.01 * (len(came) + len(went))), rel=1e-6
    )


def test_a_load_without_a_weight_leaves_what_was_made_open():
    """It is named, and the change by the dips still stands."""
    full = Quantity("opening", 100.0, "t", 1.0)
    found = stock_change("oil", full, full, dispatched=[absent("load 7", "t")])
    assert found.made.missing == ("load 7",)
    assert found.change.value == 0.0
    assert together("loads", "t", []).sigma == 0.0
