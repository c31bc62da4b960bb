"""Marks of a time axis: whole hours, days, weeks, months or years of the plant's clocks.

An axis runs in true time, so a day on which the clocks change is an hour shorter or longer on it;
the marks stand where the clocks of the plant show a round time, and an hour that comes twice is
named with its zone.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from logbook.plant.localtime import local_label, to_local, to_utc

MINUTE, HOUR, DAY = 60, 3600, 86400
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark at `at` (epoch s): its text; `head` names what begins there (a day, a year) or ""."""

    at: float
    text: str
    head: str = ""


@dataclass(frozen=True, slots=True)
class _Step:
    """About `seconds` from mark to mark: so many minutes, days or months."""

    seconds: int
    minutes: int = 0
    days: int = 0
    months: int = 0


_STEPS = (
    *(_Step(m * MINUTE, minutes=m) for m in (1, 5, 10, 15, 30, 60, 120, 180, 360, 720)),
    *(_Step(d * DAY, days=d) for d in (1, 2, 7, 14)),
    *(_Step(m * 30 * DAY, months=m) for m in (1, 2, 3, 6, 12, 24, 60, 120, 240, 600)),
)


def time_ticks(start: float, end: float, zone: str, most: int) -> list[Tick]:
    """Marks over [start, end] (epoch s) by the clocks of `zone`: at most about `most`.

    Steps under an hour and of hours stand at round times of the day, also over a clock change;
    days at local midnight, weeks at Mondays, months and years at their first day.
    """
    if not end > start:
        return []
    wanted = (end - start) / max(most, 1)
    step = next((one for one in _STEPS if one.seconds >= wanted), _STEPS[-1])
    if step.minutes:
        found = _clock_ticks(start, end, zone, step.minutes)
    elif step.days:
        found = _day_ticks(start, end, zone, step.days)
    else:
        found = _month_ticks(start, end, zone, step.months)
    return found


def _clock_ticks(start: float, end: float, zone: str, minutes: int) -> list[Tick]:
    """Round times of the day. Walked in UTC, so that a doubled hour has both of its marks."""
    found: list[Tick] = []
    quarter = min(minutes, 15) * MINUTE
    at = int(start // quarter) * quarter
    while at <= end:
        moment = datetime.fromtimestamp(at, UTC)
        local = to_local(moment, zone)
        is_round = (local.hour * 60 + local.minute) % minutes == 0 and not local.second
        if is_round and at >= start:
            is_midnight = not (local.hour or local.minute) and not local.fold
            head = day_head(local.date()) if is_midnight else ""
            found.append(Tick(float(at), local_label(moment, zone), head))
        at += quarter
    return found


def day_head(day: date) -> str:
    """A day as the head of an axis: "Tue 3 Mar 2026"."""
    return f"{day:%a} {day.day} {MONTHS[day.month - 1]} {day.year}"


def _midnight(day: date, zone: str) -> float:
    return to_utc(day, time(0), zone).timestamp()


def _local_date(at: float, zone: str) -> date:
    return to_local(datetime.fromtimestamp(at, UTC), zone).date()


def _day_ticks(start: float, end: float, zone: str, days: int) -> list[Tick]:
    day, last = _local_date(start, zone), _local_date(end, zone)
    if days >= 7:
        day -= timedelta(days=day.weekday())
    found: list[Tick] = []
    while day <= last:
        at = _midnight(day, zone)
        # Of a fortnight every second week, of two days every second day, counted from one Monday.
        is_on = (day.toordinal() - 1) % days == 0
        if start <= at <= end and is_on:
            is_first = day.day <= (min(7, days))
            head = f"{MONTHS[day.month - 1]} {day.year}" if is_first else ""
            text = f"{day.day} {MONTHS[day.month - 1]}" if days >= 7 else f"{day:%a} {day.day}"
            found.append(Tick(at, text, head))
        day += timedelta(days=1)
    return found


def _month_ticks(start: float, end: float, zone: str, months: int) -> list[Tick]:
    first, last = _local_date(start, zone), _local_date(end, zone)
    found: list[Tick] = []
    number = (first.year * 12 + first.month - 1) // months * months
    while number <= last.year * 12 + last.month - 1:
        year, month = divmod(number, 12)
        at = _midnight(date(year, month + 1, 1), zone)
        if start <= at <= end:
            if months >= 12:
                found.append(Tick(at, str(year)))
            else:
                found.append(Tick(at, MONTHS[month], "" if month else str(year)))
        number += months
    return found


def head_at(ticks: list[Tick], start: float, end: float, zone: str) -> str:
    """What the left edge of an axis lies in, where no head stands near it: a day, month or year."""
    length = end - start
    here = _local_date(start, zone)
    near = [tick.at for tick in ticks if tick.head]
    if near and near[0] - start < length * 0.14:
        return ""
    if length <= 5 * DAY:
        return day_head(here)
    if length <= 200 * DAY:
        return f"{MONTHS[here.month - 1]} {here.year}"
    return "" if all(not tick.head for tick in ticks) and length > 4 * 365 * DAY else str(here.year)


def nearest(times: list[float], at: float) -> int:
    """Place of the time nearest to `at` in rising times; -1 where there is none.

    >>> nearest([0.0, 10.0, 20.0], 14.0)
    1
    """
    if not times:
        return -1
    place = bisect_right(times, at)
    if place == 0:
        return 0
    if place == len(times):
        return place - 1
    return place if times[place] - at < at - times[place - 1] else place - 1
