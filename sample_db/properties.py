"""Physical properties used by the simulator (from memory unless said; commercial hexane)."""

from __future__ import annotations

import numpy as np

from sample_db.series import Array

HEXANE_LATENT = 335.0
"""kJ/kg near the normal boiling point."""
HEXANE_VAPOUR_HEAT, MEAL_HEAT, WATER_HEAT = 1.9, 1.5, 4.19
"""Specific heats, kJ/(kg K)."""
STEAM_LATENT = 2260.0
"""kJ/kg near 100 degC."""


def hexane_density(celsius: Array | float) -> Array:
    """Solvent density, t/m3; 0.632 at 57 degC, falling by 0.000915 per kelvin."""
    return np.asarray(0.632 - 0.000915 * (np.asarray(celsius) - 57.0))


def oil_density(celsius: Array | float) -> Array:
    """Crude soybean oil density, t/m3: 0.9195 at 20 degC, falling by 0.00066 per kelvin."""
    return np.asarray(0.9195 - 0.00066 * (np.asarray(celsius) - 20.0))


def miscella_density(oil_share: Array, celsius: Array | float) -> Array:
    """Density of oil in solvent, t/m3, by ideal mixing; `oil_share` is a mass fraction."""
    return np.asarray(
        1.0 / (oil_share / oil_density(celsius) + (1.0 - oil_share) / hexane_density(celsius))
    )


def hexane_kpa(celsius: Array) -> Array:
    """Vapour pressure of n-hexane, kPa (Antoine, handbook constants from memory)."""
    return np.asarray(0.1333224 * 10 ** (6.87601 - 1171.17 / (celsius + 224.408)))


def water_kpa(celsius: Array) -> Array:
    """Vapour pressure of water, kPa (Antoine, handbook constants from memory)."""
    return np.asarray(0.1333224 * 10 ** (8.07131 - 1730.63 / (celsius + 233.426)))


def water_per_hexane(dome_celsius: Array) -> Array:
    """Water carried by hexane vapour at atmospheric pressure, kg/kg; 0.105 at 72 degC.

    18.0 p_w / (86.2 (P - p_w)): the vapour is saturated with water at its own temperature.
    """
    pressure = water_kpa(dome_celsius)
    return np.asarray(18.0 * pressure / (86.2 * (101.325 - pressure)))


def flash_point(solvent_ppm: Array) -> Array:
    """Closed-cup flash point of oil, degC, from residual solvent (mg/kg); from memory.

    Linear in the logarithm between 50 mg/kg 205, 200 165, 500 140, 1000 121, 3000 80, 10000 30.
    """
    known = np.log([50.0, 200.0, 500.0, 1000.0, 3000.0, 10000.0])
    return np.interp(np.log(np.maximum(solvent_ppm, 1.0)), known, [205, 165, 140, 121, 80, 30])
