"""Downtime: what stood in a shift, how long of it, and what it cost at the nominal rate."""

import itertools
from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.file import read_plant
from logbook.plant.model import Limits
from logbook.plant.templates import template_path
from logbook.record import NewStatus
from logbook.shift.downtime import (
    downtime_of,
    line_areas,
    nominal_tonnes_per_hour,
    total_lost,
)


@pytest.fixture
def status(book, clock):
    """Writes that something goes down or comes back."""

    def do(scope, target, when, state, reason="belt torn"):
        clock.set(max(clock.now, when))
        row = NewStatus(scope, target, when, state, reason if state == "down" else "")
        book.write("op1", [row], kind="event")

    return do


@pytest.fixture
def rated(plant):
    """The plant with a nominal rate of 60 t/h, and with a last rate in extraction."""

    def named(point):
        if point.key == "feed_rate":
            return replace(point, limits=Limits(target=60.0))
        return point

    points = [named(point) for point in plant.points]
    more = replace(plant.point("feed"), key="meal", name="Meal scale", area="extraction")
    rate = plant.point("feed_rate")
    out = replace(
        rate, key="meal_rate", area="extraction", formula=replace(rate.formula, inputs=("meal",))
    )
    return replace(plant, points=(*points, more, out))


@pytest.fixture
def shift(at):
    """The day shift's start and end."""
    return at("03-02 06:00"), at("03-02 18:00")


def test_an_area_of_the_line_costs_its_hours_at_the_nominal_rate(book, rated, status, shift, at):
    """An hour and a half of sixty tonnes an hour."""
    status("area", "mills", at("03-02 08:00"), "down")
    status("area", "mills", at("03-02 09:30"), "up")
    (down,) = downtime_of(book, rated, *shift)
    assert (down.name, down.area, down.reason) == ("Mills", "mills", "belt torn")
    assert (down.start, down.end) == (at("03-02 08:00"), at("03-02 09:30"))
    assert down.hours == 1.5
    assert down.lost_tonnes == 90.0
    assert (down.began_before, down.runs_on) == (False, False)


def test_what_runs_over_the_ends_of_a_shift_is_shared_between_the_shifts(book, rated, status, at):
    """Each shift counts its own hours; together they are all of them."""
    status("area", "mills", at("03-02 16:00"), "down")
    status("area", "mills", at("03-03 08:00"), "up")
    turns = [at("03-02 06:00"), at("03-02 18:00"), at("03-03 06:00"), at("03-03 18:00")]
    found = [downtime_of(book, rated, a, b)[0] for a, b in itertools.pairwise(turns)]
    assert [one.hours for one in found] == [2.0, 12.0, 2.0]
    assert [one.runs_on for one in found] == [True, True, False]
    assert [one.began_before for one in found] == [False, True, True]
    assert sum(one.lost_tonnes for one in found) == 16 * 60
    assert found[2].start == at("03-02 16:00")


def test_a_shift_that_is_still_running_counts_up_to_now(book, rated, status, at):
    """What is down at the moment has no end yet."""
    status("plant", "", at("03-02 08:00"), "down", "no steam")
    (down,) = downtime_of(book, rated, at("03-02 06:00"), at("03-02 08:45"))
    assert (down.scope, down.name, down.area) == ("plant", "Plant of two mills", "")
    assert down.end is None
    assert down.inside == timedelta(minutes=45)
    assert down.lost_tonnes == 45.0


def test_a_machine_and_an_area_beside_the_line_cost_no_tonnes(book, rated, status, shift, at):
    """They are listed with their hours all the same."""
    status("equipment", "m1", at("03-02 08:00"), "down")
    status("area", "tanks", at("03-02 09:00"), "down")
    machine, tanks = downtime_of(book, rated, *shift)
    assert (machine.name, machine.area, machine.hours) == ("Mill 1", "mills", 10.0)
    assert (tanks.name, tanks.hours) == ("Tanks", 9.0)
    assert machine.lost_tonnes is tanks.lost_tonnes is None
    assert total_lost(rated, [machine, tanks], *shift) == 0.0


def test_time_in_which_several_areas_stood_is_lost_once(book, rated, status, shift, at):
    """Two areas for two hours each, one of them together: three hours."""
    status("area", "mills", at("03-02 08:00"), "down")
    status("area", "extraction", at("03-02 09:00"), "down")
    status("area", "mills", at("03-02 10:00"), "up")
    status("area", "extraction", at("03-02 11:00"), "up")
    found = downtime_of(book, rated, *shift)
    assert [one.lost_tonnes for one in found] == [120.0, 120.0]
    assert total_lost(rated, found, *shift) == 180.0


def test_without_a_nominal_rate_hours_are_told_and_no_tonnes(book, plant, status, shift, at):
    """Nothing is made up."""
    status("area", "mills", at("03-02 08:00"), "down")
    found = downtime_of(book, plant, *shift)
    assert found[0].hours == 10.0
    assert found[0].lost_tonnes is None
    assert total_lost(plant, found, *shift) is None
    assert nominal_tonnes_per_hour(plant) is None


def test_the_shipped_plants_have_their_line_and_their_rate():
    """Receiving to grinding; storage, utilities, laboratory and safety stand beside it."""
    metric = read_plant(template_path("soybean-metric"))
    assert nominal_tonnes_per_hour(metric) == 62.5
    line = line_areas(metric)
    assert (line[0], line[-1]) == ("receiving", "grinding")
    assert not {"storage", "utilities", "laboratory", "safety", "hulls"} & set(line)
    customary = read_plant(template_path("soybean-us"))
    assert nominal_tonnes_per_hour(customary) == pytest.approx(62.5, abs=0.05)
    assert line_areas(customary) == line


def test_a_plant_without_a_bean_counter_has_no_line(plant):
    """Then no area costs tonnes."""
    bare = replace(plant, points=tuple(p for p in plant.points if p.formula is None))
    bare = replace(bare, points=tuple(p for p in bare.points if p.key not in {"feed", "solvent"}))
    assert line_areas(bare) == ()
    assert nominal_tonnes_per_hour(bare) is None


def test_a_rate_that_is_no_mass_gives_no_tonnes(rated):
    """Pieces an hour are not tonnes."""
    points = [replace(p, unit="m³/h") if p.key == "feed_rate" else p for p in rated.points]
    assert nominal_tonnes_per_hour(replace(rated, points=tuple(points))) is None
