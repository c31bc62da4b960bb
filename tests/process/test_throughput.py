"""Tests of throughput against plan and nominal rate, and of what stops have cost."""

import math
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.model import Point, PointKind
from logbook.process.counter import totals, track
from logbook.process.throughput import Stop, against_plan, pareto, throughput
from logbook.shift.lost_time import lost_time_of
from logbook.shift.stops import StopFound
from logbook.shift.throughput import Count
from logbook.shift.throughput import Throughput as ShiftThroughput

HOUR = 3600.0
EPOCH = datetime(2026, 5, 1, tzinfo=UTC)


def day(rates=(60, 60, 30, 0, 60, 66), hours=2):
    """A counter read every two hours, t, at these mean rates."""
    counts = np.concatenate(([0.0], np.cumsum(rates) * hours))
    return track(np.arange(counts.size) * hours * HOUR, counts)


def lost(found, stops, nominal=60.0, **more):
    """The throughput of the first twelve hours."""
    return throughput(found, 0.0, 12 * HOUR, nominal_tph=nominal, stops=stops, **more)


STOPS = (
    Stop(4.5 * HOUR, 5.5 * HOUR, "mill belt"),
    Stop(6.0 * HOUR, 8.0 * HOUR, "power failure"),
)


def test_tonnes_rate_and_plan_of_a_period():
    """552 t in 12 h against a plan of 600: 48 t short, 8 %."""
    found = lost(day(), STOPS, plan_t=600.0, meter_percent=0.5)
    assert found.tonnes.value == pytest.approx(552.0)
    assert found.rate.value == pytest.approx(46.0)
    assert found.running_rate.value == pytest.approx(552.0 / 9.0)
    assert found.against_plan.value == pytest.approx(-48.0)
    assert found.against_plan_percent.value == pytest.approx(-8.0)
    assert found.against_plan.sigma == pytest.approx(2.76)


def test_availability_times_performance_is_utilisation():
    """75 % of the time up, at 102.2 % of the nominal rate: 76.7 %."""
    found = lost(day(), STOPS)
    assert found.availability.value == pytest.approx(75.0)
    assert found.performance.value == pytest.approx(102.222, abs=1e-3)
    product = found.availability.value * found.performance.value / 100.0
    assert found.utilisation.value == pytest.approx(product)


def test_the_two_notions_of_lost_tonnes_stand_side_by_side():
    """Nominal rate × 3 h is 180 t; the counter missed 180 t in stops and ran 12 t ahead."""
    found = lost(day(), STOPS)
    assert found.nominal_tonnes_down.value == pytest.approx(180.0)
    assert found.missed_in_stops.value == pytest.approx(60.0 + 120.0)
    assert found.missed_running.value == pytest.approx(-12.0)


def test_a_stop_that_did_not_stop_the_beans_costs_nothing_by_the_counter():
    """It still costs its hours at the nominal rate, which is why both are told."""
    found = lost(day(), [Stop(0.0, 2.0 * HOUR, "hull grinder")])
    assert found.nominal_tonnes_down.value == pytest.approx(120.0)
    assert found.missed_in_stops.value == 0.0
    assert found.losses[0].missed_tonnes == 0.0


def test_overlapping_stops_count_each_instant_once():
    """The one that began first keeps the time; the other has what is left."""
    found = lost(
        day(),
        [Stop(6 * HOUR, 8 * HOUR, "power"), Stop(7 * HOUR, 9 * HOUR, "steam")],
    )
    assert {one.reason: one.hours for one in found.losses} == {"power": 2.0, "steam": 1.0}
    assert found.down_hours == 3.0


def test_a_pareto_runs_from_the_dearest_reason_on():
    """By what the counter missed, by nominal rate × time down, and by hours."""
    found = lost(
        day(),
        [*STOPS, Stop(0.0, 2.5 * HOUR, "conveyor"), Stop(8.5 * HOUR, 9 * HOUR, "mill belt")],
    )
    rows = pareto(found.losses)
    assert [row.reason for row in rows] == ["power failure", "mill belt", "conveyor"]
    assert [row.amount for row in rows] == pytest.approx([120.0, 60.0, 0.0])
    assert [row.cumulative_percent for row in rows] == pytest.approx([66.667, 100, 100], abs=1e-3)
    by_time = pareto(found.losses, by="nominal")
    assert [row.reason for row in by_time] == ["conveyor", "power failure", "mill belt"]
    assert sum(row.share_percent for row in by_time) == pytest.approx(100.0)
    assert [row.amount for row in pareto(found.losses, by="hours")] == [2.5, 2.0, 1.5]
    assert {one.reason: one.stops for one in found.losses}["mill belt"] == 2


def test_without_a_nominal_rate_hours_are_all_that_is_told_of_stops():
    """And what is missing is named."""
    found = lost(day(), STOPS, nominal=None)
    assert found.missed_in_stops.missing == ("nominal rate",)
    assert found.performance.missing == ("nominal rate",)
    assert found.losses[0].nominal_tonnes is None
    assert pareto(found.losses) == ()
    assert found.down_hours == 3.0
    assert found.against_plan.missing == ("plan",)


def test_stops_of_which_the_counter_does_not_tell_keep_their_nominal_tonnes():
    """The counter fell between 4 and 6 h: nothing missed is made up for the stop in it."""
    found = lost(track(np.arange(7) * 2 * HOUR, [0, 120, 240, 0, 0, 120, 240]), STOPS)
    belt = next(one for one in found.losses if one.reason == "mill belt")
    assert (belt.hours, belt.told_hours) == (1.0, 0.0)
    assert belt.missed_tonnes is None
    assert belt.nominal_tonnes == 60.0
    assert found.tonnes.value is None
    assert found.rate.value == pytest.approx(48.0)
    assert found.rate.note == "counted in 10.0 of 12.0 h"


def test_no_reading_at_all_tells_nothing_of_what_was_missed():
    """The counter is named."""
    found = lost(track([], []), STOPS)
    assert found.missed_in_stops.missing == ("counter",)
    assert found.rate.value is None
    assert found.nominal_tonnes_down.value == 180.0


def test_days_against_plan_are_told_where_they_are_counted_whole():
    """One pass over all days; a day that is not counted whole has no figure."""
    found = totals([0, 12 * HOUR, 24 * HOUR], [0, 600, 1300], np.arange(4) * 12 * HOUR)
    np.testing.assert_allclose(against_plan(found, 650.0), [-50.0, 50.0, math.nan])


@given(
    st.lists(st.floats(0.0, 90.0), min_size=1, max_size=8),
    st.lists(st.tuples(st.integers(0, 900), st.integers(1, 200)), max_size=5),
)
def test_what_was_missed_is_nominal_less_counted(rates, spans):
    """Stops and running together are the shortfall of the counter; no stop costs too much."""
    hours = 2.0 * len(rates)
    stops = [Stop(a * 60.0, (a + b) * 60.0, f"reason {a % 3}") for a, b in spans]
    found = throughput(day(rates), 0.0, hours * HOUR, nominal_tph=60.0, stops=stops)
    missed = found.missed_in_stops.value + found.missed_running.value
    assert missed == pytest.approx(60.0 * hours - found.tonnes.value, abs=1e-6)
    assert sum(one.missed_tonnes or 0.0 for one in found.losses) == pytest.approx(
        found.missed_in_stops.value, abs=1e-6
    )
    for one in found.losses:
        assert -1e-9 <= (one.missed_tonnes or 0.0) <= one.nominal_tonnes + 1e-6


@given(
    st.lists(st.floats(0.0, 90.0), min_size=1, max_size=8),
    st.lists(st.tuples(st.integers(0, 900), st.integers(1, 200)), max_size=5),
)
def test_the_shift_tells_the_same_of_its_lost_time(rates, spans):
    """`logbook.shift.lost_time` reckons with datetimes what this reckons with arrays."""
    found = day(rates)
    end = float(found.edges_s[-1])
    spans = [(a, b) for a, b in spans if a * 60.0 < end]
    moments = [EPOCH + timedelta(seconds=float(at)) for at in found.edges_s]
    counts = tuple(
        Count(a, b, float(t)) for (a, b), t in zip(pairwise(moments), found.increase, strict=True)
    )
    counter = Point(key="beans", name="Beans", area="prep", unit="t", kind=PointKind.COUNTER)
    shift = ShiftThroughput(
        counter, counts, moments[0], moments[-1], None, end / HOUR, None, nominal=60.0
    )
    minute = timedelta(minutes=1)
    stood = [
        StopFound("plant", "", "Plant", EPOCH + a * minute, EPOCH + (a + b) * minute, "x")
        for a, b in spans
    ]
    theirs = lost_time_of(stood, shift, moments[0], moments[-1])
    stops = [Stop(a * 60.0, (a + b) * 60.0, "x") for a, b in spans]
    ours = throughput(found, 0.0, end, nominal_tph=60.0, stops=stops)
    assert ours.down_hours == pytest.approx(theirs.line_down.total_seconds() / HOUR)
    assert ours.missed_in_stops.value == pytest.approx(theirs.lost_tonnes, abs=1e-6)
    assert ours.missed_running.value == pytest.approx(theirs.slow_tonnes, abs=1e-6)
