"""Where the oil of the beans went: oil out, left in the meal, left in the hulls, and the rest.

oil in beans = oil out + residual oil in meal + oil in hulls + unaccounted. The rest is what is
worked out last and holds every error of the others, so it stands beside its uncertainty: within
that, nothing is missing. Residual oil between bases: `moisture.to_basis`.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.process.quantity import Quantity, derive

SOURCE = "oil in beans = oil out + in meal + in hulls + unaccounted"
COVERAGE = 1.96
"""Standard uncertainties of a 95 % interval of normal errors."""


@dataclass(frozen=True, slots=True)
class OilAccount:
    """The oil of a period; masses in t."""

    in_beans: Quantity
    out: Quantity
    """Oil made, without its water and whatever else is no oil."""
    in_meal: Quantity
    in_hulls: Quantity
    unaccounted: Quantity
    """Negative where more was found than came in."""
    unaccounted_percent: Quantity
    """% of the oil in the beans."""
    extraction_efficiency: Quantity
    """% of the oil in the beans that did not stay in meal and hulls: what the extractor did."""
    recovery: Quantity
    """% of the oil in the beans that came out as oil: what the plant did."""

    @property
    def is_unaccounted_certain(self) -> bool:
        """True where the unaccounted oil is more than its 95 % interval, either way."""
        value, sigma = self.unaccounted.value, self.unaccounted.sigma
        return value is not None and sigma is not None and abs(value) > COVERAGE * sigma


@dataclass(frozen=True, slots=True)
class OilWorth:
    """What oil that was not sold is worth, in the money of the price."""

    unaccounted_per_day: Quantity
    in_meal_per_day: Quantity
    in_hulls_per_day: Quantity
    tenth_in_meal_per_day: Quantity
    """Worth a day of 0.1 point of residual oil in the meal."""


def oil_account(
    *,
    beans: Quantity,
    bean_oil: Quantity,
    oil: Quantity,
    meal: Quantity,
    meal_oil: Quantity,
    hulls: Quantity,
    hull_oil: Quantity,
    oil_purity: Quantity | None = None,
) -> OilAccount:
    """Return the account: masses in t and contents in % on the basis of the mass they belong to.

    `oil_purity` is % of oil in what is weighed as oil (100 less moisture, solvent and
    impurities); without it, all of it is taken as oil. Where the plant takes out no hulls, give
    exactly 0 t.

    >>> from logbook.process.quantity import Quantity as Q
    >>> told = oil_account(
    ...     beans=Q("beans", 1500.0, "t", 3.0),
    ...     bean_oil=Q("bean oil", 20.0, "%", 0.1),
    ...     oil=Q("oil", 289.0, "t", 0.6),
    ...     meal=Q("meal", 1100.0, "t", 5.5),
    ...     meal_oil=Q("meal oil", 0.6, "%", 0.05),
    ...     hulls=Q("hulls", 75.0, "t", 1.0),
    ...     hull_oil=Q("hull oil", 1.0, "%", 0.1),
    ... )
    >>> round(told.unaccounted.value, 2), round(told.unaccounted.sigma, 2)
    (3.65, 1.81)
    """
    pure = oil_purity or Quantity("oil purity", 100.0, "%", 0.0)
    parts = {
        "came": _contained("oil in beans", beans, bean_oil),
        "out": _contained("oil out", oil, pure),
        "meal": _contained("oil in meal", meal, meal_oil),
        "hulls": _contained("oil in hulls", hulls, hull_oil),
    }
    kept = {key: parts[key] for key in ("came", "meal", "hulls")}
    made = {key: parts[key] for key in ("came", "out")}
    return OilAccount(
        in_beans=parts["came"],
        out=parts["out"],
        in_meal=parts["meal"],
        in_hulls=parts["hulls"],
        unaccounted=derive("unaccounted oil", "t", _rest, parts, source=SOURCE),
        unaccounted_percent=derive("unaccounted oil", "%", _rest_percent, parts, source=SOURCE),
        extraction_efficiency=derive(
            "extraction efficiency",
            "%",
            _efficiency,
            kept,
            source="1 − (oil in meal + in hulls) / oil in beans",
        ),
        recovery=derive("oil recovery", "%", _percent, made, source="oil out / oil in beans"),
    )


def oil_worth(
    account: OilAccount,
    *,
    price_per_t: float,
    days: float,
    meal: Quantity | None = None,
    money: str = "",
) -> OilWorth:
    """Return what the oil that was not sold is worth a day at a price for a tonne of oil, in `money`.

    `days` is the length of the account's period, over 0 (ValueError). `meal` (t) tells what a
    tenth of a point in it is worth. Oil in meal and hulls is sold with them: what it fetches
    there is not taken off.
    """
    if not days > 0.0:
        msg = f"the period must have a length, not {days:g} days"
        raise ValueError(msg)
    price = price_per_t / days

    def worth(name: str, mass: Quantity, share: float = 1.0) -> Quantity:
        def formula(mass_t: float) -> float:
            return mass_t * share * price

        return derive(
            name,
            f"{money} per day".lstrip(),
            formula,
            {"mass_t": mass},
            source="mass × price / days",
        )

    meal = meal or Quantity("meal", None, "t")
    return OilWorth(
        unaccounted_per_day=worth("worth of unaccounted oil", account.unaccounted),
        in_meal_per_day=worth("worth of oil in meal", account.in_meal),
        in_hulls_per_day=worth("worth of oil in hulls", account.in_hulls),
        tenth_in_meal_per_day=worth("worth of 0.1 point of oil in meal", meal, 0.001),
    )


def _contained(name: str, mass: Quantity, content: Quantity) -> Quantity:
    """Mass of oil in a mass, t.

    A content that is missing does not matter where the mass is exactly nothing.
    """
    if mass.value == 0.0 and mass.sigma == 0.0 and not content.is_known:
        return Quantity(name, 0.0, "t", 0.0, inputs=(mass.name,))
    inputs = {"mass": mass, "content": content}
    return derive(name, "t", _held, inputs, source="mass × content")


def _held(mass: float, content: float) -> float:
    return mass * content / 100.0


def _rest(came: float, out: float, meal: float, hulls: float) -> float:
    return came - out - meal - hulls


def _rest_percent(came: float, out: float, meal: float, hulls: float) -> float:
    return 100.0 * _rest(came, out, meal, hulls) / came


def _efficiency(came: float, meal: float, hulls: float) -> float:
    return 100.0 * (1.0 - (meal + hulls) / came)


def _percent(came: float, out: float) -> float:
    return 100.0 * out / came
