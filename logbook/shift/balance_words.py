"""The accounts of a period as the Balance screen and the report show them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from logbook.process.quantity import Quantity
from logbook.process.solvent import Compliance
from logbook.process.solvent_forecast import Forecast
from logbook.process.yields import AS_IS, DRY_MATTER, Yields
from logbook.shift.account_parts import MealFound
from logbook.shift.accounts import CAUTIONS, Accounts
from logbook.shift.balance_view import Account
from logbook.shift.figure_words import Figure, figure_of, number_words

LARGE_MJ = 10_000.0
"""From here on heat is shown in GJ."""
LEGAL = CAUTIONS[0]
STATUSES = (
    "Every month is taken as normal operation: the book does not keep the rule's operating "
    "statuses, and its factors and equations are partly from memory."
)
SAFETY = CAUTIONS[1]
MODELLED = "Worked out by balances and published properties; site procedures and limits come first."


def accounts_in_words(
    found: Accounts,
    ratio: Compliance | None = None,
    forecast: Forecast | None = None,
    *,
    decimal_comma: bool = False,
) -> tuple[Account, ...]:
    """Every account in the order of the process; `ratio` is that of the rolling year, if told.

    `forecast` is what it comes to at the end of a month that still runs.
    """
    words = _Words(decimal_comma=decimal_comma)
    made = (
        words.account("throughput", "Throughput", _throughput(found), _throughput_told(found)),
        words.account("yields", "Yields", _yields(found)),
        words.account("oil", "Oil account", _oil(found), _oil_told(found), total=_OIL_TOTALS),
        words.account("water", "Water account", _water(found), _water_told(found)),
        words.account("solvent", "Solvent account", _solvent(found), _solvent_told(found), LEGAL),
        words.account(
            "compliance",
            "Solvent loss against the limits",
            _limits(found, ratio, forecast),
            _limits_told(found, ratio, forecast),
            f"{LEGAL} {STATUSES}",
        ),
        words.account("extractor", "Extractor", _extractor(found), found.extractor.note),
        words.account("toaster", "Desolventizing", _of(found.toaster), "", f"{MODELLED} {SAFETY}"),
        words.account("dryer", "Drying", _of(found.dryer), "", MODELLED),
        words.account("cooler", "Cooling", _of(found.cooler)),
        words.account("evaporation", "Evaporation", _stages(found), "", MODELLED),
        words.account("meal", "Meal quality", _meal(found.meal), _meal_told(found.meal)),
    )
    return tuple(one for one in made if one.figures)


class _Words:
    """Writes figures by the plant's own decimal mark."""

    def __init__(self, *, decimal_comma: bool) -> None:
        self._comma = decimal_comma

    def account(
        self,
        key: str,
        title: str,
        figures: Iterable[Quantity],
        told: str = "",
        caution: str = "",
        total: frozenset[str] = frozenset(),
    ) -> Account:
        """An account with each figure in words; names in `total` stand out."""
        rows = tuple(self._figure(one, is_total=one.name in total) for one in figures)
        return Account(key, title, rows, told, caution)

    def _figure(self, one: Quantity, *, is_total: bool) -> Figure:
        name = f"{one.name[:1].upper()}{one.name[1:]}"
        shown = _in_large_units(one).named(name)
        return figure_of(shown, decimal_comma=self._comma, is_total=is_total)


def _in_large_units(one: Quantity) -> Quantity:
    """Heat of a day and more in GJ: nobody reads millions of megajoules."""
    if one.unit != "MJ" or one.value is None or abs(one.value) < LARGE_MJ:
        return one
    sigma = None if one.sigma is None else one.sigma / 1000.0
    return replace(one, value=one.value / 1000.0, sigma=sigma, unit="GJ")


def told_of(one: Quantity) -> str:
    """Value, interval and unit of a figure, for a sentence."""
    value, spread = number_words(one.value, one.sigma)
    return " ".join(part for part in (value, spread, one.unit) if part)


def is_nothing(one: Quantity) -> bool:
    """Whether a figure cannot be told from nought by its 95 % interval."""
    bounds = one.interval()
    return bounds is not None and bounds[0] <= 0.0 <= bounds[1]


def _of(part: object) -> Iterator[Quantity]:
    """Every figure of a record, in the order in which it states them."""
    for name in getattr(part, "__slots__", ()):
        value = getattr(part, name)
        if isinstance(value, Quantity):
            yield value


# -- throughput and yields ------------------------------------------------------------------


def _throughput(found: Accounts) -> Iterator[Quantity]:
    through = found.throughput
    yield from _of(through)
    yield Quantity("time down", through.down_hours, "h", None, source="stops of the line")
    for loss in through.losses:
        missed = loss.missed_tonnes
        note = f"{loss.stops} stop{'s' if loss.stops != 1 else ''}, {loss.hours:.1f} h"
        yield Quantity(f"missed by: {loss.reason}", missed, "t", None, note=note)


def _throughput_told(found: Accounts) -> str:
    through = found.throughput
    if not through.tonnes.is_known:
        return ""
    return f"{told_of(through.tonnes)}, {told_of(through.rate)}."


def _yields(found: Accounts) -> Iterator[Quantity]:
    for made in (found.yields.as_is, found.yields.dry, found.yields.stated):
        if made is not None:
            yield from _yield_figures(made)
    allowed = found.yields.allowed
    yield from _of(allowed)
    for name, gap in (("oil", found.yields.gaps.oil), ("meal", found.yields.gaps.meal)):
        yield gap.percent.named(f"{name}, got less allowed")
        yield gap.lb_per_bushel.named(f"{name}, got less allowed")
    for name in ("oil", "meal", "hulls"):
        gap = getattr(found.yields.standard, name)
        yield gap.lb_per_bushel.named(f"{name}, got less the standard crush")


def _yield_figures(made: Yields) -> Iterator[Quantity]:
    basis = "dry" if made.basis == DRY_MATTER else made.basis.words
    for name in ("oil", "meal", "hulls", "shrink"):
        one = getattr(made, name)
        yield one.percent.named(f"{name}, {basis}")
        if made.basis == AS_IS:
            yield one.kg_per_t.named(f"{name}, {basis}")
            yield one.lb_per_bushel.named(f"{name}, {basis}")


# -- oil and water --------------------------------------------------------------------------

_OIL_TOTALS = frozenset({"oil in beans", "unaccounted oil"})


def _oil(found: Accounts) -> Iterator[Quantity]:
    yield from _of(found.oil)
    if found.oil_worth is not None:
        yield from _of(found.oil_worth)


def _oil_told(found: Accounts) -> str:
    share = found.oil.unaccounted_percent
    if not share.is_known:
        return ""
    told = f"{told_of(share)} of the beans' oil is not accounted for"
    return f"{told}, which cannot be told from nothing." if is_nothing(share) else f"{told}."


def _water(found: Accounts) -> Iterator[Quantity]:
    water = found.water
    for line in water.lines:
        yield line.water.named(f"{'in' if line.is_in else 'out'}: {line.water.name}")
    yield from (water.total_in, water.total_out, water.unaccounted, water.unaccounted_share)
    yield from water.left_out


def _water_told(found: Accounts) -> str:
    rest = found.water.unaccounted
    if not rest.is_known:
        return ""
    told = f"{told_of(rest)} of water is not accounted for"
    return f"{told}, which cannot be told from nothing." if is_nothing(rest) else f"{told}."


# -- solvent --------------------------------------------------------------------------------


def _solvent(found: Accounts) -> Iterator[Quantity]:
    solvent = found.solvent
    yield from (solvent.stock_begin.named("in tanks at the begin"), solvent.received)
    yield solvent.stock_end.named("in tanks at the end")
    yield from _of(solvent.account)
    if solvent.worth_per_day is not None:
        yield solvent.worth_per_day


def _solvent_told(found: Accounts) -> str:
    account = found.solvent.account
    if not account.kg_t.is_known:
        return ""
    told = f"{told_of(account.kg_t)} lost."
    if account.dominated and account.clear_days is not None:
        told += (
            " The tank dips decide most of that figure: over about "
            f"{account.clear_days:.0f} days it says more."
        )
    return told


def _limits(
    found: Accounts, ratio: Compliance | None, forecast: Forecast | None
) -> Iterator[Quantity]:
    if ratio is not None:
        # The figure over fewer months is of use only while twelve are wanting.
        yield from (one for one in _of(ratio) if one is not ratio.so_far or ratio.months_wanting)
    if forecast is not None:
        yield from _of(forecast)
    eu = found.solvent.eu
    yield from (eu.specific, eu.limit)


def _limits_told(found: Accounts, ratio: Compliance | None, forecast: Forecast | None) -> str:
    parts = []
    if ratio is not None and ratio.ratio.is_known:
        value = ratio.ratio.value or 0.0
        side = "within" if value <= 1.0 else "above"
        parts.append(
            f"Compliance ratio of the twelve months {told_of(ratio.ratio)}: {side} 1.00 (40 CFR 63.2840)."
        )
    if forecast is not None and forecast.interval is not None:
        low, high = forecast.interval
        parts.append(
            f"Expected at the end of the month: {low:.3f} to {high:.3f} ({forecast.coverage:.0%})."
        )
    eu = found.solvent.eu
    if eu.within is not None:
        parts.append(f"{'Within' if eu.within else 'Above'} the limit of {told_of(eu.limit)}.")
    return " ".join(parts)


# -- the process ----------------------------------------------------------------------------


def _extractor(found: Accounts) -> Iterator[Quantity]:
    part = found.extractor
    yield from (part.ratio, part.ratio_volume, part.residual_oil, part.miscella_oil)
    if part.predicted is not None:
        for one in _of(part.predicted):
            yield one.named(f"by washing stages: {one.name}")


def _stages(found: Accounts) -> Iterator[Quantity]:
    for key, made in found.stages.items():
        name = key.replace("_", " ")
        for one in _of(made):
            yield one.named(f"{name}: {one.name}")


def _meal(meal: MealFound) -> Iterator[Quantity]:
    yield from _of(meal.analysis)
    for check in meal.checks:
        yield replace(check.margin, note=f"guarantee: {check.verdict.value}")
    for part in (meal.protein, meal.drying):
        if part is not None:
            yield from _of(part)
    if meal.hulls is not None:
        yield replace(meal.hulls.kg_per_t, note=f"limited by {meal.hulls.limited_by}")
        yield meal.hulls.by_protein_kg_per_t
        yield from (one.named(f"{one.name} after that") for one in _of(meal.hulls.blend))


def _meal_told(meal: MealFound) -> str:
    said = [f"{check.what} {check.verdict.value}" for check in meal.checks]
    return f"Guarantees: {', '.join(said)}." if said else ""


def verdict_of(found: Accounts, accused: tuple[str, ...]) -> tuple[str, ...]:
    """What the period comes to, the first thing to read; `accused` are sentences about meters."""
    if not found.has_enough:
        beans = found.inputs["beans"]
        why = beans.note or f"missing: {', '.join(beans.missing)}"
        return (f"Too little is known of this period: the beans are not counted ({why}).",)
    lines = [f"Crushed {_throughput_told(found)}"]
    oil = found.yields.as_is.oil.percent
    if oil.is_known:
        lines.append(f"Oil yield {told_of(oil)}. {_oil_told(found)}".rstrip())
    if told := _solvent_told(found):
        lines.append(f"Solvent: {told}")
    return (*lines, *accused)
