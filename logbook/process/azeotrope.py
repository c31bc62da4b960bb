"""Hexane and water that boil together, and the vapour that leaves a desolventizer.

The two liquids hardly dissolve in one another, so each presses with its own vapour pressure:
p_hexane(T) + p_water(T) = p. Taken as wholly immiscible and the vapour as an ideal gas, which
puts the azeotrope at 101.325 kPa at 61.4 degC with 5.3 % of water by mass; handbooks give 61.6 degC
and 5.6 % (from memory). Commercial hexane boils with water about one kelvin lower still.

A vapour temperature near the azeotrope can mean liquid solvent in the meal below. What is said
here supports, and does not replace, the site's procedures, local codes and licensed practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from logbook.plant.units import STANDARD_BAROMETER_KPA
from logbook.process import hexane, water
from logbook.process.quantity import Quantity, derive
from logbook.process.roots import root_between

SOURCE = "immiscible liquids: p(hexane) + p(water) = p"
LOWEST_KPA, HIGHEST_KPA = 10.0, 500.0


@dataclass(frozen=True, slots=True)
class Azeotrope:
    """Where hexane and water boil together."""

    p_kpa: float
    """Absolute pressure, kPa."""
    t_c: float
    """Boiling temperature, degC."""
    water_mole_fraction: float
    """Of the vapour, 0 to 1."""
    water_mass_fraction: float
    """Of the vapour, 0 to 1."""


@lru_cache(maxsize=1024)
def azeotrope(p_kpa: float = STANDARD_BAROMETER_KPA) -> Azeotrope:
    """Return where hexane and water boil together at an absolute pressure (10 to 500 kPa).

    Raises:
        ValueError: outside the range.

    >>> found = azeotrope(101.325)
    >>> round(found.t_c, 2), round(100 * found.water_mass_fraction, 2)
    (61.42, 5.27)
    """
    if not LOWEST_KPA <= p_kpa <= HIGHEST_KPA:
        msg = f"{p_kpa:g} kPa abs is outside the range here: {LOWEST_KPA:g} to {HIGHEST_KPA:g} kPa abs"
        raise ValueError(msg)

    def surplus(t_c: float) -> float:
        return hexane.vapour_pressure(t_c) + water.saturation_pressure(t_c) - p_kpa

    t_c = root_between(surplus, 0.01, hexane.boiling_point(p_kpa))
    mole = water.saturation_pressure(t_c) / p_kpa
    return Azeotrope(p_kpa, t_c, mole, _mass_fraction(mole))


def water_per_hexane(vapour_c: float, p_kpa: float = STANDARD_BAROMETER_KPA) -> float:
    """Return the water that hexane vapour takes along out of wet meal, kg per kg of hexane.

    The vapour is saturated with water at its own temperature, as it is above meal that direct
    steam has wetted: p_water / (p - p_water) in moles.

    Raises:
        ValueError: below the azeotrope, where such a vapour condenses, and where nothing but steam
            is left (water boils at `vapour_c`).

    >>> round(water_per_hexane(72.0), 4)
    0.1056
    """
    lowest = azeotrope(p_kpa).t_c
    if vapour_c < lowest - 1e-6:
        msg = (
            f"vapour of hexane and water at {p_kpa:g} kPa abs cannot be colder than "
            f"{lowest:.1f} °C, the azeotrope: {vapour_c:g} °C says liquid solvent at the thermometer"
        )
        raise ValueError(msg)
    steam = water.saturation_pressure(vapour_c)
    if steam >= p_kpa:
        msg = f"at {vapour_c:g} °C and {p_kpa:g} kPa abs the vapour is all steam"
        raise ValueError(msg)
    moles = steam / (p_kpa - steam)
    return moles * water.WATER_MOLAR_MASS / hexane.HEXANE_MOLAR_MASS


def margin(vapour: Quantity, pressure: Quantity) -> Quantity:
    """Return how far a `vapour` temperature (degC) lies above the azeotrope, K.

    `pressure` in kPa abs. Near nothing or below it, solvent condenses where it should be driven out.

    >>> shown = margin(
    ...     Quantity("vapour", 72.0, "°C", 0.5), Quantity("pressure", 101.3, "kPa abs", 0.5)
    ... )
    >>> round(shown.value, 1), round(shown.sigma, 2)
    (10.6, 0.52)
    """
    return derive(
        "vapour above the azeotrope",
        "K",
        _margin,
        {"vapour_c": vapour, "p_kpa": pressure},
        source=SOURCE,
        note=f"{hexane.COMMERCIAL}; {hexane.CAUTION}",
    )


def _margin(vapour_c: float, p_kpa: float) -> float:
    return vapour_c - azeotrope(p_kpa).t_c


def _mass_fraction(mole: float) -> float:
    mass = mole * water.WATER_MOLAR_MASS
    return mass / (mass + (1.0 - mole) * hexane.HEXANE_MOLAR_MASS)
