"""What meal gives away: protein above its guarantee, and water dried off that could be sold.

Contents are % of the meal as is, masses t, prices any money for a tonne.
"""

from __future__ import annotations

from dataclasses import dataclass

from logbook.process.meal import hulls_for
from logbook.process.moisture import to_basis
from logbook.process.quantity import Quantity, derive

EVAPORATION_KJ_PER_KG = 2406.0
"""Heat of evaporation of water at 40 °C (IAPWS-95): the least that drying takes."""
KG_PER_T = 1000.0


@dataclass(frozen=True, slots=True)
class ProteinGiveaway:
    """Protein above the guarantee, and what it is worth in two ways that do not add up."""

    points: Quantity
    """Points of percent above the guarantee; negative: below."""
    protein: Quantity
    """t of protein not paid for."""
    worth_by_premium: Quantity
    """Points × price of a point of protein in a tonne of meal × tonnes."""
    hulls: Quantity
    """t of hulls that the meal could have taken to stand at the guarantee."""
    worth_by_hulls: Quantity
    """These sold as meal and not as hulls."""


@dataclass(frozen=True, slots=True)
class DryingGiveaway:
    """Water dried off that could have been sold, and the heat that took it off."""

    moisture_allowed: Quantity
    """% that the meal could have: the limit, or less where its protein would fall short."""
    limited_by: str
    """"moisture" or "protein"."""
    points: Quantity
    """Points below what is allowed; negative: wetter than allowed."""
    water: Quantity
    """t of water not sold."""
    worth: Quantity
    """These at the price of meal."""
    heat: Quantity
    """GJ spent on drying them off, beside the sale that was missed."""
    protein_then: Quantity
    """% protein of the meal at the moisture allowed."""


def protein_giveaway(
    meal: Quantity,
    protein: Quantity,
    guarantee: float,
    *,
    hull_protein: Quantity | None = None,
    point_price: float | None = None,
    meal_price: float | None = None,
    hull_price: float | None = None,
    money: str = "",
) -> ProteinGiveaway:
    """Return what protein above the guarantee is given away in a mass of meal (t).

    `point_price` is the premium for one point of protein in a tonne of meal, `meal_price` and
    `hull_price` are for a tonne, all in `money`. A worth whose price is not given names it as missing.
    """
    both = {"mass": meal, "protein": protein}

    def points(protein: float) -> float:
        return protein - guarantee

    def tonnes(mass: float, protein: float) -> float:
        return mass * points(protein) / 100.0

    def hulls_t(mass: float, protein: float, hull: float) -> float:
        return mass * hulls_for(protein, hull, guarantee) / KG_PER_T

    hull = hull_protein or Quantity("hull protein", None, "%")
    premium = _price("price of a point", point_price)
    spread = derive(
        "meal price less hull price",
        "per t",
        _difference,
        {"a": _price("meal price", meal_price), "b": _price("hull price", hull_price)},
    )
    hulls = derive("hulls not sold as meal", "t", hulls_t, {**both, "hull": hull})
    above = derive("protein above guarantee", "%", points, {"protein": protein})
    return ProteinGiveaway(
        points=above,
        protein=derive("protein given away", "t", tonnes, both),
        worth_by_premium=derive(
            "worth by premium", money, _product, {"a": above, "b": meal, "c": premium}
        ),
        hulls=hulls,
        worth_by_hulls=derive("worth by hulls", money, _product, {"a": hulls, "b": spread}),
    )


def drying_giveaway(
    meal: Quantity,
    moisture: Quantity,
    limit: float,
    *,
    protein: Quantity | None = None,
    protein_least: float | None = None,
    meal_price: float | None = None,
    heat_kj_per_kg: float = EVAPORATION_KJ_PER_KG,
    money: str = "",
) -> DryingGiveaway:
    """Return what drying below the moisture allowed has cost in a mass of meal (t as is).

    Water left in thins the protein too: with `protein` and `protein_least` the meal is held at
    the moisture at which it still keeps its guarantee. `heat_kj_per_kg` is what the dryer takes
    for a kg of water; without it only the heat of evaporation, which is the least.
    """
    held = protein if protein_least is not None and protein is not None else None
    rule = _Drying.of(limit, moisture, held, protein_least, heat_kj_per_kg)
    contents = {"moisture": moisture}
    if held is not None and rule.protein_least is not None:
        contents["protein"] = held
    room = {"mass": meal, **contents}
    water = derive("water not sold", "t", rule.water, room, source="balance of dry matter")
    then = {"moisture": moisture, "protein": protein or Quantity("meal protein", None, "%")}
    price = _price("meal price", meal_price)
    return DryingGiveaway(
        moisture_allowed=derive("moisture allowed", "%", rule.allowed, contents),
        limited_by="moisture" if rule.protein_least is None else "protein",
        points=derive("dried below what is allowed", "%", rule.points, contents),
        water=water,
        worth=derive("worth of water not sold", money, _product, {"a": water, "b": price}),
        heat=derive("heat of drying it off", "GJ", rule.heat, room),
        protein_then=derive("protein at that moisture", "%", rule.protein_then, then),
    )


@dataclass(frozen=True, slots=True)
class _Drying:
    """How moist the meal could be, and what lies between."""

    limit: float
    protein_least: float | None
    """The guarantee where it is what holds the meal back; None: the limit does."""
    heat_kj_per_kg: float

    @classmethod
    def of(
        cls,
        limit: float,
        moisture: Quantity,
        protein: Quantity | None,
        protein_least: float | None,
        heat_kj_per_kg: float,
    ) -> _Drying:
        """Judge by the values as they stand which of the two holds the meal back."""
        now, content = moisture.value, None if protein is None else protein.value
        if protein_least is None or not content or now is None or now >= limit:
            return cls(limit, None, heat_kj_per_kg)
        is_held = _moisture_at(now, content, protein_least) < limit
        return cls(limit, protein_least if is_held else None, heat_kj_per_kg)

    def allowed(self, moisture: float, protein: float | None = None) -> float:
        if protein is None or self.protein_least is None or moisture >= self.limit:
            return self.limit
        return max(_moisture_at(moisture, protein, self.protein_least), moisture)

    def points(self, moisture: float, protein: float | None = None) -> float:
        return self.allowed(moisture, protein) - moisture

    def water(self, mass: float, moisture: float, protein: float | None = None) -> float:
        then = self.allowed(moisture, protein)
        return mass * (then - moisture) / (100.0 - then)

    def heat(self, mass: float, moisture: float, protein: float | None = None) -> float:
        return self.water(mass, moisture, protein) * self.heat_kj_per_kg / KG_PER_T

    def protein_then(self, moisture: float, protein: float) -> float:
        return to_basis(protein, moisture, self.allowed(moisture, protein))


def _moisture_at(moisture: float, protein: float, least: float) -> float:
    """Moisture at which meal that now has `protein` has `least`, %."""
    return 100.0 - (100.0 - moisture) * least / protein


def _price(name: str, value: float | None) -> Quantity:
    return Quantity(name, value, "per t", None if value is None else 0.0)


def _difference(a: float, b: float) -> float:
    return a - b


def _product(a: float, b: float, c: float = 1.0) -> float:
    return a * b * c
