"""Tonnes of a shift by the counter that weighs the beans, and what stops have cost."""

from dataclasses import replace
from datetime import timedelta

import pytest

from logbook.plant.model import Limits, PointKind
from logbook.record import NewReading, NewStatus
from logbook.shift.lost_time import lost_time_of
from logbook.shift.stops import StopFound, stops_in
from logbook.shift.throughput import bean_counter, nominal_rate, throughput_of

HOUR = timedelta(hours=1)


@pytest.fixture
def rated(plant):
    """The plant with a nominal rate of 60 t/h."""
    points = [
        replace(p, limits=Limits(target=60.0)) if p.key == "feed_rate" else p for p in plant.points
    ]
    return replace(plant, points=tuple(points))


@pytest.fixture
def weigh(book, clock):
    """Writes counts of the bean scale by local time."""

    def write(at, counts):
        for when, value in counts.items():
            clock.set(max(clock.now, at(when)))
            book.write("op1", [NewReading("feed", at(when), value=value, typed=str(value))])

    return write


@pytest.fixture
def day(book, rated, at):
    """What went through in the day shift of 2 March, looked at at some local time."""

    def told(now="03-02 18:10", plant=rated):
        start, end = at("03-02 06:00"), at("03-02 18:00")
        return throughput_of(book, plant, start, min(end, at(now)), at(now), "normal")

    return told


def test_the_bean_counter_is_what_tonnes_crushed_are_divided_by(plant):
    """Not the counter that stands first in the plant, nor the one whose rate is worked out."""
    assert bean_counter(plant).key == "feed"
    solvent_first = replace(plant, points=tuple(reversed(plant.points)))
    assert bean_counter(solvent_first).key == "feed"


def test_without_quotients_it_is_the_counter_that_has_a_rate(plant):
    """And without any rate there is none."""
    no_quotient = tuple(p for p in plant.points if p.key != "solvent_use")
    assert bean_counter(replace(plant, points=no_quotient)).key == "feed"
    no_rate = tuple(p for p in no_quotient if p.key != "feed_rate")
    assert bean_counter(replace(plant, points=no_rate)) is None


def test_the_nominal_rate_is_the_target_of_the_counters_rate(plant, rated):
    """None where the plant has no target."""
    assert nominal_rate(rated, bean_counter(rated), "normal") == 60.0
    assert nominal_rate(plant, bean_counter(plant), "normal") is None


def test_the_increase_from_start_to_end_is_the_throughput(weigh, day, at):
    """Read at both ends: nothing is estimated."""
    weigh(at, {"03-02 06:00": 1000, "03-02 12:00": 1360, "03-02 18:00": 1700})
    found = day()
    assert found.tonnes == pytest.approx(700)
    assert found.hours == pytest.approx(12)
    assert found.rate == pytest.approx(700 / 12)
    assert (found.start, found.end) == (at("03-02 06:00"), at("03-02 18:00"))


def test_what_lies_across_the_ends_is_shared_by_time(weigh, day, at):
    """From 05:00 to 07:00 went 120 t: half of it belongs to the shift; likewise at its end."""
    weigh(at, {"03-02 05:00": 1000, "03-02 07:00": 1120, "03-02 17:00": 1720, "03-02 19:00": 1820})
    assert day("03-02 19:00").tonnes == pytest.approx(60 + 600 + 50)


def test_a_rollover_within_the_shift_is_counted_through(weigh, day, at):
    """99 990 to 15 of 100 000 are 25 t."""
    weigh(at, {"03-02 06:00": 99_700, "03-02 12:00": 99_990, "03-02 18:00": 15})
    assert day().tonnes == pytest.approx(290 + 25)
    assert day().unknown == ()


def test_a_counter_that_was_set_back_leaves_its_stretch_out_and_says_so(weigh, day, at):
    """The tonnes are those of the known hours alone, and the rate is not falsified."""
    weigh(at, {"03-02 06:00": 5000, "03-02 08:00": 5120, "03-02 10:00": 0, "03-02 18:00": 480})
    found = day()
    assert found.tonnes == pytest.approx(120 + 480)
    assert found.hours == pytest.approx(10)
    assert [(c.start, c.end) for c in found.unknown] == [(at("03-02 08:00"), at("03-02 10:00"))]


def test_rounds_that_were_missed_do_not_lose_tonnes(weigh, day, at):
    """The counter went on counting."""
    weigh(at, {"03-02 06:00": 1000, "03-02 16:00": 1600})
    found = day()
    assert found.tonnes == pytest.approx(600)
    assert found.end == at("03-02 16:00")


def test_a_shift_without_counts_tells_nothing(day):
    """No zero where nothing is known."""
    found = day()
    assert (found.tonnes, found.rate, found.start, found.end) == (None, None, None, None)


def test_a_plant_without_counters_has_no_throughput(plant, day):
    """And the handover leaves it open."""
    bare = replace(
        plant,
        points=tuple(
            p for p in plant.points if p.kind is not PointKind.COUNTER and p.formula is None
        ),
    )
    assert day(plant=bare) is None


def test_a_known_stretch_is_told_and_one_beyond_the_counts_is_not(weigh, day, at):
    """Half an hour at 60 t/h is 30 t."""
    weigh(at, {"03-02 06:00": 1000, "03-02 18:00": 1720})
    found = day()
    assert found.known_in(at("03-02 08:00"), at("03-02 08:30")) == pytest.approx(30)
    assert found.known_in(at("03-02 17:00"), at("03-02 19:00")) is None


@pytest.fixture
def lost(book, rated, clock, at, day):
    """Stops of the day shift and their tonnes; `downs` as (scope, target, from, to)."""

    def told(*downs):
        rows = []
        for scope, target, start, end in downs:
            rows.append(NewStatus(scope, target, at(start), "down", "choked"))
            if end:
                rows.append(NewStatus(scope, target, at(end), "up"))
        clock.set(at("03-02 18:10"))
        book.write("op1", rows)
        start, end = at("03-02 06:00"), at("03-02 18:00")
        return lost_time_of(stops_in(book, rated, start, end), day(), start, end)

    return told


def test_a_stop_costs_what_the_counter_missed(weigh, lost, at):
    """One hour down in twelve, the counter 60 t short of 720: 60 t lost, nothing slow."""
    weigh(at, {"03-02 06:00": 0, "03-02 10:00": 240, "03-02 12:00": 300, "03-02 18:00": 660})
    found = lost(("plant", "", "03-02 10:30", "03-02 11:30"))
    assert found.lost_tonnes == pytest.approx(60)
    assert found.slow_tonnes == pytest.approx(0)
    assert found.line_down == HOUR
    assert not found.is_estimate


def test_a_stop_that_did_not_stop_the_beans_costs_nothing(weigh, lost, at):
    """An area beside the line stood, and the counter went on."""
    weigh(at, {"03-02 06:00": 0, "03-02 18:00": 720})
    found = lost(("area", "tanks", "03-02 10:00", "03-02 14:00"))
    assert found.lost_tonnes == pytest.approx(0)
    assert found.line_down == 4 * HOUR


def test_what_is_missing_beyond_the_stops_is_running_slow(weigh, lost, at):
    """Two hours at most 120 t of the 200 t that are missing."""
    weigh(at, {"03-02 06:00": 0, "03-02 12:00": 160, "03-02 18:00": 520})
    found = lost(("plant", "", "03-02 08:00", "03-02 10:00"))
    assert found.lost_tonnes == pytest.approx(120)
    assert found.slow_tonnes == pytest.approx(80)


def test_areas_that_stood_at_once_are_counted_once(weigh, lost, at):
    """A stop of the line is written for each of its areas."""
    weigh(at, {"03-02 06:00": 0, "03-02 18:00": 600})
    found = lost(
        ("area", "mills", "03-02 10:00", "03-02 12:00"),
        ("area", "extraction", "03-02 10:00", "03-02 12:00"),
        ("area", "tanks", "03-02 11:00", "03-02 12:00"),
    )
    assert found.line_down == 2 * HOUR
    assert found.lost_tonnes == pytest.approx(120)
    assert len(found.downs) == 3


def test_a_machine_costs_no_tonnes_of_its_own(weigh, lost, at):
    """Its neighbours took the beans; what they did not is running slow."""
    weigh(at, {"03-02 06:00": 0, "03-02 18:00": 700})
    found = lost(("equipment", "m1", "03-02 07:00", None))
    assert found.lost_tonnes == pytest.approx(0)
    assert found.slow_tonnes == pytest.approx(20)
    [down] = found.downs
    assert down.runs_on
    assert down.in_shift == 11 * HOUR


def test_a_stop_that_began_before_counts_from_the_start_of_the_shift(weigh, lost, at):
    """And says that it began before."""
    weigh(at, {"03-02 06:00": 0, "03-02 08:00": 0, "03-02 18:00": 600})
    found = lost(("plant", "", "03-02 03:00", "03-02 08:00"))
    [down] = found.downs
    assert (down.began_before, down.in_shift) == (True, 2 * HOUR)
    assert found.lost_tonnes == pytest.approx(120)


def test_where_the_counter_is_silent_the_nominal_rate_stands_in_and_it_says_so(lost):
    """An estimate is marked as one."""
    found = lost(("plant", "", "03-02 10:00", "03-02 12:00"))
    assert found.lost_tonnes == pytest.approx(120)
    assert found.is_estimate


def test_without_a_nominal_rate_only_the_hours_are_told(at):
    """No tonnes are made up."""
    start, end = at("03-02 06:00"), at("03-02 18:00")
    stop = StopFound("plant", "", "Plant", start + HOUR, start + 3 * HOUR, "power")
    found = lost_time_of([stop], None, start, end)
    assert (found.lost_tonnes, found.slow_tonnes) == (None, None)
    assert found.line_down == 2 * HOUR
