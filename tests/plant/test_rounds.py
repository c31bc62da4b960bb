from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.plant.calendar import ShiftCalendar, ShiftPattern, shift_at, shift_on
from logbook.plant.model import Frequency, Often, Point, PointKind, Settings
from logbook.plant.rounds import Round, is_due, round_at, rounds_of

PLAN = ShiftCalendar(
    time_zone="America/Chicago",
    shifts=(
        ShiftPattern("D", "Day", time(6), time(18)),
        ShiftPattern("N", "Night", time(18), time(6)),
    ),
    crews=(),
    roster=(),
    anchor=date(2026, 1, 1),
)


def point(often, hours=0, kind=PointKind.NUMBER):
    """A point due as often as this."""
    return Point(key="p", name="P", area="a", kind=kind, frequency=Frequency(often, hours))


@pytest.mark.parametrize(
    ("day", "hourly", "two_hourly"),
    [
        (date(2026, 3, 7), 11, 6),
        (date(2026, 10, 31), 13, 7),
        (date(2026, 6, 1), 12, 6),
    ],
)
def test_a_night_of_a_clock_change_has_its_true_number_of_rounds(day, hourly, two_hourly):
    """11 and 13 hourly, 6 and 7 two-hourly rounds, evenly spaced in elapsed time."""
    night = shift_on(PLAN, day, "N")
    for hours, count in ((1, hourly), (2, two_hourly)):
        rounds = rounds_of(night, hours)
        assert [r.index for r in rounds] == list(range(count))
        assert [r.at for r in rounds] == [
            night.start + timedelta(hours=hours * k) for k in range(count)
        ]


def test_the_last_round_of_a_shift_lies_before_its_end():
    """A round that would fall on the end belongs to the next shift."""
    day = shift_on(PLAN, date(2026, 6, 1), "D")
    assert rounds_of(day, 12)[-1].at == day.start
    assert len(rounds_of(day, 5)) == 3
    assert len(rounds_of(day, 0.5)) == 24
    assert len(rounds_of(day, 0.1)) == 120


@given(
    minutes=st.integers(0, 3 * 365 * 24 * 60),
    hours=st.sampled_from([0.1, 0.25, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 12, 24]),
)
@settings(max_examples=300, deadline=None)
def test_round_at_is_the_last_round_of_the_shift_at_or_before_the_instant(minutes, hours):
    """It agrees with picking from the list of the shift's rounds."""
    instant = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(minutes=minutes)
    shift = shift_at(PLAN, instant)
    wanted = [r for r in rounds_of(shift, hours) if r.at <= instant][-1]
    assert round_at(PLAN, Settings(round_hours=hours), instant) == wanted


@pytest.mark.parametrize(
    ("often", "hours", "day", "night"),
    [
        (Often.ROUND, 0, [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5]),
        (Often.HOURS, 1, [0, 1, 2, 3, 4, 5], [0, 1, 2, 3, 4, 5]),
        (Often.HOURS, 4, [0, 2, 4], [0, 2, 4]),
        (Often.HOURS, 6, [0, 3], [0, 3]),
        (Often.HOURS, 8, [0, 4], [0, 4]),
        (Often.SHIFT, 0, [0], [0]),
        (Often.DAY, 0, [0], []),
        (Often.SAMPLE, 0, [], []),
    ],
)
def test_a_point_is_due_in_the_rounds_of_its_frequency(often, hours, day, night):
    """Indices of the two-hourly rounds of a day and a night shift in which it is due."""
    for key, wanted in (("D", day), ("N", night)):
        rounds = rounds_of(shift_on(PLAN, date(2026, 6, 1), key), 2.0)
        due = [r.index for r in rounds if is_due(point(often, hours), r, 2.0, first_shift_key="D")]
        assert due == wanted


def test_rounds_a_tenth_of_an_hour_apart_still_meet_the_whole_hours():
    """0.1 h times 30 is not exactly 3 in binary, and the point every 3 h is due all the same."""
    rounds = rounds_of(shift_on(PLAN, date(2026, 6, 1), "D"), 0.1)
    due = [r.index for r in rounds if is_due(point(Often.HOURS, 3), r, 0.1, first_shift_key="D")]
    assert due == [0, 30, 60, 90]


def test_a_computed_point_is_never_due():
    """It follows from others, however often they are read."""
    first = rounds_of(shift_on(PLAN, date(2026, 6, 1), "D"), 2.0)[0]
    assert not is_due(point(Often.ROUND, kind=PointKind.COMPUTED), first, 2.0, first_shift_key="D")


def test_rounds_no_time_apart_and_points_every_0_hours_are_refused():
    """Both would never end; the sentence says which."""
    shift = shift_on(PLAN, date(2026, 6, 1), "D")
    with pytest.raises(ValueError, match="more than 0 hours apart"):
        rounds_of(shift, 0)
    with pytest.raises(ValueError, match="every 0 h"):
        is_due(point(Often.HOURS), Round(shift.start, shift, 0), 2, first_shift_key="D")
