"""The solvent account of a period, and the compliance ratio of the rolling year."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from logbook.plant.calendar import shift_at
from logbook.plant.model import Plant
from logbook.process.quantity import Quantity, absent, derive
from logbook.process.solvent import (
    OILSEEDS,
    Compliance,
    Source,
    Uncertainty,
    compliance,
    weighted_hap,
)
from logbook.process.solvent_account import SolventAccount, SolventInputs, account
from logbook.process.solvent_eu import EuComparison, compare
from logbook.process.solvent_forecast import Forecast, Stretch, Window, forecast_ratio
from logbook.process.solvent_months import Delivery, SolventMonth, plain_month
from logbook.process.solvent_units import gallons, short_tons
from logbook.record import Reader
from logbook.shift.account_gather import gather
from logbook.shift.account_inputs import (
    AccountInputs,
    DeliveryFound,
    deliveries_of,
    inputs_at,
    told_until,
)
from logbook.shift.account_stock import SOLVENT_SLOPE, SOLVENT_T_M3
from logbook.shift.period import (
    Period,
    PeriodKind,
    edges_of,
    months_of,
    period_at,
    rolling_year,
    until,
)

HELD_SIGMA_T = 0.5
"""Standard uncertainty of what vessels and pipes hold, t; common practice, no source."""
DENSITY_SHARE = 0.005
"""Standard uncertainty of the solvent's density, share; from memory."""
HELD, DENSITY = "held in vessels and pipes", "density of the solvent"
STOCKS = "solvent in tanks"
MONTHS_BEFORE = 11
"""Operating months of the window beside the running one."""
YEAR_ROLES = ("beans", "solvent_stock", "solvent_received", "solvent_hexane", "store_temp")
"""What the rolling year is made of."""


@dataclass(frozen=True, slots=True)
class SolventFound:
    """The solvent of a period."""

    account: SolventAccount
    eu: EuComparison
    stock_begin: Quantity
    stock_end: Quantity
    received: Quantity
    worth_per_day: Quantity | None
    """What the solvent lost is worth a day; None where the plant states no price."""


def solvent_of(inputs: AccountInputs) -> SolventFound:
    """The solvent account; what vessels hold is taken as the same at both ends."""
    stock = inputs.stocks["solvent_stock"]
    begin, end = stock.begin.named(STOCKS), stock.end.named(STOCKS)
    received = received_of(inputs)
    held = Quantity(HELD, 0.0, "t", HELD_SIGMA_T, note="taken as the same at both ends")
    spread = DENSITY_SHARE * abs(_net(begin, end, received))
    density = solvent_density_of(inputs)
    found = account(
        SolventInputs(
            stock_start=(begin, held, Quantity(DENSITY, 0.0, "t", spread)),
            stock_end=(end, held, Quantity(DENSITY, 0.0, "t", 0.0)),
            received=received,
            seed=inputs["beans"],
            density=density,
            days=inputs.days,
            meal=inputs["meal"],
            meal_ppm=inputs["meal_solvent"],
            oil=inputs["oil"],
            oil_ppm=inputs["oil_solvent"],
            waste_water=inputs["effluent"],
            waste_mg_l=inputs["waste_water_solvent"],
        )
    )
    eu = compare(found.loss, inputs["beans"])
    return SolventFound(found, eu, begin, end, received, _worth(inputs, found.loss))


def _worth(inputs: AccountInputs, loss: Quantity) -> Quantity | None:
    price = inputs.figure("solvent_price")
    if not price.is_known or inputs.days <= 0.0:
        return None
    money = inputs.plant.accounts.words.get("money", "")
    days = Quantity("length of the period", inputs.days, "d", 0.0)
    parts = {"loss": loss, "price": price, "days": days}
    unit = f"{money} per day".lstrip()
    return derive("worth of the solvent lost", unit, _each_day, parts)


def _each_day(loss: float, price: float, days: float) -> float:
    return loss * price / days


def received_of(inputs: AccountInputs) -> Quantity:
    """All deliveries of the period, t; without a value where too few shifts noted any."""
    noted = inputs["solvent_received"]
    if not noted.is_known:
        return absent("solvent received", "t", *noted.missing, note=noted.note)
    total = math.fsum(one.mass.value or 0.0 for one in inputs.deliveries)
    squares = math.fsum((one.mass.sigma or 0.0) ** 2 for one in inputs.deliveries)
    return Quantity(
        "solvent received",
        total,
        "t",
        math.sqrt(squares),
        inputs=noted.inputs,
        source="deliveries noted × density at the temperature of the store",
        note=noted.note,
    )


def solvent_density_of(inputs: AccountInputs) -> Quantity:
    """Density at the temperature of the store, kg/L."""
    celsius = inputs["store_temp"]
    stated = inputs.plant.accounts.figures.get("solvent_density")
    at_20 = SOLVENT_T_M3 if stated is None else stated / 1000.0
    parts = {
        "celsius": celsius,
        "at_20": Quantity("density at 20 °C", at_20, "kg/L", DENSITY_SHARE * at_20),
    }
    return derive(DENSITY, "kg/L", _density, parts)


def _density(celsius: float, at_20: float) -> float:
    return at_20 + SOLVENT_SLOPE * (celsius - 20.0)


def _net(begin: Quantity, end: Quantity, received: Quantity) -> float:
    return (begin.value or 0.0) - (end.value or 0.0) + (received.value or 0.0)


def forecast_of(book: Reader, plant: Plant, now: datetime) -> Forecast:
    """The compliance ratio expected at the end of the running month. Raises BookError.

    From the eleven months before, the month up to its last whole shift, and the plan
    (else the mean of these months) for the days to come, give or take a tenth. Without eleven
    months of operation with known losses there is none, and what is wanting is named.
    """
    running = period_at(plant.calendar, PeriodKind.MONTH, now)
    told = shift_at(plant.calendar, told_until(book, plant, now)).start
    year = rolling_year(plant.calendar, running.last.year, running.last.month)
    if told <= running.start:
        return _no_forecast(f"readings of {running.name}")
    periods = months_of(plant.calendar, until(year, told))
    found = gather(book, plant, edges_of(periods), roles=YEAR_ROLES, now=now)
    loads = deliveries_of(book, plant, year.start, told)
    parts = [_stretch(one, inputs_at(found, k), loads) for k, one in enumerate(periods)]
    past, so_far = [one for one in parts[:-1] if one is not None and one.tons > 0.0], parts[-1]
    if so_far is None or len(past) < MONTHS_BEFORE:
        return _no_forecast(
            f"{MONTHS_BEFORE - len(past)} of {MONTHS_BEFORE} months before"
            if so_far is not None
            else f"solvent lost in {running.name} so far"
        )
    hap = weighted_hap([_delivery(plant, one, year) for one in loads])
    if hap.value is None:
        return _no_forecast(*(hap.missing or (hap.note,)))
    factor = OILSEEDS[_seed_kind(plant)].factor(_source(plant))
    days = (running.end - told) / timedelta(days=1)
    plan = plant.accounts.figures.get("plan")
    each = short_tons(plan) if plan is not None else sum(p.tons for p in past) / year.days
    return forecast_ratio(
        Window(
            loss_gal=math.fsum(one.loss_gal for one in past),
            base_gal=factor * math.fsum(one.tons for one in past),
            factor=factor,
            hap_fraction=hap.value,
        ),
        past,
        so_far=so_far,
        tons_to_come=each * days,
        tons_sigma=0.1 * each * days,
        stock_sigma_gal=_inventory_sigma(found["solvent_stock"].filled.role.reading),
    )


def _no_forecast(*gone: str) -> Forecast:
    return Forecast(
        ratio=absent("ratio at the end of the month", "", *gone),
        interval=None,
        coverage=0.95,
        chance_over=None,
        to_come=absent("loss to come", "US gal", *gone),
        stretches=0,
    )


def _stretch(
    period: Period, inputs: AccountInputs, loads: Sequence[DeliveryFound]
) -> Stretch | None:
    """Loss and seed of a part of the year; None where one of them is not known."""
    stock, beans = inputs.stocks["solvent_stock"], inputs["beans"].value
    if not inputs["solvent_received"].is_known or beans is None:
        return None
    if stock.begin.value is None or stock.end.value is None:
        return None
    inside = [one for one in loads if period.start <= one.at < period.end]
    came = math.fsum(one.mass.value or 0.0 for one in inside)
    density = solvent_density_of(inputs).value or SOLVENT_T_M3
    lost = stock.begin.value - stock.end.value + came
    return Stretch(gallons(1000.0 * lost / density), short_tons(beans))


def _source(plant: Plant) -> Source:
    return Source(plant.accounts.words.get("source_age", Source.EXISTING.value))


def _seed_kind(plant: Plant) -> str:
    """Row of the rule's table: soybeans by the type of desolventizer that the plant states."""
    kind = plant.accounts.words.get("source_type", "conventional")
    return "soybean" if kind == "conventional" else f"soybean_{kind}"


def _inventory_sigma(reading_t: float) -> float:
    return gallons(1000.0 * math.hypot(reading_t, HELD_SIGMA_T) / SOLVENT_T_M3)


def compliance_of(
    book: Reader, plant: Plant, year: Period, *, now: datetime | None = None
) -> Compliance:
    """The compliance ratio over the months of a period, such as a rolling year. Raises BookError.

    Every month is taken as normal operation throughout: the book does not keep the rule's
    operating statuses, so the site's own records decide. A month whose stocks were not read is
    one with missing inventory, and named.
    """
    periods = months_of(plant.calendar, year)
    found = gather(
        book,
        plant,
        edges_of(periods),
        roles=YEAR_ROLES,
        now=now,
    )
    loads = deliveries_of(book, plant, year.start, year.end)
    months = [_month(plant, one, inputs_at(found, k), loads) for k, one in enumerate(periods)]
    spread = Uncertainty(
        inventory_gal=_inventory_sigma(found["solvent_stock"].filled.role.reading),
        delivery_share=found["solvent_received"].filled.accuracy,
        seed_share=found["beans"].filled.accuracy,
        hap=0.01,
    )
    return compliance(months, source=_source(plant), uncertainty=spread)


def _month(
    plant: Plant, period: Period, inputs: AccountInputs, loads: Sequence[DeliveryFound]
) -> SolventMonth:
    stock = inputs.stocks["solvent_stock"]
    density = solvent_density_of(inputs).value or SOLVENT_T_M3
    beans = inputs["beans"].value

    def volume(mass: Quantity) -> float | None:
        return None if mass.value is None else gallons(1000.0 * mass.value / density)

    inside = [one for one in loads if period.start <= one.at < period.end]
    return plain_month(
        period.first,
        start_gal=volume(stock.begin),
        end_gal=volume(stock.end),
        deliveries=tuple(_delivery(plant, one, period) for one in inside),
        seed_tons={_seed_kind(plant): short_tons(beans)} if beans is not None else {},
    )


def _delivery(plant: Plant, one: DeliveryFound, period: Period) -> Delivery:
    """A delivery in gallons; without a certificate by the fraction that the plant states."""
    share = one.hexane.value
    if share is None:
        share = plant.accounts.figures.get("hap_fraction")
    day = min(max(one.at.date(), period.first), period.last)
    return Delivery(
        on=day,
        gal=gallons(1000.0 * (one.volume.value or 0.0)),
        hap_fraction=None if share is None else share / 100.0,
    )


def with_note(figure: Quantity, note: str) -> Quantity:
    """The figure with one more thing to know."""
    return replace(figure, note=f"{figure.note}; {note}" if figure.note else note)
