"""What a tonne of beans gave, on any moisture basis, and what it could have given.

A yield is product over beans. As is, both are weighed as they are, and water dried off or picked
up shows as shrink; at stated moistures both are first brought there; in dry matter only what is
not water is compared, so that shrink is dry matter that nobody has seen again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.process.crush import STANDARD, CrushConversion, lb_per_bushel, percent_of_bushel
from logbook.process.moisture import DRY, basis_words, mass_at_basis
from logbook.process.quantity import Quantity, derive

SOURCE = "mass of product / mass of beans"
ALLOWED_SOURCE = "balance of oil, protein and dry matter without oil"


@dataclass(frozen=True, slots=True)
class Weighed:
    """A mass with its moisture."""

    mass: Quantity
    """t, as is."""
    moisture: Quantity | None = None
    """% of wet mass; needed for every basis but as is."""


@dataclass(frozen=True, slots=True)
class Basis:
    """At which moisture beans and products are compared; None: as is."""

    beans: float | None = None
    products: float | None = None
    """For meal and hulls; oil is taken as is, and without its water in dry matter."""

    @property
    def words(self) -> str:
        """The basis as a table's head says it."""
        if self.beans == self.products:
            return basis_words(self.beans)
        return f"beans {basis_words(self.beans)}, products {basis_words(self.products)}"


AS_IS = Basis()
DRY_MATTER = Basis(DRY, DRY)
NO_WASTE = Quantity("waste", 0.0, "%", 0.0)


@dataclass(frozen=True, slots=True)
class Yield:
    """One yield in the three ways it is quoted."""

    percent: Quantity
    """% of the beans."""
    kg_per_t: Quantity
    lb_per_bushel: Quantity
    """Pounds from a 60-lb bushel."""


@dataclass(frozen=True, slots=True)
class Yields:
    """What the beans of a period gave."""

    basis: Basis
    oil: Yield
    meal: Yield
    hulls: Yield
    shrink: Yield
    """What is in none of them: on a basis with water mostly water, in dry matter a loss."""


@dataclass(frozen=True, slots=True)
class BeanAnalysis:
    """Analysis of the beans, % as is."""

    moisture: Quantity
    oil: Quantity
    protein: Quantity


@dataclass(frozen=True, slots=True)
class Leavings:
    """What products carry away with them: analyses in % as is, amounts in % of the beans."""

    meal_moisture: Quantity
    meal_oil: Quantity
    hulls: Quantity
    """Hulls taken out, % of the beans, both as is; exactly 0 where none are."""
    hull_moisture: Quantity
    hull_oil: Quantity
    hull_protein: Quantity
    waste: Quantity = NO_WASTE
    """Foreign matter taken out, % of the beans: as moist as they are, without oil and protein."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """What the analysis of the beans allows, % of the beans as is."""

    oil: Quantity
    meal: Quantity
    """At its own moisture and residual oil."""
    hulls: Quantity
    shrink: Quantity
    meal_protein: Quantity
    """% of the meal as is."""


@dataclass(frozen=True, slots=True)
class YieldGap:
    """How far a yield is from what it is held against; negative: less was got."""

    percent: Quantity
    """Points of percent of the beans."""
    lb_per_bushel: Quantity


@dataclass(frozen=True, slots=True)
class YieldGaps:
    """Gaps of the three products."""

    oil: YieldGap
    meal: YieldGap
    hulls: YieldGap


def yields(
    beans: Weighed,
    *,
    oil: Weighed,
    meal: Weighed,
    hulls: Weighed | None = None,
    basis: Basis = AS_IS,
) -> Yields:
    """Return the yields of a period on a basis, each with uncertainty and what is missing.

    Without `hulls` none are taken out: their yield is exactly 0.

    >>> from logbook.process.quantity import Quantity
    >>> told = yields(
    ...     Weighed(Quantity("beans", 1500.0, "t")),
    ...     oil=Weighed(Quantity("oil", 285.0, "t")),
    ...     meal=Weighed(Quantity("meal", 1125.0, "t")),
    ... )
    >>> told.oil.percent.value, told.shrink.percent.value
    (19.0, 6.0)
    """
    none = Weighed(Quantity("hulls", 0.0, "t", 0.0), Quantity("hull moisture", 0.0, "%", 0.0))
    solids = basis.products
    in_basis = {
        "beans": _mass(beans, basis.beans),
        "oil": _mass(oil, DRY if solids == DRY else None),
        "meal": _mass(meal, solids),
        "hulls": _mass(hulls or none, solids),
    }
    of_beans = in_basis["beans"]
    return Yields(
        basis=basis,
        oil=_yield("oil yield", _share, {"part": in_basis["oil"], "beans": of_beans}),
        meal=_yield("meal yield", _share, {"part": in_basis["meal"], "beans": of_beans}),
        hulls=_yield("hull yield", _share, {"part": in_basis["hulls"], "beans": of_beans}),
        shrink=_yield("shrink", _shrink, in_basis),
    )


def allowed(bean: BeanAnalysis, leavings: Leavings) -> Allowed:
    """Return what the beans can give at most, with the residual oil and moisture of the products.

    Dry matter without oil goes to meal, hulls and waste; what oil the meal and the hulls do not
    keep is oil; protein that is not in the hulls is in the meal.
    """
    inputs = {
        "moisture": bean.moisture,
        "oil": bean.oil,
        "meal_moisture": leavings.meal_moisture,
        "meal_oil": leavings.meal_oil,
        "hulls": leavings.hulls,
        "hull_moisture": leavings.hull_moisture,
        "hull_oil": leavings.hull_oil,
        "waste": leavings.waste,
    }
    with_protein = {**inputs, "protein": bean.protein, "hull_protein": leavings.hull_protein}
    source = ALLOWED_SOURCE
    return Allowed(
        oil=derive("oil allowed", "%", _oil_allowed, inputs, source=source),
        meal=derive("meal allowed", "%", meal_allowed, inputs, source=source),
        hulls=leavings.hulls,
        shrink=derive("shrink allowed", "%", _shrink_allowed, inputs, source=source),
        meal_protein=derive("meal protein allowed", "%", _protein, with_protein, source=source),
    )


def against_standard(found: Yields, conversion: CrushConversion = STANDARD) -> YieldGaps:
    """Return how far yields are from the standard crush conversion, which holds as is."""

    def gap(one: Yield, pounds: float) -> YieldGap:
        standard = Quantity("standard crush", percent_of_bushel(pounds), "%", 0.0)
        return _gap(one.percent, standard)

    return YieldGaps(
        oil=gap(found.oil, conversion.oil_lb),
        meal=gap(found.meal, conversion.meal_lb),
        hulls=gap(found.hulls, conversion.hulls_lb),
    )


def against_analysis(found: Yields, most: Allowed) -> YieldGaps:
    """Return how far yields as is are from what the analysis of the beans allows.

    Raises ValueError for yields on another basis, which would compare unlike things.
    """
    if found.basis != AS_IS:
        msg = f"what the analysis allows holds as is, not {found.basis.words}: give yields as is"
        raise ValueError(msg)
    return YieldGaps(
        oil=_gap(found.oil.percent, most.oil),
        meal=_gap(found.meal.percent, most.meal),
        hulls=_gap(found.hulls.percent, most.hulls),
    )


def meal_allowed(
    *,
    moisture: float,
    oil: float,
    meal_moisture: float,
    meal_oil: float,
    hulls: float,
    hull_moisture: float,
    hull_oil: float,
    waste: float,
) -> float:
    """Return the meal that the analysis allows, % of the beans; all in % as `Leavings` says.

    ValueError where the hulls and the waste would hold more dry matter than the beans.
    """
    solids = 100.0 - moisture - oil
    in_hulls = hulls * (100.0 - hull_moisture - hull_oil) / 100.0
    in_waste = waste * (100.0 - moisture) / 100.0
    left = solids - in_hulls - in_waste
    if left < 0.0 or meal_moisture + meal_oil >= 100.0:
        raise ValueError("the products would hold more than the beans: check the analyses")
    return 100.0 * left / (100.0 - meal_moisture - meal_oil)


def _oil_allowed(**given: float) -> float:
    meal = meal_allowed(**given)
    kept = meal * given["meal_oil"] + given["hulls"] * given["hull_oil"]
    return given["oil"] - kept / 100.0


def _shrink_allowed(**given: float) -> float:
    return 100.0 - _oil_allowed(**given) - meal_allowed(**given) - given["hulls"]


def _protein(protein: float, hull_protein: float, **given: float) -> float:
    in_hulls = given["hulls"] * hull_protein / 100.0
    return 100.0 * (protein - in_hulls) / meal_allowed(**given)


def _mass(stream: Weighed, moisture_to: float | None) -> Quantity:
    if moisture_to is None:
        return stream.mass
    missing = Quantity(f"{stream.mass.name} moisture", None, "%")
    return mass_at_basis(stream.mass, stream.moisture or missing, moisture_to)


def _share(part: float, beans: float) -> float:
    return 100.0 * part / beans


def _shrink(beans: float, oil: float, meal: float, hulls: float) -> float:
    return 100.0 * (beans - oil - meal - hulls) / beans


def _yield(name: str, formula: Callable[..., float], inputs: dict[str, Quantity]) -> Yield:
    percent = derive(name, "%", formula, inputs, source=SOURCE)
    return Yield(
        percent=percent,
        kg_per_t=derive(name, "kg/t", _tenfold, {"percent": percent}, source=SOURCE),
        lb_per_bushel=derive(name, "lb/bu", lb_per_bushel, {"percent": percent}, source=SOURCE),
    )


def _tenfold(percent: float) -> float:
    return 10.0 * percent


def _gap(got: Quantity, wanted: Quantity) -> YieldGap:
    name = f"{got.name} less {wanted.name}"
    percent = derive(name, "%", _difference, {"got": got, "wanted": wanted})
    return YieldGap(percent, derive(name, "lb/bu", lb_per_bushel, {"percent": percent}))


def _difference(got: float, wanted: float) -> float:
    return got - wanted
