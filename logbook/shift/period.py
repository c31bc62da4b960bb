"""Periods that accounts are made for: a shift, a day, a week, a month, a year, or any days.

Days are production days: the day of 17 June runs from the start of its first shift to the start
of the first shift of 18 June, in the plant's local time, so that the night from 17 to 18 June
belongs to it whole, whatever the clocks do. Weeks are those of ISO 8601, Monday to Sunday.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from enum import StrEnum

from logbook.plant.calendar import Shift, ShiftCalendar, previous_shift, shift_at, shift_on

DAY = timedelta(days=1)
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


class PeriodKind(StrEnum):
    """What sort of period it is."""

    SHIFT = "shift"
    DAY = "day"
    WEEK = "week"
    MONTH = "month"
    YEAR = "year"
    ROLLING = "rolling"
    """Twelve months that end with a month."""
    DAYS = "days"
    """Any days that follow one another."""


@dataclass(frozen=True, slots=True)
class Period:
    """A half-open span [start, end) in UTC with its name; whole production days but for a shift."""

    kind: PeriodKind
    start: datetime
    end: datetime
    first: date
    """The first production day, by local date."""
    last: date
    """The last production day, which belongs to it."""
    name: str
    """In words: "May 2026"."""
    shift: str = ""
    """Key of the shift, where it is one."""

    @property
    def hours(self) -> float:
        """Its true length in hours."""
        return (self.end - self.start) / timedelta(hours=1)

    @property
    def days(self) -> int:
        """How many production days it touches."""
        return (self.last - self.first).days + 1


def production_day(calendar: ShiftCalendar, instant: datetime) -> date:
    """The production day that an instant belongs to."""
    return shift_at(calendar, instant).date


def day_start(calendar: ShiftCalendar, day: date) -> datetime:
    """When a production day begins, in UTC: the start of the first shift of the local date."""
    return shift_on(calendar, day, calendar.first_shift_key).start


def shift_period(shift: Shift) -> Period:
    """The period of one shift."""
    word = shift.name if "shift" in shift.name.casefold() else f"{shift.name} shift"
    name = f"{word} of {day_text(shift.date)}"
    return Period(
        PeriodKind.SHIFT, shift.start, shift.end, shift.date, shift.date, name, shift.pattern
    )


def day_period(calendar: ShiftCalendar, day: date) -> Period:
    """One production day."""
    return _whole(calendar, PeriodKind.DAY, day, day, day_text(day))


def week_period(calendar: ShiftCalendar, day: date) -> Period:
    """The week (ISO 8601) that holds a production day."""
    year, week, _ = day.isocalendar()
    first = date.fromisocalendar(year, week, 1)
    return _whole(calendar, PeriodKind.WEEK, first, first + 6 * DAY, f"week {week} of {year}")


def month_period(calendar: ShiftCalendar, year: int, month: int) -> Period:
    """A calendar month."""
    first, last = date(year, month, 1), _month_end(year, month)
    return _whole(calendar, PeriodKind.MONTH, first, last, f"{MONTHS[month - 1]} {year}")


def year_period(calendar: ShiftCalendar, year: int) -> Period:
    """A calendar year."""
    first, last = date(year, 1, 1), date(year, 12, 31)
    return _whole(calendar, PeriodKind.YEAR, first, last, f"year {year}")


def rolling_year(calendar: ShiftCalendar, year: int, month: int) -> Period:
    """The twelve months that end with a month."""
    first = date(year, 1, 1) if month == 12 else date(year - 1, month + 1, 1)
    name = f"12 months to {MONTHS[month - 1]} {year}"
    return _whole(calendar, PeriodKind.ROLLING, first, _month_end(year, month), name)


def days_period(calendar: ShiftCalendar, first: date, last: date) -> Period:
    """Production days from `first` to `last`, both in it. Raises ValueError where it is empty."""
    if last < first:
        msg = f"the period ends on {last.isoformat()}, before it begins on {first.isoformat()}"
        raise ValueError(msg)
    return _whole(calendar, PeriodKind.DAYS, first, last, _days_text(first, last))


def period_at(calendar: ShiftCalendar, kind: PeriodKind, instant: datetime) -> Period:
    """The period of a kind that holds an instant; of `DAYS` the one production day."""
    if kind is PeriodKind.SHIFT:
        return shift_period(shift_at(calendar, instant))
    return _holding(calendar, kind, production_day(calendar, instant))


def previous_period(calendar: ShiftCalendar, period: Period) -> Period:
    """The one before of the same kind and, of any days, of the same number of days."""
    if period.kind is PeriodKind.SHIFT:
        return shift_period(previous_shift(calendar, shift_at(calendar, period.start)))
    if period.kind is PeriodKind.DAYS:
        return days_period(calendar, period.first - period.days * DAY, period.first - DAY)
    before = period.last.replace(day=1) if period.kind is PeriodKind.ROLLING else period.first
    return _holding(calendar, period.kind, before - DAY)


def next_period(calendar: ShiftCalendar, period: Period) -> Period:
    """The one after of the same kind and, of any days, of the same number of days."""
    if period.kind is PeriodKind.SHIFT:
        return shift_period(shift_at(calendar, period.end))
    after = period.last + DAY
    if period.kind is PeriodKind.DAYS:
        return days_period(calendar, after, after + (period.days - 1) * DAY)
    return _holding(calendar, period.kind, after)


def until(period: Period, now: datetime) -> Period:
    """The part of a period that has passed by `now`; the whole where all of it has.

    Raises ValueError where it has not begun.
    """
    if now <= period.start:
        msg = f"{period.name} has not begun yet"
        raise ValueError(msg)
    if now >= period.end:
        return period
    return replace(period, end=now, name=f"{period.name}, so far")


def days_of(calendar: ShiftCalendar, period: Period) -> tuple[Period, ...]:
    """Each production day of a period, cut to it."""
    return _parts(period, (day_period(calendar, day) for day in _dates(period)))


def months_of(calendar: ShiftCalendar, period: Period) -> tuple[Period, ...]:
    """Each calendar month that a period touches, cut to it."""
    months = dict.fromkeys((day.year, day.month) for day in _dates(period))
    return _parts(period, (month_period(calendar, *month) for month in months))


def edges_of(periods: tuple[Period, ...]) -> list[float]:
    """Bounds of periods that follow one another, epoch seconds: one more than there are periods."""
    return [*(one.start.timestamp() for one in periods), periods[-1].end.timestamp()]


def day_text(day: date) -> str:
    """A date in words: "17 June 2026"."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def _parts(period: Period, whole: Iterable[Period]) -> tuple[Period, ...]:
    cut = []
    for one in whole:
        start, end = max(one.start, period.start), min(one.end, period.end)
        if start < end:
            cut.append(replace(one, start=start, end=end))
    return tuple(cut)


def _dates(period: Period) -> list[date]:
    return [period.first + k * DAY for k in range(period.days)]


def _whole(calendar: ShiftCalendar, kind: PeriodKind, first: date, last: date, name: str) -> Period:
    start, end = day_start(calendar, first), day_start(calendar, last + DAY)
    return Period(kind, start, end, first, last, name)


def _month_end(year: int, month: int) -> date:
    return date(year, month, monthrange(year, month)[1])


def _days_text(first: date, last: date) -> str:
    if first == last:
        return day_text(first)
    start = day_text(first)
    if first.year == last.year:
        start = start.removesuffix(f" {first.year}")
        if first.month == last.month:
            start = str(first.day)
    return f"{start} to {day_text(last)}"


_MAKERS: dict[PeriodKind, Callable[[ShiftCalendar, date], Period]] = {
    PeriodKind.DAY: day_period,
    PeriodKind.WEEK: week_period,
    PeriodKind.MONTH: lambda calendar, day: month_period(calendar, day.year, day.month),
    PeriodKind.YEAR: lambda calendar, day: year_period(calendar, day.year),
    PeriodKind.ROLLING: lambda calendar, day: rolling_year(calendar, day.year, day.month),
    PeriodKind.DAYS: lambda calendar, day: days_period(calendar, day, day),
}


def _holding(calendar: ShiftCalendar, kind: PeriodKind, day: date) -> Period:
    """The period of a kind that holds a production day (of `ROLLING`, that ends in its month)."""
    return _MAKERS[kind](calendar, day)
