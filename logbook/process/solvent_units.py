"""Loss of solvent per tonne of seed in the units that the trade uses, in all directions.

The international pound, the US gallon of 231 cubic inches and the short ton of 2,000 lb are exact
by definition: NIST Special Publication 811, Appendix B.8, notes 7 and 22 (from memory).
"""

from __future__ import annotations

GALLON_L = 3.785411784
"""Litres in a US gallon."""
SHORT_TON_T = 0.90718474
"""Tonnes in a US short ton."""


def gallons(litres: float) -> float:
    """Return US gallons from litres.

    >>> round(gallons(3.785411784), 12)
    1.0
    """
    return litres / GALLON_L


def litres(gallons: float) -> float:
    """Return litres from US gallons."""
    return gallons * GALLON_L


def short_tons(tonnes: float) -> float:
    """Return US short tons from tonnes."""
    return tonnes / SHORT_TON_T


def tonnes(short_tons: float) -> float:
    """Return tonnes from US short tons."""
    return short_tons * SHORT_TON_T


def l_t_from_gal_ton(gal_ton: float) -> float:
    """Return litres per tonne from US gallons per short ton.

    >>> round(l_t_from_gal_ton(0.2), 5)
    0.83454
    """
    return gal_ton * GALLON_L / SHORT_TON_T


def gal_ton_from_l_t(l_t: float) -> float:
    """Return US gallons per short ton from litres per tonne."""
    return l_t * SHORT_TON_T / GALLON_L


def kg_t_from_gal_ton(gal_ton: float, density_kg_l: float) -> float:
    """Return kilograms per tonne from US gallons per short ton; density in kg/L, above 0.

    >>> round(kg_t_from_gal_ton(0.2, 0.6594), 4)
    0.5503
    """
    return l_t_from_gal_ton(gal_ton) * _real(density_kg_l)


def gal_ton_from_kg_t(kg_t: float, density_kg_l: float) -> float:
    """Return US gallons per short ton from kilograms per tonne; density in kg/L, above 0."""
    return gal_ton_from_l_t(kg_t / _real(density_kg_l))


def _real(density_kg_l: float) -> float:
    """Return the density, or raise ValueError where it cannot be one in kg/L."""
    if not 0.3 <= density_kg_l <= 1.5:
        raise ValueError(f"A solvent of {density_kg_l:g} kg/L: give its density in kg/L.")
    return density_kg_l
