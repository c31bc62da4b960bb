"""Periods by the plant's calendar: their bounds, their names, and how they are typed."""

from contextlib import suppress
from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern, shifts_between
from logbook.shift.period import (
    PeriodKind,
    day_period,
    days_of,
    days_period,
    edges_of,
    month_period,
    months_of,
    next_period,
    period_at,
    previous_period,
    production_day,
    rolling_year,
    until,
    week_period,
    year_period,
)
from logbook.shift.period_text import PeriodError, parse_period


def calendar_of(zone="America/Chicago", starts=((6, 0), (18, 0))):
    """A calendar of shifts that begin at the given local times."""
    ends = (*starts[1:], starts[0])
    shifts = tuple(
        ShiftPattern("DNE"[k], ("Day", "Night", "Evening")[k], time(*a), time(*b))
        for k, (a, b) in enumerate(zip(starts, ends, strict=True))
    )
    return ShiftCalendar(
        time_zone=zone,
        shifts=shifts,
        crews=(Crew("a", "Crew A", 0),),
        roster=("D",),
        anchor=date(2024, 1, 1),
    )


CALENDAR = calendar_of()
NOW = datetime(2026, 6, 18, 15, 4, tzinfo=UTC)
ZONES = st.sampled_from(
    ["America/Chicago", "Europe/Berlin", "Australia/Lord_Howe", "UTC", "Asia/Kathmandu"]
)
CALENDARS = st.builds(
    calendar_of, ZONES, st.sampled_from([((6, 0), (18, 0)), ((2, 30), (10, 30), (18, 30))])
)
KINDS = st.sampled_from(list(PeriodKind))
INSTANTS = st.integers(1_420_000_000, 2_080_000_000).map(lambda at: datetime.fromtimestamp(at, UTC))


def test_a_day_runs_from_its_first_shift_to_that_of_the_next_day():
    """The night that begins in the evening belongs to the day it begins on."""
    day = day_period(CALENDAR, date(2026, 6, 17))
    assert day.start == datetime(2026, 6, 17, 11, tzinfo=UTC)
    assert day.end == datetime(2026, 6, 18, 11, tzinfo=UTC)
    assert production_day(CALENDAR, datetime(2026, 6, 18, 8, tzinfo=UTC)) == date(2026, 6, 17)


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 7), 23), (date(2025, 11, 1), 25)])
def test_a_day_over_a_change_of_the_clocks_has_its_true_length(day, hours):
    """Twenty-three hours in spring, twenty-five in autumn."""
    assert day_period(CALENDAR, day).hours == hours


def test_periods_are_named_in_words():
    """As a person would say them."""
    assert month_period(CALENDAR, 2026, 5).name == "May 2026"
    assert week_period(CALENDAR, date(2026, 6, 3)).name == "week 23 of 2026"
    assert year_period(CALENDAR, 2026).name == "year 2026"
    assert rolling_year(CALENDAR, 2026, 5).name == "12 months to May 2026"
    assert period_at(CALENDAR, PeriodKind.SHIFT, NOW).name == "Day shift of 18 June 2026"
    spans = {
        (date(2026, 5, 1), date(2026, 5, 14)): "1 to 14 May 2026",
        (date(2026, 4, 28), date(2026, 5, 3)): "28 April to 3 May 2026",
        (date(2025, 12, 30), date(2026, 1, 2)): "30 December 2025 to 2 January 2026",
        (date(2026, 5, 1), date(2026, 5, 1)): "1 May 2026",
    }
    for (first, last), name in spans.items():
        assert days_period(CALENDAR, first, last).name == name


@pytest.mark.parametrize("month", [1, 5, 12])
def test_a_rolling_year_is_the_twelve_months_to_one(month):
    """It begins with the month after the same one of the year before."""
    year = rolling_year(CALENDAR, 2026, month)
    months = months_of(CALENDAR, year)
    assert len(months) == 12
    assert (months[-1].first.year, months[-1].first.month) == (2026, month)
    assert year.start == months[0].start
    assert year.end == months[-1].end


@given(CALENDARS, KINDS, INSTANTS)
def test_the_period_of_an_instant_holds_it_and_touches_its_neighbours(calendar, kind, instant):
    """No instant falls between two periods or into two of the same kind."""
    period = period_at(calendar, kind, instant)
    if kind is PeriodKind.ROLLING:
        assert period.start <= instant < period.end
        later = next_period(calendar, period)
        assert previous_period(calendar, later) == period
        return
    assert period.start <= instant < period.end
    before, after = previous_period(calendar, period), next_period(calendar, period)
    assert before.end == period.start
    assert after.start == period.end
    assert before.kind is after.kind is kind


@given(CALENDARS, st.sampled_from([PeriodKind.WEEK, PeriodKind.MONTH]), INSTANTS)
def test_the_days_of_a_period_cover_it_without_gap_or_overlap(calendar, kind, instant):
    """And each shift lies whole in one of them."""
    period = period_at(calendar, kind, instant)
    days = days_of(calendar, period)
    assert days[0].start == period.start
    assert days[-1].end == period.end
    assert all(a.end == b.start for a, b in pairwise(days))
    edges = edges_of(days)
    assert len(edges) == len(days) + 1
    assert edges == sorted(set(edges))
    for shift in shifts_between(calendar, period.start, period.end):
        assert any(day.start <= shift.start and shift.end <= day.end for day in days)


TYPED = {
    "2026-05": (PeriodKind.MONTH, "May 2026"),
    " 2026-05 ": (PeriodKind.MONTH, "May 2026"),
    "2026-05-14": (PeriodKind.DAY, "14 May 2026"),
    "2026-W23": (PeriodKind.WEEK, "week 23 of 2026"),
    "2026-w23": (PeriodKind.WEEK, "week 23 of 2026"),
    "2026": (PeriodKind.YEAR, "year 2026"),
    "year:2026-05": (PeriodKind.ROLLING, "12 months to May 2026"),
    "rolling:2026-05": (PeriodKind.ROLLING, "12 months to May 2026"),
    "2026-05-01..2026-05-14": (PeriodKind.DAYS, "1 to 14 May 2026"),
    "shift:2026-05-14/n": (PeriodKind.SHIFT, "Night shift of 14 May 2026"),
    "shift:2026-05-14/night": (PeriodKind.SHIFT, "Night shift of 14 May 2026"),
    "previous": (PeriodKind.MONTH, "May 2026"),
    "current": (PeriodKind.MONTH, "June 2026"),
    "previous:day": (PeriodKind.DAY, "17 June 2026"),
    "current:shift": (PeriodKind.SHIFT, "Day shift of 18 June 2026"),
    "previous-week": (PeriodKind.WEEK, "week 24 of 2026"),
    "current:rolling": (PeriodKind.ROLLING, "12 months to June 2026"),
}


@pytest.mark.parametrize("text", TYPED)
def test_a_period_is_read_as_typed(text):
    """Every form that the help names."""
    found = parse_period(text, CALENDAR, NOW)
    assert (found.kind, found.name) == TYPED[text]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "names no period; write a month (2026-05)"),
        ("May", "names no period"),
        ("2026-13", "there is no month 13"),
        ("2026-02-30", "there is no day 2026-02-30"),
        ("2026-W54", "has no week 54"),
        ("2025-W53", "the year 2025 has no week 53"),
        ("0001-05", "the year 0001 is not between"),
        ("2026-05-14..2026-05-01", "ends before it begins"),
        ("shift:2026-05-14/x", 'there is no shift "x"; write D (Day) or N (Night)'),
        ("previous:decade", "no kind of period; write previous with one of shift, day"),
        ("2026-5", "names no period"),
    ],
)
def test_what_names_no_period_is_refused_with_what_would(text, said):
    """One sentence that says what is wrong, and what to write instead."""
    with pytest.raises(PeriodError) as told:
        parse_period(text, CALENDAR, NOW)
    assert said in str(told.value)


@given(st.text(max_size=30))
def test_no_text_breaks_the_reading_of_a_period(text):
    """It is a period, or it is refused in words."""
    found = None
    with suppress(PeriodError):
        found = parse_period(text, CALENDAR, NOW)
    assert found is None or found.start < found.end


@given(CALENDARS, INSTANTS)
def test_what_a_month_is_called_reads_back_as_the_same(calendar, instant):
    """The text that names a month or a day gives that period."""
    month = period_at(calendar, PeriodKind.MONTH, instant)
    assert parse_period(f"{month.first:%Y-%m}", calendar, instant) == month
    day = period_at(calendar, PeriodKind.DAY, instant)
    assert parse_period(day.first.isoformat(), calendar, instant) == day


def test_a_running_period_goes_as_far_as_now():
    """It says so in its name; one that has not begun is refused."""
    month = month_period(CALENDAR, 2026, 6)
    assert until(month, NOW).end == NOW
    assert until(month, NOW).name == "June 2026, so far"
    assert until(month, month.end + timedelta(days=1)) is month
    with pytest.raises(ValueError, match="June 2026 has not begun yet"):
        until(month, month.start)


def test_days_of_a_running_period_end_with_now():
    """The last day is cut, and days that have not begun are left out."""
    days = days_of(CALENDAR, until(month_period(CALENDAR, 2026, 6), NOW))
    assert len(days) == 18
    assert days[-1].end == NOW
