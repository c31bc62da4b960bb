from __future__ import annotations

import itertools
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.localtime import to_local
from logbook.report.time_ticks import head_at, nearest, time_ticks

ZONES = st.sampled_from(
    ["America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "Asia/Kolkata", "UTC"]
)
CHICAGO = "America/Chicago"


def epoch(text: str) -> float:
    """Epoch seconds of an instant in UTC."""
    return datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp()


@given(st.integers(0, 2_000_000_000), st.floats(600.0, 3.5e8), ZONES, st.integers(3, 14))
def test_marks_rise_and_lie_in_the_span_and_are_few(start, length, zone, most):
    """On any axis of any zone the marks are in order, inside, and not more than fit."""
    ticks = time_ticks(float(start), start + length, zone, most)
    times = [tick.at for tick in ticks]
    assert times == sorted(set(times))
    assert all(start <= at <= start + length for at in times)
    assert len(ticks) <= most + 3


@given(st.integers(0, 2_000_000_000), st.floats(7200.0, 3.5e8), ZONES)
def test_marks_stand_at_round_local_times(start, length, zone):
    """Whatever the clocks do, a mark shows a whole minute, and from days on local midnight."""
    for tick in time_ticks(float(start), start + length, zone, 10):
        local = to_local(datetime.fromtimestamp(tick.at, UTC), zone)
        assert local.second == 0
        if ":" not in tick.text:
            assert (local.hour, local.minute) in {(0, 0), (1, 0)} or zone == "Australia/Lord_Howe"


def test_the_doubled_hour_has_two_marks_with_the_zones_name():
    """In the autumn night both 01:00 stand on the axis, told apart."""
    ticks = time_ticks(epoch("2026-11-01T04:00"), epoch("2026-11-01T10:00"), CHICAGO, 8)
    texts = [tick.text for tick in ticks]
    assert "01:00 CDT" in texts
    assert "01:00 CST" in texts
    assert len(texts) == len(set(texts))


def test_the_skipped_hour_has_no_mark():
    """In the spring night 02:00 never comes."""
    ticks = time_ticks(epoch("2026-03-08T05:30"), epoch("2026-03-08T11:30"), CHICAGO, 8)
    assert [tick.text for tick in ticks] == ["00:00", "01:00", "03:00", "04:00", "05:00", "06:00"]


def test_days_over_the_clock_change_stand_at_local_midnight():
    """The day of the change is 25 hours long on the axis."""
    ticks = time_ticks(epoch("2026-10-30T12:00"), epoch("2026-11-04T12:00"), CHICAGO, 6)
    gaps = [(b.at - a.at) / 3600 for a, b in itertools.pairwise(ticks)]
    assert gaps == [24, 25, 24, 24]


@pytest.mark.parametrize(
    ("start", "end", "most", "expected"),
    [
        ("2016-01-05", "2026-01-05", 11, [str(y) for y in range(2017, 2027)]),
        ("2026-01-20", "2026-06-10", 8, ["Feb", "Mar", "Apr", "May", "Jun"]),
        ("2026-03-03", "2026-03-08", 8, ["Tue 3", "Wed 4", "Thu 5", "Fri 6", "Sat 7"]),
    ],
)
def test_marks_are_named_as_people_speak(start, end, most, expected):
    """Years, months or days with their weekday, whichever fits."""
    ticks = time_ticks(epoch(start), epoch(end), CHICAGO, most)
    assert [tick.text for tick in ticks] == expected


def test_the_left_edge_is_named_where_no_head_is_near():
    """An axis of hours says which day it begins in."""
    start, end = epoch("2026-03-03T15:00"), epoch("2026-03-03T20:00")
    assert head_at(time_ticks(start, end, CHICAGO, 6), start, end, CHICAGO) == "Tue 3 Mar 2026"


def test_an_empty_span_has_no_marks():
    """Nothing is drawn on no axis."""
    assert time_ticks(5.0, 5.0, "UTC", 5) == []


@given(st.lists(st.integers(0, 1000), unique=True), st.integers(-50, 1050))
def test_nearest_is_nearest(times, at):
    """No other time is nearer than the one found."""
    rising = [float(t) for t in sorted(times)]
    place = nearest(rising, float(at))
    assert (place == -1) == (not rising)
    if rising:
        assert abs(rising[place] - at) == min(abs(t - at) for t in rising)
