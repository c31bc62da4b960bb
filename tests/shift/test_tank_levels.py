"""Dips to volumes, and what stands in the tanks at the change of shift."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.model import TankTable
from logbook.process import tank
from logbook.shift.tank_levels import tank_levels, volume_at

TABLE = TankTable((0.0, 1.0, 2.0), (0.0, 20.0, 41.0))
ULLAGE = TankTable((0.0, 1.0, 2.0), (0.0, 20.0, 41.0), is_ullage=True)


@pytest.mark.parametrize(("dip", "volume"), [(0.0, 0.0), (1.0, 20.0), (2.0, 41.0)])
def test_on_a_line_of_the_table_it_is_the_lines_own_volume(dip, volume):
    """The tank was measured there."""
    assert volume_at(TABLE, dip) == pytest.approx(volume)


@given(dip=st.floats(0, 2))
def test_the_handover_and_the_accounts_read_a_dip_alike(dip):
    """One curve for both, so that the same dip never means two volumes."""
    assert volume_at(TABLE, dip) == tank.volume_at(TABLE, dip)


@pytest.mark.parametrize("dip", [-0.01, 2.01, float("nan")])
def test_a_dip_outside_the_table_has_no_volume(dip):
    """Nothing is guessed beyond it."""
    assert volume_at(TABLE, dip) is None


def test_an_ullage_is_read_down_from_the_last_dip():
    """0.5 m of empty space in a tank of 2 m is a dip of 1.5 m."""
    assert volume_at(ULLAGE, 0.5) == pytest.approx(volume_at(TABLE, 1.5))
    assert volume_at(ULLAGE, 2.0) == pytest.approx(0.0)


@given(a=st.floats(0, 2), b=st.floats(0, 2))
def test_a_higher_dip_never_means_less_volume(a, b):
    """For any two dips of the table."""
    low, high = sorted((a, b))
    assert volume_at(TABLE, low) <= volume_at(TABLE, high)


def test_the_last_dip_of_the_shift_stands_beside_the_one_before_it(book, plant, crew, at):
    """With both volumes and their difference."""
    crew.round(at("03-02 04:00"), {"dip": 0.8})
    crew.round(at("03-02 06:00"), {"dip": 1.0}, without=["feed"])
    crew.round(at("03-02 16:00"), {"dip": 1.5})
    [level] = tank_levels(book, plant, at("03-02 06:00"), at("03-02 18:00"))
    assert (level.reading.value, level.volume) == (1.5, pytest.approx(30.5, abs=0.2))
    assert (level.before.value, level.volume_before) == (1.0, pytest.approx(20.0))
    assert level.volume_change == pytest.approx(10.5, abs=0.2)
    assert not level.is_from_before


def test_a_tank_that_was_not_dipped_shows_its_old_dip_as_such(book, plant, crew, at):
    """The next crew sees that nobody looked."""
    crew.round(at("03-02 04:00"), {"dip": 0.8})
    crew.round(at("03-02 08:00"), {"dip": "!not_safe"})
    [level] = tank_levels(book, plant, at("03-02 06:00"), at("03-02 18:00"))
    assert level.reading.value == 0.8
    assert level.is_from_before


def test_a_tank_nobody_ever_dipped_has_no_volume(book, plant, at):
    """It is shown all the same."""
    [level] = tank_levels(book, plant, at("03-02 06:00"), at("03-02 18:00"))
    assert (level.reading, level.volume, level.volume_change) == (None, None, None)
