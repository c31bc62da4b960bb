"""n-Hexane: vapour pressure, boiling point, density, latent heat, enthalpy; limits of explosion.

**Vapour pressure**: from 13.03 to 69.54 degC the Antoine equation log10(p/bar) = A - B/(T + C)
with the coefficients of the NIST Chemistry WebBook for hexane (4.00266, 1171.53, -48.784; T in
kelvin; Williamham et al. 1945, 286.18 to 342.69 K: author and range from memory). Beyond, to the
limits of this module, the reference equation of state in CoolProp (Span and Wagner 2003, from
memory), scaled by less than 0.1 % so that the two meet without a step.

**Commercial hexane** is no pure n-hexane: typically 50 to 85 % of it, the rest methylpentanes and
methylcyclopentane (from memory). It boils over a range, mostly 65 to 70 degC, starts to boil a
little lower and is a few kg/m3 denser. For a balance that is a few tenths of a kelvin and a per
cent in density; use the density on the supplier's certificate where mass matters.

**Safety**: the figures on vapour and explosion limits here support, and do not replace, the
site's procedures, local codes and licensed practice. Nothing here says that a vessel, a pit or
a sewer is safe.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

from logbook.plant.units import STANDARD_BAROMETER_KPA

KELVIN = 273.15
GAS_CONSTANT = 8.314462618
"""J/(mol K)."""
HEXANE_MOLAR_MASS = 86.17536
"""g/mol, from the atomic weights (C6H14)."""
ANTOINE_A, ANTOINE_B, ANTOINE_C = 4.00266, 1171.53, -48.784
ANTOINE_FROM_C, ANTOINE_TO_C = 286.18 - KELVIN, 342.69 - KELVIN
COLDEST_C, HOTTEST_C = -30.0, 180.0
"""Range of this module, degC."""
SOURCE = "n-hexane: Antoine, NIST Chemistry WebBook (13 to 69.5 °C), beyond it CoolProp"
LOWER_EXPLOSIVE_LIMIT, UPPER_EXPLOSIVE_LIMIT = 1.1, 7.5
"""% by volume in air: NIOSH Pocket Guide to Chemical Hazards (2005-151), n-hexane. IEC 60079-20-1
(2010) gives 1.0: a site takes the lower."""
CAUTION = "supports, and does not replace, the site's procedures, local codes and licensed practice"
COMMERCIAL = (
    "taken as pure n-hexane; commercial hexane boils over a range from about 65 °C and starts a "
    "little lower"
)


def vapour_pressure(t_c: float) -> float:
    """Return the vapour pressure of n-hexane at `t_c` (-30 to 180 degC), kPa.

    Raises:
        ValueError: outside the range.

    >>> round(vapour_pressure(60.0), 3)
    76.36
    """
    _check(t_c)
    if t_c < ANTOINE_FROM_C:
        return _reference_pressure(t_c) * _joint(ANTOINE_FROM_C)
    if t_c > ANTOINE_TO_C:
        return _reference_pressure(t_c) * _joint(ANTOINE_TO_C)
    return antoine_pressure(t_c)


def antoine_pressure(t_c: float) -> float:
    """Return what the Antoine equation alone gives, kPa; its range is 13.03 to 69.54 degC.

    >>> round(antoine_pressure(25.0), 3)
    20.166
    """
    return float(100.0 * 10.0 ** (ANTOINE_A - ANTOINE_B / (t_c + KELVIN + ANTOINE_C)))


def boiling_point(p_kpa: float) -> float:
    """Return the temperature at which n-hexane boils at `p_kpa` (absolute), degC.

    Raises:
        ValueError: for a pressure beyond the range of `vapour_pressure` (about 1 to 1380 kPa).

    >>> round(boiling_point(101.325), 2)
    68.74
    """
    lowest, highest = _pressure_range()
    if not lowest <= p_kpa <= highest:
        msg = f"{p_kpa:g} kPa abs is outside the range for hexane: {lowest:.2f} to {highest:.0f} kPa abs"
        raise ValueError(msg)
    t_c = ANTOINE_B / (ANTOINE_A - math.log10(p_kpa / 100.0)) - ANTOINE_C - KELVIN
    if t_c < ANTOINE_FROM_C:
        return _reference("T", "P", p_kpa * 1000.0 / _joint(ANTOINE_FROM_C)) - KELVIN
    if t_c > ANTOINE_TO_C:
        return _reference("T", "P", p_kpa * 1000.0 / _joint(ANTOINE_TO_C)) - KELVIN
    return t_c


def density(t_c: float) -> float:
    """Return the density of liquid n-hexane at `t_c`, kg/m3; commercial hexane is a little denser.

    >>> round(density(20.0), 1)
    659.3
    """
    _check(t_c)
    return _reference("D", "T", t_c + KELVIN)


def latent_heat(t_c: float) -> float:
    """Return the heat that a kilogram of n-hexane takes to boil at `t_c`, kJ/kg.

    >>> round(latent_heat(60.0), 1)
    341.7
    """
    _check(t_c)
    t_k = t_c + KELVIN
    return (_reference("H", "T", t_k, quality=1.0) - _reference("H", "T", t_k)) / 1000.0


def heat_to_vapour(from_c: float, to_c: float) -> float:
    """Return the heat that turns liquid n-hexane at `from_c` into vapour at `to_c`, kJ/kg.

    Vapour at low pressure (saturated at `to_c`).

    >>> round(heat_to_vapour(57.0, 72.0), 1)
    369.4
    """
    _check(from_c)
    _check(to_c)
    vapour = _reference("H", "T", to_c + KELVIN, quality=1.0)
    return (vapour - _reference("H", "T", from_c + KELVIN)) / 1000.0


def vapour_mass(percent_lel: float, t_c: float, p_kpa: float = STANDARD_BAROMETER_KPA) -> float:
    """Return the n-hexane in a cubic metre of a gas at `percent_lel` of the explosive limit, g/m3.

    `t_c` and `p_kpa`: temperature and absolute pressure of that gas. The limit is 1.1 % by volume,
    ideal gas. For the account of what a vent loses: an estimate that supports, and does not
    replace, the site's procedures, local codes and licensed practice.

    >>> round(vapour_mass(20.0, 20.0), 2)
    7.88
    """
    share = percent_lel / 100.0 * LOWER_EXPLOSIVE_LIMIT / 100.0
    return share * p_kpa * 1000.0 / (GAS_CONSTANT * (t_c + KELVIN)) * HEXANE_MOLAR_MASS


def saturated_share(t_c: float, p_kpa: float = STANDARD_BAROMETER_KPA) -> float:
    """Return the share of hexane in a gas that stands over liquid hexane at `t_c`, % by volume.

    What a vent leaves a condenser with at best. At usual temperatures far above the upper limit
    of explosion, and through the explosive range as it thins out. Supports, and does not replace,
    the site's procedures, local codes and licensed practice.

    >>> round(saturated_share(20.0), 1)
    16.0
    """
    return min(100.0, 100.0 * vapour_pressure(t_c) / p_kpa)


def _check(t_c: float) -> None:
    if not COLDEST_C <= t_c <= HOTTEST_C:
        msg = f"{t_c:g} °C is outside the range for hexane: {COLDEST_C:g} to {HOTTEST_C:g} °C"
        raise ValueError(msg)


@cache
def _pressure_range() -> tuple[float, float]:
    return vapour_pressure(COLDEST_C), vapour_pressure(HOTTEST_C)


@cache
def _joint(t_c: float) -> float:
    """What CoolProp's vapour pressure is multiplied by to meet Antoine's at this end."""
    return antoine_pressure(t_c) / _reference_pressure(t_c)


def _reference_pressure(t_c: float) -> float:
    return _reference("P", "T", t_c + KELVIN) / 1000.0


@lru_cache(maxsize=8192)
def _reference(name: str, key: str, value: float, *, quality: float = 0.0) -> float:
    """A saturation property by CoolProp, SI units."""
    from CoolProp.CoolProp import PropsSI

    return float(PropsSI(name, key, value, "Q", quality, "n-Hexane"))
