"""Water and steam by IAPWS-IF97, through CoolProp, in degC, kPa and kJ/kg.

IAPWS R7-97(2012), Revised Release on the IAPWS Industrial Formulation 1997 for the Thermodynamic
Properties of Water and Steam. Enthalpies count from the liquid at the triple point. The ranges
here are those of a process plant and lie well inside the formulation's own.

CoolProp is loaded with the first figure asked for; figures asked for again are remembered.
"""

from __future__ import annotations

from functools import lru_cache

SOURCE = "IAPWS R7-97 (IF97)"
KELVIN = 273.15
WATER_MOLAR_MASS = 18.015268
"""g/mol; IAPWS R6-95, from memory."""
COLDEST_C, HOTTEST_C = 0.0, 370.0
"""Saturation temperatures taken here, degC (the formulation: 0 to 373.946 degC)."""
LOWEST_KPA, HIGHEST_KPA = 0.6113, 20000.0
"""Saturation pressures taken here, kPa."""


def saturation_pressure(t_c: float) -> float:
    """Return the pressure at which water boils at `t_c` (0 to 370 degC), kPa.

    Raises:
        ValueError: outside the range.

    >>> round(saturation_pressure(100.0), 3)
    101.418
    """
    return _saturated("P", _in_range(t_c)) / 1000.0


def saturation_temperature(p_kpa: float) -> float:
    """Return the temperature at which water boils at `p_kpa` (0.6113 to 20000 kPa abs), degC.

    Raises:
        ValueError: outside the range.

    >>> round(saturation_temperature(101.325), 3)
    99.974
    """
    return _property("T", "P", _pressure_in_range(p_kpa), "Q", 0.0) - KELVIN


def latent_heat(t_c: float) -> float:
    """Return the heat that a kilogram of water takes to boil at `t_c`, kJ/kg.

    >>> round(latent_heat(100.0), 1)
    2256.5
    """
    return vapour_enthalpy(t_c) - liquid_enthalpy(t_c)


def liquid_enthalpy(t_c: float) -> float:
    """Return the enthalpy of boiling water at `t_c`, kJ/kg; at low pressure that of any water.

    >>> round(liquid_enthalpy(60.0), 2)
    251.15
    """
    return _saturated("H", _in_range(t_c)) / 1000.0


def vapour_enthalpy(t_c: float) -> float:
    """Return the enthalpy of saturated steam at `t_c`, kJ/kg.

    >>> round(vapour_enthalpy(72.0), 1)
    2629.5
    """
    return _saturated("H", _in_range(t_c), quality=1.0) / 1000.0


def steam_enthalpy(p_kpa: float, t_c: float | None = None) -> float:
    """Return the enthalpy of steam at `p_kpa` (kPa abs), kJ/kg.

    Saturated where no temperature is given. Steam that is throttled keeps it: direct steam brings
    into the meal what it had in the header, whatever the pressure in the tray.

    Raises:
        ValueError: outside the range, or where water at `t_c` and `p_kpa` is no steam.

    >>> round(steam_enthalpy(701.325), 1)
    2762.8
    >>> round(steam_enthalpy(101.325, 150.0), 1)
    2776.5
    """
    pressure = _pressure_in_range(p_kpa)
    if t_c is None:
        return _property("H", "P", pressure, "Q", 1.0) / 1000.0
    boils = saturation_temperature(p_kpa)
    if not boils - 1e-6 <= t_c <= 800.0:
        msg = (
            f"water at {t_c:g} °C and {p_kpa:g} kPa abs is no steam: "
            f"it boils at {boils:.1f} °C; leave the temperature out for saturated steam"
        )
        raise ValueError(msg)
    if t_c - boils < 1e-3:
        return _property("H", "P", pressure, "Q", 1.0) / 1000.0
    return _property("H", "P", pressure, "T", t_c + KELVIN) / 1000.0


def heat_given(p_kpa: float, drained_c: float, t_c: float | None = None) -> float:
    """Return the heat of a kilogram of steam that condenses and leaves as water, kJ/kg.

    `p_kpa` and `t_c` as for `steam_enthalpy`; `drained_c`: temperature of the water that leaves,
    that of the trap for a jacket, that of the meal for direct steam.

    >>> round(heat_given(901.325, 175.4), 1)
    2030.2
    """
    return steam_enthalpy(p_kpa, t_c) - liquid_enthalpy(drained_c)


def liquid_density(t_c: float) -> float:
    """Return the density of water at `t_c` (its own boiling pressure), kg/m3.

    >>> round(liquid_density(20.0), 2)
    998.16
    """
    return _saturated("D", _in_range(t_c))


def _in_range(t_c: float) -> float:
    if not COLDEST_C <= t_c <= HOTTEST_C:
        msg = f"{t_c:g} °C is outside the range of these steam figures: {COLDEST_C:g} to {HOTTEST_C:g} °C"
        raise ValueError(msg)
    return t_c


def _pressure_in_range(p_kpa: float) -> float:
    """The pressure in Pa."""
    if not LOWEST_KPA <= p_kpa <= HIGHEST_KPA:
        msg = (
            f"{p_kpa:g} kPa abs is outside the range of these steam figures: "
            f"{LOWEST_KPA:g} to {HIGHEST_KPA:g} kPa abs"
        )
        raise ValueError(msg)
    return p_kpa * 1000.0


def _saturated(name: str, t_c: float, *, quality: float = 0.0) -> float:
    return _property(name, "T", t_c + KELVIN, "Q", quality)


@lru_cache(maxsize=8192)
def _property(name: str, first: str, one: float, second: str, two: float) -> float:
    """One property by CoolProp, SI units."""
    from CoolProp.CoolProp import PropsSI

    return float(PropsSI(name, first, one, second, two, "IF97::Water"))
