"""Density of soybean oil against temperature.

Relative density at 15 °C against water at 15 °C from the saponification and iodine values,
0.8475 + 0.00030 SV + 0.00014 IV (Lund 1922, as quoted by E. H. Pryde, "Physical Properties of
Soybean Oil", chapter 3, and in Journal of the American Oil Chemists' Society 76 (1999) 1415-1419),
and a straight fall with temperature of 0.00064 g/cm³ per °C (the latter).
Checked from −10 to 110 °C against two published tables (tests/published/test_oil_density.py):
the largest difference is 2.6 kg/m³, hence the standard uncertainty of 2.6/√3.
"""

from __future__ import annotations

import math
from typing import overload

import numpy as np

from logbook.process.moisture import FloatArray, Value
from logbook.process.quantity import Quantity, derive

SAPONIFICATION = 192.0
"""Usual saponification value of soybean oil, mg KOH/g: the middle of 189 to 195 (from memory)."""
IODINE = 130.0
"""Usual iodine value of soybean oil: within 124 to 139 (from memory)."""
WATER_15_C = 999.10
"""Density of water at 15 °C, kg/m³."""
SLOPE = -0.64
"""Change of density with temperature, kg/m³ per °C."""
COLDEST_C, HOTTEST_C = -10.0, 110.0
"""Range in which the line has been checked, °C."""
SIGMA = 2.6 / math.sqrt(3.0)
"""Standard uncertainty of the line for an oil of usual composition, kg/m³."""
SOURCE = "Lund (1922) in Pryde, Physical Properties of Soybean Oil, ch. 3; J. AOCS 76 (1999) 1415"


def relative_density_15(saponification: float = SAPONIFICATION, iodine: float = IODINE) -> float:
    """Return the density at 15 °C against that of water at 15 °C.

    >>> round(relative_density_15(192.0, 130.0), 4)
    0.9233
    """
    return 0.8475 + 0.00030 * saponification + 0.00014 * iodine


@overload
def oil_density(t_c: float, saponification: float = ..., iodine: float = ...) -> float: ...
@overload
def oil_density(
    t_c: FloatArray, saponification: float = ..., iodine: float = ...
) -> FloatArray: ...
def oil_density(
    t_c: Value, saponification: float = SAPONIFICATION, iodine: float = IODINE
) -> Value:
    """Return the density of soybean oil in kg/m³ at a temperature in °C, number or array.

    Outside −10 to 110 °C a single number is a ValueError, in arrays NaN.

    >>> round(oil_density(60.0), 1)
    893.7
    """
    at_15 = relative_density_15(saponification, iodine) * WATER_15_C
    if isinstance(t_c, np.ndarray):
        t_c = np.where((t_c >= COLDEST_C) & (t_c <= HOTTEST_C), t_c, np.nan)
    elif not COLDEST_C <= t_c <= HOTTEST_C:
        msg = f"the density of oil is known from −10 to 110 °C, not at {t_c:g} °C"
        raise ValueError(msg)
    return at_15 + SLOPE * (t_c - 15.0)


def oil_density_of(temperature: Quantity, *, sigma: float = SIGMA) -> Quantity:
    """Return the density of oil of usual composition at a temperature (°C), with uncertainty.

    `sigma` is that of the line itself, kg/m³.
    """
    line = Quantity("oil density line", 0.0, "kg/m³", sigma)
    return derive(
        "oil density",
        "kg/m³",
        lambda t_c, off: oil_density(t_c) + off,
        {"t_c": temperature, "off": line},
        source=SOURCE,
    )
