"""A period's balance read from the book: for the Balance screen, the report and the command line."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta

from logbook.plant.calendar import shift_at
from logbook.plant.localtime import to_local, zone_name
from logbook.plant.model import Plant
from logbook.process.reconcile_plant import reconcile_plant
from logbook.process.roles import ROLES
from logbook.process.solvent import Compliance
from logbook.process.solvent_forecast import Forecast
from logbook.process.standing import StandingAccusation, standing_accusations
from logbook.record import Reader
from logbook.shift.account_gather import gather
from logbook.shift.account_inputs import inputs_at, inputs_of, told_until
from logbook.shift.account_solvent import compliance_of, forecast_of
from logbook.shift.accounts import CAUTIONS, Accounts, accounts_of
from logbook.shift.balance_flow import NOBODY, flows_of, meters_of, meters_told
from logbook.shift.balance_view import BalanceSeen, BalanceView
from logbook.shift.balance_words import accounts_in_words, verdict_of
from logbook.shift.period import (
    Period,
    PeriodKind,
    day_text,
    days_of,
    edges_of,
    production_day,
    rolling_year,
    until,
)
from logbook.shift.what_if import sections_of

FEWEST_DAYS = 7
"""A period of fewer days has no meter that stands accused: two days could be chance."""


def see_balance(book: Reader, period: Period, now: datetime) -> BalanceSeen:
    """Read and work out the balance of a period, as far as it has passed by `now`.

    Raises BookError, and ValueError for a period that has not begun.
    """
    plant = book.plant_at(min(period.end, now))
    cut = as_far_as_told(book, plant, period, now)
    found = accounts_of(inputs_of(book, plant, cut.start, cut.end, now=now))
    ratio, forecast = year_ratio(book, plant, cut, now), month_forecast(book, plant, period, now)
    standing = standing_words(book, plant, cut, now)
    comma = plant.settings.decimal_comma
    return BalanceSeen(
        period,
        view_of(found, cut, ratio, forecast, standing=standing, decimal_comma=comma),
        dict(found.inputs.roles),
        sections_of(found.inputs.roles),
        plant.name,
        plant.time_zone,
        book.last_page().seal,
        span_words(plant, cut),
    )


def as_far_as_told(book: Reader, plant: Plant, period: Period, now: datetime) -> Period:
    """A period that still runs, cut at the end of its last whole shift; any other as it is.

    Tanks are dipped and amounts noted once a shift. Before a shift of it is over it is cut where
    the counters were read last. Raises ValueError where it has not begun.
    """
    cut = until(period, now)
    if cut is period:
        return period
    last = told_until(book, plant, now)
    for end in (shift_at(plant.calendar, last).start, last):
        if period.start < end < now:
            return until(period, end)
    return cut


def balance_json(book: Reader, period: Period, now: datetime) -> dict[str, object]:
    """The balance of a period as plain data, as far as it has passed by `now`.

    Raises BookError, and ValueError for a period that has not begun.
    """
    from logbook.shift.balance_json import as_json

    plant = book.plant_at(min(period.end, now))
    cut = as_far_as_told(book, plant, period, now)
    found = accounts_of(inputs_of(book, plant, cut.start, cut.end, now=now))
    forecast = month_forecast(book, plant, period, now)
    return as_json(found, cut, year_ratio(book, plant, cut, now), forecast)


def year_ratio(book: Reader, plant: Plant, period: Period, now: datetime) -> Compliance | None:
    """The compliance ratio of the twelve months that end with the last whole one of a period.

    None for a period that holds the end of no month: a shift or a day says nothing of a year.
    """
    day = production_day(plant.calendar, period.end) - timedelta(days=1)
    if (day + timedelta(days=1)).day != 1:
        day = day.replace(day=1) - timedelta(days=1)
    if day < period.first:
        return None
    return compliance_of(book, plant, rolling_year(plant.calendar, day.year, day.month), now=now)


def month_forecast(book: Reader, plant: Plant, period: Period, now: datetime) -> Forecast | None:
    """The ratio expected at the end of the running month, of a period of months that still runs.

    None of any other period. `period` is the whole, not cut.
    """
    is_long = period.kind in {PeriodKind.MONTH, PeriodKind.YEAR, PeriodKind.ROLLING}
    return forecast_of(book, plant, now) if is_long and period.end > now else None


def standing_words(book: Reader, plant: Plant, period: Period, now: datetime) -> dict[str, str]:
    """By role: meters that the others contradict on more days of a period than chance allows.

    A total of a month hides a scale that was wrong for ten days of it: so every day is reconciled
    by itself. Nothing of a period of fewer than `FEWEST_DAYS` days.
    """
    if period.days < FEWEST_DAYS:
        return {}
    days = days_of(plant.calendar, period)
    found = gather(book, plant, edges_of(days), now=now)
    each = [reconcile_plant(inputs_at(found, k).roles) for k in range(len(days))]
    names = [day_text(day.first) for day in days]
    return {one.role: _standing_sentence(one, names) for one in standing_accusations(each)}


def _standing_sentence(one: StandingAccusation, days: list[str]) -> str:
    size = "" if one.relative is None else f", on average by {100.0 * one.relative:+.1f} %"
    return (
        f"{ROLES[one.role].meaning}: the other readings contradict it on {one.count} of "
        f"{one.periods} days{size}, first on {days[one.first]}, last on {days[one.last]}."
    )


def view_of(
    found: Accounts,
    period: Period,
    ratio: Compliance | None,
    forecast: Forecast | None = None,
    *,
    standing: Mapping[str, str] = NOBODY,
    decimal_comma: bool = False,
) -> BalanceView:
    """The accounts of a period in words, tables and pictures."""
    reconciled = found.reconciliation
    accused = tuple(f"{_first(one.text)}." for one in reconciled.accusations)
    return BalanceView(
        period,
        verdict_of(found, (*accused, *standing.values())),
        accounts_in_words(found, ratio, forecast, decimal_comma=decimal_comma),
        meters_of(reconciled, standing),
        " ".join((meters_told(reconciled), *standing.values())),
        flows_of(reconciled, found.inputs["hours"].value or 0.0, standing),
        CAUTIONS,
        dict(found.lacks),
    )


def span_words(plant: Plant, period: Period) -> str:
    """From when to when, in local time: "1 May 2026 06:00 to 1 June 2026 06:00 CDT"."""
    start, end = (to_local(at, plant.time_zone) for at in (period.start, period.end))
    first, last = (f"{day_text(at.date())} {at:%H:%M}" for at in (start, end))
    zones = [zone_name(start), zone_name(end)]
    before = f" {zones[0]}" if zones[0] != zones[1] else ""
    return f"{first}{before} to {last} {zones[1]}"


def _first(text: str) -> str:
    """What a meter is accused of; what else it could be stands with the meters."""
    return text.partition("; could also be")[0].rstrip(".")
