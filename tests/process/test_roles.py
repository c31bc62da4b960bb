"""Tests of the roles that readings play in the arithmetic."""

import math

import pytest

from logbook.plant.file import read_plant
from logbook.plant.units import is_known
from logbook.process.roles import ROLES, Gather, role_unit


@pytest.fixture(scope="module")
def plant(repo_root):
    """The sample plant, which has every point of the template."""
    return read_plant(repo_root / "sample_db" / "plant.toml")


def test_every_role_is_filled_by_points_that_the_template_has(plant):
    """A role names no point that is not there; hours come from the record of stops."""
    known = {point.key for point in plant.points}
    assert {p for role in ROLES.values() for p in role.points} <= known
    assert [role.name for role in ROLES.values() if not role.points] == ["hours"]


def test_the_units_of_contents_and_temperatures_are_those_of_the_points(plant):
    """Nothing is converted on the way from a reading to a mean."""
    points = {point.key: point for point in plant.points}
    for role in ROLES.values():
        if role.gather in {Gather.MEAN, Gather.ANALYSIS, Gather.COUNTED, Gather.SUMMED}:
            assert {points[key].unit for key in role.points} == {role.unit}, role.name


def test_every_unit_is_one_that_can_be_converted():
    """All units are known at the edge."""
    assert all(is_known(role.unit) for role in ROLES.values())


def test_more_samples_make_a_mean_better_but_not_a_scale():
    """What is new with each reading averages out; calibration does not."""
    beans, oil = ROLES["beans"], ROLES["bean_oil"]
    assert oil.sigma(20.0, count=8) == pytest.approx(oil.sigma(20.0, count=2) / 2.0)
    assert beans.sigma(1500.0, count=50) == pytest.approx(3.0)


def test_a_counter_is_less_sure_over_a_shift_than_over_a_day():
    """The moments of reading weigh as much in a short period as in a long one."""
    beans = ROLES["beans"]
    day = beans.sigma(1500.0, per_hour=62.5) / 1500.0
    shift = beans.sigma(750.0, per_hour=62.5) / 750.0
    ends = math.sqrt(2.0) * 0.8 / 60.0 * 62.5
    assert shift == pytest.approx(math.hypot(0.002, ends / 750.0))
    assert shift > day > 0.002


def test_a_mean_of_no_readings_is_refused():
    """With the role named."""
    with pytest.raises(ValueError, match="bean_oil: a mean of 0"):
        ROLES["bean_oil"].sigma(20.0, count=0)


def test_an_unknown_role_is_named():
    """The unit of what does not exist is not made up."""
    with pytest.raises(KeyError, match="no role 'barley'"):
        role_unit("barley")
