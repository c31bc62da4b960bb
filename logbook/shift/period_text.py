"""Reading a period as typed: "2026-05", "2026-05-14", "2026-W23", "2026-05-01..2026-05-14"."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime

from logbook.plant.calendar import ShiftCalendar, shift_on
from logbook.shift.period import (
    Period,
    PeriodKind,
    day_period,
    days_period,
    month_period,
    period_at,
    previous_period,
    rolling_year,
    shift_period,
    week_period,
    year_period,
)

FIRST_YEAR, LAST_YEAR = 1900, 2200
FORMS = (
    "a month (2026-05), a day (2026-05-14), a week (2026-W23), a year (2026), twelve months up to "
    "one (year:2026-05), days (2026-05-01..2026-05-14), a shift (shift:2026-05-14/{shift}), or "
    "previous or current, also with a kind (previous:week)"
)
_YEAR = re.compile(r"(\d{4})")
_MONTH = re.compile(r"(\d{4})-(\d{2})")
_WEEK = re.compile(r"(\d{4})-W(\d{2})", re.IGNORECASE)
_DAY = re.compile(r"(\d{4}-\d{2}-\d{2})")
_ROLLING = re.compile(r"(?:year|rolling):(\d{4})-(\d{2})", re.IGNORECASE)
_DAYS = re.compile(r"(\d{4}-\d{2}-\d{2})\.\.(\d{4}-\d{2}-\d{2})")
_SHIFT = re.compile(r"shift:(\d{4}-\d{2}-\d{2})/(.+)", re.IGNORECASE)
_RELATIVE = re.compile(r"(previous|current)(?:[:-](\w+))?", re.IGNORECASE)


class PeriodError(ValueError):
    """A text that names no period; the message says what would."""


def parse_period(text: str, calendar: ShiftCalendar, now: datetime) -> Period:
    """The period that a text names, by the calendar of the plant at `now`.

    `previous` and `current` are months where no kind is given. Raises PeriodError.
    """
    typed = text.strip()
    for form, make in _FORMS:
        found = form.fullmatch(typed)
        if found is not None:
            try:
                return make(calendar, now, *found.groups())
            except PeriodError:
                raise
            except (ValueError, OverflowError):
                msg = f'"{typed}" names no period that the calendar has; write {_forms(calendar)}'
                raise PeriodError(msg) from None
    msg = f'"{typed}" names no period; write {_forms(calendar)}'
    raise PeriodError(msg)


def parse_begun(text: str, calendar: ShiftCalendar, now: datetime) -> Period:
    """As `parse_period`, for a period of which something has passed by `now`. Raises PeriodError."""
    period = parse_period(text, calendar, now)
    if period.start >= now:
        msg = f"{period.name} has not begun yet; choose a period that has"
        raise PeriodError(msg)
    return period


def _forms(calendar: ShiftCalendar) -> str:
    return FORMS.format(shift=calendar.shifts[0].key)


def _within(year: str) -> int:
    if not FIRST_YEAR <= int(year) <= LAST_YEAR:
        msg = f"the year {year} is not between {FIRST_YEAR} and {LAST_YEAR}"
        raise PeriodError(msg)
    return int(year)


def _date(text: str) -> date:
    _within(text[:4])
    try:
        return date.fromisoformat(text)
    except ValueError:
        msg = f"there is no day {text} in the calendar"
        raise PeriodError(msg) from None


def _year(calendar: ShiftCalendar, _now: datetime, year: str) -> Period:
    return year_period(calendar, _within(year))


def _month(calendar: ShiftCalendar, _now: datetime, year: str, month: str) -> Period:
    return month_period(calendar, _within(year), _month_number(month))


def _rolling(calendar: ShiftCalendar, _now: datetime, year: str, month: str) -> Period:
    return rolling_year(calendar, _within(year), _month_number(month))


def _month_number(month: str) -> int:
    if not 1 <= int(month) <= 12:
        msg = f"there is no month {month}; months go from 01 to 12"
        raise PeriodError(msg)
    return int(month)


def _week(calendar: ShiftCalendar, _now: datetime, year: str, week: str) -> Period:
    try:
        first = date.fromisocalendar(_within(year), int(week), 1)
    except PeriodError:
        raise
    except ValueError:
        msg = f"the year {year} has no week {week}"
        raise PeriodError(msg) from None
    return week_period(calendar, first)


def _day(calendar: ShiftCalendar, _now: datetime, day: str) -> Period:
    return day_period(calendar, _date(day))


def _days(calendar: ShiftCalendar, _now: datetime, first: str, last: str) -> Period:
    begin, end = _date(first), _date(last)
    if end < begin:
        msg = f"{first}..{last} ends before it begins; write the earlier day first"
        raise PeriodError(msg)
    return days_period(calendar, begin, end)


def _shift(calendar: ShiftCalendar, _now: datetime, day: str, named: str) -> Period:
    """A shift by its key or its name, in any case."""
    wanted = named.strip().casefold()
    for pattern in calendar.shifts:
        if wanted in {pattern.key.casefold(), pattern.name.casefold()}:
            return shift_period(shift_on(calendar, _date(day), pattern.key))
    known = " or ".join(f"{p.key} ({p.name})" for p in calendar.shifts)
    msg = f'there is no shift "{named.strip()}"; write {known}'
    raise PeriodError(msg)


def _relative(calendar: ShiftCalendar, now: datetime, which: str, kind: str | None) -> Period:
    word = (kind or PeriodKind.MONTH).casefold()
    kinds = {k.value: k for k in PeriodKind if k is not PeriodKind.DAYS}
    if word not in kinds:
        msg = f'"{kind}" is no kind of period; write {which} with one of {", ".join(kinds)}'
        raise PeriodError(msg)
    running = period_at(calendar, kinds[word], now)
    return running if which.casefold() == "current" else previous_period(calendar, running)


_FORMS: tuple[tuple[re.Pattern[str], Callable[..., Period]], ...] = (
    (_YEAR, _year),
    (_MONTH, _month),
    (_WEEK, _week),
    (_DAY, _day),
    (_ROLLING, _rolling),
    (_DAYS, _days),
    (_SHIFT, _shift),
    (_RELATIVE, _relative),
)
