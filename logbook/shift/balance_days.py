"""A period day by day, and its crews and months side by side, for the Balance screen and report."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

import numpy as np

from logbook.plant.model import Plant
from logbook.process.reconcile_plant import reconcile_plant
from logbook.record import Reader
from logbook.shift.account_compare import Compared, compare_crews, compare_months
from logbook.shift.account_daily import AccountSeries, daily_accounts, series_of, shift_accounts
from logbook.shift.account_gather import gather
from logbook.shift.account_inputs import inputs_at
from logbook.shift.balance_view import Comparison, Days, Group, TrendLine, TrendPoint
from logbook.shift.downtime import nominal_tonnes_per_hour
from logbook.shift.figure_words import COVERAGE
from logbook.shift.period import (
    MONTHS,
    Period,
    day_text,
    days_of,
    days_period,
    edges_of,
    rolling_year,
    until,
)

FEWEST_DAYS = 14
"""A period of fewer days is shown with the days before it, so that there is something to see."""
DAYS_BEFORE = 30
DAYS_COMPARED = 90
"""Crews are compared over at least so many days: a month holds too few shifts of each."""
MOST_JUDGED = 70
"""Over more days than that the meters are not judged day by day."""
SHOWN = ("rate", "oil_yield", "unaccounted_oil", "solvent_kg_t")
"""Figures by day, the first at the top."""
OF_CREWS = ("rate", "spent_oil", "meal_moisture", "unaccounted_oil")
OF_MONTHS = ("oil_yield", "unaccounted_oil", "solvent_kg_t", "steam_kg_t")


def days_of_balance(book: Reader, period: Period, now: datetime) -> Days:
    """Read the days of a period, the crews around it and the months up to it. Raises BookError."""
    cut = until(period, now)
    plant = book.plant_at(min(cut.end, now))
    return Days(
        trends_of(book, plant, _widened(plant, cut, FEWEST_DAYS, DAYS_BEFORE, now), now),
        comparisons_of(book, plant, cut, now),
    )


def trends_of(book: Reader, plant: Plant, span: Period, now: datetime) -> tuple[TrendLine, ...]:
    """The head figures of each day of a span, with the days on which a meter is in doubt."""
    days = days_of(plant.calendar, span)
    found = gather(book, plant, edges_of(days), now=now)
    series = series_of(found)
    doubted = [False] * len(days)
    if len(days) <= MOST_JUDGED:
        doubted = [
            bool(reconcile_plant(inputs_at(found, k).roles).suspects) for k in range(len(days))
        ]
    nominal = nominal_tonnes_per_hour(plant)
    return tuple(
        _trend(series[key], days, doubted, nominal if key == "rate" else None) for key in SHOWN
    )


def comparisons_of(
    book: Reader, plant: Plant, period: Period, now: datetime
) -> tuple[Comparison, ...]:
    """Crews over the period (at least `DAYS_COMPARED` days), and the twelve months up to it."""
    crews_span = _widened(plant, period, DAYS_COMPARED, DAYS_COMPARED, now)
    shifts, crews = shift_accounts(book, plant, crews_span.start, crews_span.end, now=now)
    span = f"{day_text(crews_span.first)} to {day_text(crews_span.last)}"
    made = [
        _comparison(compare_crews(shifts, crews, plant, key), f"by crew, {span}")
        for key in OF_CREWS
        if any(crew is not None for crew in crews)
    ]
    year = until(rolling_year(plant.calendar, period.last.year, period.last.month), now)
    days = daily_accounts(book, plant, year.start, year.end, now=now)
    made += [_comparison(compare_months(days, key), "by month") for key in OF_MONTHS]
    return tuple(one for one in made if any(group.value is not None for group in one.groups))


def _widened(plant: Plant, period: Period, fewest: int, before: int, now: datetime) -> Period:
    """The period, or the days up to its end where it has too few."""
    if period.days >= fewest:
        return period
    first = period.last - timedelta(days=before - 1)
    return until(days_period(plant.calendar, first, period.last), now)


def _trend(
    one: AccountSeries, days: Sequence[Period], doubted: Sequence[bool], target: float | None
) -> TrendLine:
    points = tuple(_point(one, k, day, is_doubted=doubted[k]) for k, day in enumerate(days))
    doubts = sum(1 for point in points if point.mark)
    told = f"a meter in doubt on {doubts} of {len(points)} days" if doubts else ""
    return TrendLine(one.key, one.name, one.unit, one.decimals, points, target, told)


def _point(one: AccountSeries, place: int, day: Period, *, is_doubted: bool) -> TrendPoint:
    value, sigma = float(one.value[place]), float(one.sigma[place])
    short = f"{day.first.day} {MONTHS[day.first.month - 1][:3]}"
    if not np.isfinite(value):
        return TrendPoint(day_text(day.first), short, None)
    mark = "suspect" if is_doubted else ""
    if not np.isfinite(sigma):
        return TrendPoint(day_text(day.first), short, value, mark=mark)
    reach = COVERAGE * sigma
    return TrendPoint(day_text(day.first), short, value, value - reach, value + reach, mark)


def _comparison(one: Compared, what: str) -> Comparison:
    groups = tuple(
        Group(group.name, group.mean, group.low, group.high, group.count)
        for group in one.groups
        if group.count
    )
    told = one.told.removeprefix(f"{one.name}: ")
    told = f"{told[:1].upper()}{told[1:]}"
    return Comparison(one.key, f"{one.name} {what}", one.unit, one.decimals, groups, told)
