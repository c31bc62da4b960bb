"""What a plant says for its accounts: points by role, accuracy of meters, prices and guarantees.

The roles are those of the plant's arithmetic (`logbook.process.roles`). A plant that says nothing
of a role gets the points of the shipped template, where it has them under the same keys.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class PlantAccounts:
    """The section [accounts] of a plant file."""

    points: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}))
    """Role to the keys of its points; an empty tuple: the plant measures nothing of the kind."""
    uncertainty: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Point key to the standard uncertainty of its meter, % of the reading."""
    figures: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    """Name of a figure to its value in the unit of `FIGURES`."""
    words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    """Choices in words, such as the type of the source in the solvent rule."""

    def points_of(self, role: str, usual: tuple[str, ...]) -> tuple[str, ...]:
        """The points of a role; `usual` where the plant says nothing of it."""
        return self.points.get(role, usual)


NO_ACCOUNTS = PlantAccounts()
"""Of a plant that says nothing."""


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that the accounts need and no meter tells; a price is per tonne in any money."""

    unit: str
    least: float
    most: float
    meaning: str

    @property
    def is_price(self) -> bool:
        """True where it is money per mass."""
        return self.unit.startswith("per ")


def _price(of: str) -> Figure:
    return Figure("per t", 0.0, 1e9, f"price of {of}")


def _tonnes(of: str) -> Figure:
    return Figure("t", 0.0, 1e7, f"what the {of} hold full")


FIGURES: Mapping[str, Figure] = MappingProxyType(
    {
        "plan": Figure("t/d", 0.0, 1e5, "beans to be crushed on a production day"),
        "oil_price": _price("crude oil"),
        "meal_price": _price("meal"),
        "hull_price": _price("hull pellets"),
        "solvent_price": _price("solvent"),
        "meal_protein_guarantee": Figure("%", 0.0, 100.0, "least protein of the meal, as is"),
        "meal_fibre_limit": Figure("%", 0.0, 100.0, "most crude fibre of the meal, as is"),
        "meal_moisture_limit": Figure("%", 0.0, 100.0, "most moisture of the meal"),
        "meal_oil_guarantee": Figure("%", 0.0, 100.0, "least oil of the meal, as is"),
        "bean_moisture_basis": Figure("%", 0.0, 40.0, "moisture at which beans are traded"),
        "solvent_density": Figure("kg/m³", 500.0, 1000.0, "density of the solvent at 20 °C"),
        "hap_fraction": Figure(
            "% by volume", 0.0, 100.0, "regulated component in the solvent, where none is analysed"
        ),
        "day_bin_capacity": _tonnes("day bins"),
        "meal_bin_capacity": _tonnes("meal bins, each,"),
        "pellet_bin_capacity": _tonnes("pellet bins, each,"),
        "dryer_steam_factor": Figure(
            "", 0.2, 5.0, "steam that the dryer needs over what its meter shows, in good months"
        ),
        "extractor_stages": Figure("", 1.0, 30.0, "washing stages of the extractor"),
    }
)
"""Figures by name, in the unit in which the book keeps them."""

WORDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "source_age": ("existing", "new"),
        "source_type": ("conventional", "specialty", "combination"),
        "money": (),
    }
)
"""Choices in words; () where any word will do."""
