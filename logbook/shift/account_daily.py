"""The head figures of many periods at once (days, shifts, months), as arrays for trends.

The same arithmetic as `accounts`, on arrays: every series is read once for the whole span. A test
holds that each day comes out as the accounts of that day alone.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from types import MappingProxyType

import numpy as np

from logbook.plant.calendar import shifts_between
from logbook.plant.model import Plant
from logbook.record import Reader
from logbook.shift.account_cut import FloatArray
from logbook.shift.account_gather import Gathering, gather
from logbook.shift.account_solvent import DENSITY_SHARE, HELD_SIGMA_T
from logbook.shift.account_stock import SOLVENT_SLOPE, SOLVENT_T_M3
from logbook.shift.period import (
    Period,
    day_period,
    days_of,
    days_period,
    edges_of,
    months_of,
    production_day,
    shift_period,
)

ROLES_READ = (
    "beans", "oil", "meal", "steam", "electricity", "hulls", "hulls_added", "hours",
    "bean_oil", "bean_moisture", "meal_oil", "meal_moisture", "meal_protein", "meal_solvent",
    "hull_oil", "spent_oil", "oil_moisture", "oil_solvent", "solvent_received", "solvent_stock",
    "store_temp",
)  # fmt: skip
"""What the series are made of."""

FEWEST_RUN = 0.25
"""Part of a period that the line must have run before anything is told per tonne of it."""
Formula = Callable[..., FloatArray]


@dataclass(frozen=True, slots=True)
class AccountSeries:
    """One figure over n periods, shape (n,) each; NaN where it cannot be told."""

    key: str
    name: str
    unit: str
    decimals: int
    value: FloatArray
    sigma: FloatArray
    """Standard uncertainty; NaN where it is not known."""

    @property
    def known(self) -> int:
        """How many periods have a value."""
        return int(np.isfinite(self.value).sum())


@dataclass(frozen=True, slots=True)
class AccountRun:
    """Periods that follow one another and their figures."""

    periods: tuple[Period, ...]
    series: Mapping[str, AccountSeries]

    def __getitem__(self, key: str) -> AccountSeries:
        return self.series[key]


@dataclass(frozen=True, slots=True)
class _Rule:
    name: str
    unit: str
    decimals: int
    needs: str
    formula: Formula


def daily_accounts(
    book: Reader, plant: Plant, start: datetime, end: datetime, *, now: datetime | None = None
) -> AccountRun:
    """The head figures of every production day that touches [start, end). Raises BookError."""
    span = _span(plant, start, end)
    return run_of(book, plant, days_of(plant.calendar, span), now=now)


def monthly_accounts(
    book: Reader, plant: Plant, start: datetime, end: datetime, *, now: datetime | None = None
) -> AccountRun:
    """The head figures of every calendar month of [start, end), cut to it. Raises BookError."""
    span = _span(plant, start, end)
    return run_of(book, plant, months_of(plant.calendar, span), now=now)


def shift_accounts(
    book: Reader, plant: Plant, start: datetime, end: datetime, *, now: datetime | None = None
) -> tuple[AccountRun, tuple[str | None, ...]]:
    """The head figures of every shift of [start, end), and the crew of each. Raises BookError."""
    shifts = [one for one in shifts_between(plant.calendar, start, end) if one.start < one.end]
    run = run_of(book, plant, [shift_period(one) for one in shifts], now=now)
    return run, tuple(one.crew for one in shifts)


def _span(plant: Plant, start: datetime, end: datetime) -> Period:
    first = production_day(plant.calendar, start)
    last = production_day(plant.calendar, end)
    if day_period(plant.calendar, last).start >= end and last > first:
        last = production_day(plant.calendar, day_period(plant.calendar, last).start - _MOMENT)
    return days_period(plant.calendar, first, last)


def run_of(
    book: Reader, plant: Plant, periods: Sequence[Period], *, now: datetime | None = None
) -> AccountRun:
    """The head figures of periods that follow one another without gap. Raises BookError."""
    found = gather(book, plant, edges_of(tuple(periods)), roles=ROLES_READ, now=now)
    return AccountRun(tuple(periods), MappingProxyType(series_of(found)))


def series_of(found: Gathering) -> dict[str, AccountSeries]:
    """The figures of what was gathered, by key."""
    values = {name: one.value for name, one in found.roles.items()}
    sigmas = {name: one.sigma for name, one in found.roles.items()}
    values["loss"], sigmas["loss"] = solvent_loss(found)
    hulls = values["hulls_added"]
    sigmas["hulls_added"] = np.where(np.isfinite(hulls), sigmas["hulls_added"], 0.0)
    values["hulls_added"] = np.where(np.isfinite(hulls), hulls, 0.0)
    ran = found["hours"].value >= FEWEST_RUN * found.hours
    series = {}
    for key, rule in RULES.items():
        value, sigma = _worked(rule, values, sigmas)
        if rule.needs != "beans" and "beans" in rule.needs:
            value, sigma = np.where(ran, value, np.nan), np.where(ran, sigma, np.nan)
        series[key] = AccountSeries(key, rule.name, rule.unit, rule.decimals, value, sigma)
    return series


def _worked(
    rule: _Rule, values: Mapping[str, FloatArray], sigmas: Mapping[str, FloatArray]
) -> tuple[FloatArray, FloatArray]:
    """Value and standard uncertainty, to first order by central differences over one sigma.

    As `logbook.process.quantity.propagate`, for n periods at once.
    """
    names = rule.needs.split()
    given = {name: values[name] for name in names}
    with np.errstate(divide="ignore", invalid="ignore"):
        value = rule.formula(**given)
        squares = np.zeros_like(value)
        for name in names:
            step = sigmas[name]
            high = rule.formula(**{**given, name: given[name] + step})
            low = rule.formula(**{**given, name: given[name] - step})
            squares = squares + ((high - low) / 2.0) ** 2
    told = np.isfinite(value)
    return np.where(told, value, np.nan), np.where(told, np.sqrt(squares), np.nan)


def solvent_loss(found: Gathering) -> tuple[FloatArray, FloatArray]:
    """Solvent lost in each period, t, and its standard uncertainty.

    As `account_solvent.solvent_of`: stocks, deliveries, what the vessels hold taken as the same at
    both ends, and the density.
    """
    stock, received = found["solvent_stock"], found["solvent_received"]
    stated = found.plant.accounts.figures.get("solvent_density")
    at_20 = SOLVENT_T_M3 if stated is None else stated / 1000.0
    celsius = np.where(np.isfinite(found["store_temp"].value), found["store_temp"].value, 20.0)
    density = at_20 + SOLVENT_SLOPE * (celsius - 20.0)
    net = received.value * density - stock.value
    parts = (
        stock.sigma,
        received.sigma * density,
        np.sqrt(2.0) * HELD_SIGMA_T,
        DENSITY_SHARE * np.abs(net),
    )
    return net, np.sqrt(sum(np.square(part) for part in parts))


def _itself(**given: FloatArray) -> FloatArray:
    (value,) = given.values()
    return value


def _rate(beans: FloatArray, hours: FloatArray) -> FloatArray:
    return beans / np.where(hours > 0.0, hours, np.nan)


def _percent(beans: FloatArray, **part: FloatArray) -> FloatArray:
    (amount,) = part.values()
    return 100.0 * amount / np.where(beans > 0.0, beans, np.nan)


def _per_tonne(beans: FloatArray, **part: FloatArray) -> FloatArray:
    return 10.0 * _percent(beans, **part)


def _each_tonne(beans: FloatArray, **part: FloatArray) -> FloatArray:
    return _percent(beans, **part) / 100.0


def _hulls_sold(beans: FloatArray, hulls: FloatArray, hulls_added: FloatArray) -> FloatArray:
    return _percent(beans, hulls=hulls - hulls_added)


def _came(beans: FloatArray, bean_oil: FloatArray) -> FloatArray:
    return beans * bean_oil / 100.0


def _out(oil: FloatArray, oil_moisture: FloatArray, oil_solvent: FloatArray) -> FloatArray:
    return oil * (100.0 - oil_moisture - oil_solvent / 1e4) / 100.0


def _oil_rest(
    beans: FloatArray,
    bean_oil: FloatArray,
    oil: FloatArray,
    oil_moisture: FloatArray,
    oil_solvent: FloatArray,
    meal: FloatArray,
    meal_oil: FloatArray,
    hulls: FloatArray,
    hulls_added: FloatArray,
    hull_oil: FloatArray,
) -> FloatArray:
    kept = (meal * meal_oil + (hulls - hulls_added) * hull_oil) / 100.0
    return _came(beans, bean_oil) - _out(oil, oil_moisture, oil_solvent) - kept


def _oil_rest_percent(**given: FloatArray) -> FloatArray:
    came = _came(given["beans"], given["bean_oil"])
    return 100.0 * _oil_rest(**given) / np.where(came > 0.0, came, np.nan)


def _recovery(
    beans: FloatArray,
    bean_oil: FloatArray,
    oil: FloatArray,
    oil_moisture: FloatArray,
    oil_solvent: FloatArray,
) -> FloatArray:
    came = _came(beans, bean_oil)
    return 100.0 * _out(oil, oil_moisture, oil_solvent) / np.where(came > 0.0, came, np.nan)


_MOMENT = datetime.resolution
_OIL = "beans bean_oil oil oil_moisture oil_solvent meal meal_oil hulls hulls_added hull_oil"
RULES: Mapping[str, _Rule] = MappingProxyType(
    {
        "beans": _Rule("Beans crushed", "t", 0, "beans", _itself),
        "rate": _Rule("Bean rate while running", "t/h", 1, "beans hours", _rate),
        "oil_yield": _Rule("Oil yield, as is", "%", 2, "beans oil", _percent),
        "meal_yield": _Rule("Meal yield, as is", "%", 2, "beans meal", _percent),
        "hull_yield": _Rule("Hulls not added back", "%", 2, "beans hulls hulls_added", _hulls_sold),
        "unaccounted_oil": _Rule(
            "Unaccounted oil, of the oil in the beans", "%", 2, _OIL, _oil_rest_percent
        ),
        "unaccounted_oil_t": _Rule("Unaccounted oil", "t", 2, _OIL, _oil_rest),
        "oil_recovery": _Rule(
            "Oil recovered", "%", 2, "beans bean_oil oil oil_moisture oil_solvent", _recovery
        ),
        "solvent_kg_t": _Rule("Solvent lost per tonne", "kg/t", 3, "beans loss", _per_tonne),
        "solvent_loss": _Rule("Solvent lost", "t", 2, "loss", _itself),
        "steam_kg_t": _Rule("Steam per tonne", "kg/t", 1, "beans steam", _per_tonne),
        "electricity_kwh_t": _Rule(
            "Electricity per tonne", "kWh/t", 2, "beans electricity", _each_tonne
        ),
        "spent_oil": _Rule("Residual oil of spent flakes", "%", 3, "spent_oil", _itself),
        "meal_oil": _Rule("Residual oil of the meal", "%", 3, "meal_oil", _itself),
        "meal_moisture": _Rule("Moisture of the meal", "%", 2, "meal_moisture", _itself),
        "meal_protein": _Rule("Protein of the meal", "%", 2, "meal_protein", _itself),
        "meal_solvent": _Rule("Solvent in the meal", "mg/kg", 0, "meal_solvent", _itself),
        "bean_oil": _Rule("Oil of the beans", "%", 2, "bean_oil", _itself),
        "bean_moisture": _Rule("Moisture of the beans", "%", 2, "bean_moisture", _itself),
    }
)
"""Key to the figure and what it is worked out from."""
