"""The bushel of the trade: the standard crush and the value of what a bushel gives.

A bushel of soybeans is 60 lb by agreement, a pound 0.45359237 kg exactly. The reference crush of
the trade gives 11 lb oil, 44 lb meal of 48 % protein, 4 lb hulls and 1 lb waste from a bushel
(farmdoc, "The long-run evolution of oilseed crushing", quoting the exchange). A meal yield of
47.5 lb also goes round: that is meal and hulls together, of 44 % protein; the two never mix.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.process.quantity import Quantity, derive

LB_KG = 0.45359237
BUSHEL_LB = 60.0
BUSHEL_KG = BUSHEL_LB * LB_KG
SHORT_TON_LB = 2000.0
KG_PER_T = 1000.0
SOURCE = "reference crush of 11 lb oil, 44 lb meal, 4 lb hulls, 1 lb waste from 60 lb"


@dataclass(frozen=True, slots=True)
class CrushConversion:
    """Pounds that a 60-lb bushel gives."""

    oil_lb: float
    meal_lb: float
    hulls_lb: float
    waste_lb: float


STANDARD = CrushConversion(11.0, 44.0, 4.0, 1.0)
"""The reference crush with meal of 48 % protein."""


@dataclass(frozen=True, slots=True)
class CrushProducts:
    """Tonnes of each product that a conversion gives."""

    oil: Quantity
    meal: Quantity
    hulls: Quantity
    waste: Quantity


@dataclass(frozen=True, slots=True)
class BushelValue:
    """Worth of what a bushel gives, in the money of the prices for a bushel."""

    oil: float
    meal: float
    hulls: float = 0.0

    @property
    def total(self) -> float:
        """All of it."""
        return self.oil + self.meal + self.hulls

    def margin(self, bean_price: float) -> float:
        """What is left of the total after paying for the bushel."""
        return self.total - bean_price


def bushels(mass_t: float) -> float:
    """Return 60-lb bushels in a mass in tonnes.

    >>> round(bushels(1.0), 6)
    36.74371
    """
    return mass_t * KG_PER_T / BUSHEL_KG


def mass_of_bushels(count: float) -> float:
    """Return tonnes in a number of 60-lb bushels: `bushels` undone."""
    return count * BUSHEL_KG / KG_PER_T


def lb_per_bushel(percent: float) -> float:
    """Return pounds from a bushel for a yield in % of the beans' mass.

    >>> round(lb_per_bushel(18.0 + 1.0 / 3.0), 6)
    11.0
    """
    return percent * BUSHEL_LB / 100.0


def percent_of_bushel(pounds: float) -> float:
    """Return the yield in % of the beans' mass for pounds from a bushel.

    >>> round(percent_of_bushel(44.0), 3)
    73.333
    """
    return pounds * 100.0 / BUSHEL_LB


def standard_products(beans: Quantity, conversion: CrushConversion = STANDARD) -> CrushProducts:
    """Return the tonnes of oil, meal, hulls and waste that `conversion` gives from beans (t)."""

    def part(name: str, pounds: float) -> Quantity:
        def share(mass: float) -> float:
            return mass * pounds / BUSHEL_LB

        return derive(f"standard {name}", "t", share, {"mass": beans}, source=SOURCE)

    return CrushProducts(
        oil=part("oil", conversion.oil_lb),
        meal=part("meal", conversion.meal_lb),
        hulls=part("hulls", conversion.hulls_lb),
        waste=part("waste", conversion.waste_lb),
    )


def bushel_value(
    *,
    oil_lb: float,
    meal_lb: float,
    oil_price_per_lb: float,
    meal_price_per_short_ton: float,
    hulls_lb: float = 0.0,
    hulls_price_per_short_ton: float = 0.0,
) -> BushelValue:
    """Return the worth of what a bushel gives (pounds and prices as the trade quotes them).

    >>> value = bushel_value(
    ...     oil_lb=11.6, meal_lb=48.05, oil_price_per_lb=0.4979, meal_price_per_short_ton=485.30
    ... )
    >>> round(value.total, 3), round(value.margin(15.59), 3)
    (17.435, 1.845)
    """
    return BushelValue(
        oil=oil_lb * oil_price_per_lb,
        meal=meal_lb * meal_price_per_short_ton / SHORT_TON_LB,
        hulls=hulls_lb * hulls_price_per_short_ton / SHORT_TON_LB,
    )
