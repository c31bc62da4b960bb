"""Miscella: where it boils, and how much oil it holds where it boils.

Oil does not evaporate, so the pressure over boiling miscella is that of its hexane:
p = x gamma p_hexane(T), with x the mole fraction of hexane (Raoult's law where gamma = 1).

**Molar masses**: hexane 86.175; soybean oil 876.6 g/mol, which is three times 56.1056 g/mol (KOH)
over a saponification value of 192 mg/g, the middle of the 189 to 195 that Codex CXS 210 gives for
soya bean oil (range from memory). The range of saponification values makes 863 to 891 g/mol.

**How ideal.** By mole fractions an oil molecule counts as much as a hexane molecule, though it is
seven times as large. Raoult's law therefore finds too little hexane left in strong miscella: it is
an upper bound of the oil content, some 2 points high near 96 % oil and 8 points near 75 %. The
correction for size is that of Flory and Huggins without heat of mixing, ln gamma = ln(f/x) + 1 -
f/x, with the fractions f by volumes to the power `size_exponent`: 0 is Raoult's law, 1 the
original, 3/4 that of the modified UNIFAC method (Weidlich and Gmehling 1987, from memory), which
agrees with what was measured for traces of hexane in soybean oil, gamma near 0.5 (from memory).
`SIZE_EXPONENT` is 0.75 with a standard uncertainty of 0.12, which spans what plants read (common
practice, no source).

**Range**: -30 to 180 degC for the hexane; oil from 0 to 99.5 % by mass, above which what is left is
a matter of stripping, not of boiling; pressures of 3 to 500 kPa abs. Static head, droplets carried
over and steam leaking in are not counted: all let a stage look stronger or weaker than it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.process import hexane
from logbook.process.hexane import HEXANE_MOLAR_MASS
from logbook.process.quantity import Quantity, derive
from logbook.process.roots import root_between

OIL_MOLAR_MASS = 876.65
"""g/mol: 3 x 56.1056 / 0.192; see the module's text."""
MOLAR_VOLUME_RATIO = (876.65 / 0.92) / (86.175 / 0.6594)
"""Oil to hexane at 20 degC: densities 0.92 (from memory) and 0.6594 t/m3."""
RAOULT = 0.0
"""Size exponent of Raoult's law: every molecule counts the same."""
SIZE_EXPONENT = Quantity(
    "correction for the size of the oil molecule", 0.75, "", 0.12, source="from memory"
)
LOWEST_KPA, HIGHEST_KPA = 3.0, 500.0
STRONGEST = 0.995
SOURCE = "Antoine, NIST Chemistry WebBook; Raoult's law by mole fractions"
SOURCE_SIZE = f"{SOURCE}, corrected for the size of the oil molecule"


def mole_fraction(oil_mass_fraction: float) -> float:
    """Return the mole fraction of hexane in miscella with `oil_mass_fraction` (0 to 1) of oil.

    >>> round(mole_fraction(0.25), 4)
    0.9683
    """
    _check_oil(oil_mass_fraction, upper=1.0)
    moles = (1.0 - oil_mass_fraction) / HEXANE_MOLAR_MASS
    return moles / (moles + oil_mass_fraction / OIL_MOLAR_MASS)


def oil_fraction_of(mole: float) -> float:
    """Return the mass fraction of oil in miscella with the mole fraction `mole` of hexane."""
    solvent = mole * HEXANE_MOLAR_MASS
    oil = (1.0 - mole) * OIL_MOLAR_MASS
    return oil / (oil + solvent)


def hexane_activity(mole: float, *, size_exponent: float = RAOULT) -> float:
    """Return x gamma of hexane in miscella: the share of its own vapour pressure that it keeps.

    >>> hexane_activity(0.7)
    0.7
    >>> round(hexane_activity(0.7, size_exponent=0.75), 3)
    0.573
    """
    if mole <= 0.0:
        return 0.0
    size = math.pow(MOLAR_VOLUME_RATIO, size_exponent)
    crowding = 1.0 / (mole + (1.0 - mole) * size)
    return mole * crowding * math.exp(1.0 - crowding)


def boiling_temperature(
    pressure_kpa: float, oil_mass_fraction: float = 0.0, *, size_exponent: float = RAOULT
) -> float:
    """Return the temperature at which miscella boils, degC.

    `pressure_kpa`: absolute, 3 to 500 kPa (`logbook.process.pressure.absolute_kpa` makes it from
    any gauge). `oil_mass_fraction`: 0 to 0.995. By Raoult's law unless a `size_exponent` is given;
    the module's text says how far to trust it.

    Raises:
        ValueError: outside these ranges, or where it would boil above 180 degC.

    >>> round(boiling_temperature(101.325), 2)
    68.74
    >>> round(boiling_temperature(40.0, 0.72), 1)
    47.9
    >>> round(boiling_temperature(40.0, 0.72, size_exponent=0.75), 1)
    51.2
    """
    _check_pressure(pressure_kpa)
    _check_oil(oil_mass_fraction)
    activity = hexane_activity(mole_fraction(oil_mass_fraction), size_exponent=size_exponent)
    wanted = pressure_kpa / activity
    try:
        return hexane.boiling_point(wanted)
    except ValueError as problem:
        msg = (
            f"miscella with {100 * oil_mass_fraction:.1f} % oil at {pressure_kpa:g} kPa abs would boil "
            f"outside {hexane.COLDEST_C:g} to {hexane.HOTTEST_C:g} °C, the range of these figures"
        )
        raise ValueError(msg) from problem


def implied_oil(t_c: float, pressure_kpa: float, *, size_exponent: float = RAOULT) -> float:
    """Return the mass fraction of oil in miscella that boils at `t_c` and `pressure_kpa`.

    The pressure is absolute.

    Raises:
        ValueError: outside -30 to 180 degC or 3 to 500 kPa; where it is colder than pure hexane
            boils (it does not boil, or one of the readings is wrong); and above 99.5 %.

    >>> round(implied_oil(53.0, 40.0), 3)
    0.836
    >>> round(implied_oil(53.0, 40.0, size_exponent=0.75), 3)
    0.755
    """
    _check_pressure(pressure_kpa)
    activity = pressure_kpa / hexane.vapour_pressure(t_c)
    if activity > 1.0:
        msg = (
            f"at {pressure_kpa:.4g} kPa abs pure hexane boils at {hexane.boiling_point(pressure_kpa):.1f} °C: "
            f"at {t_c:.4g} °C nothing boils, or one of the two readings is wrong"
        )
        raise ValueError(msg)

    def surplus(mole: float) -> float:
        return hexane_activity(mole, size_exponent=size_exponent) - activity

    mole = activity if size_exponent == RAOULT else root_between(surplus, 0.0, 1.0, within=1e-12)
    oil = oil_fraction_of(mole)
    if oil > STRONGEST:
        msg = (
            f"{t_c:.4g} °C at {pressure_kpa:.4g} kPa abs would mean over {100 * STRONGEST:g} % oil, where "
            "boiling points tell no more; look at the stripper's residual solvent"
        )
        raise ValueError(msg)
    return oil


@dataclass(frozen=True, slots=True)
class Stage:
    """What temperature and pressure of an evaporator stage say about its miscella."""

    oil: Quantity
    """Oil in the miscella that leaves, %: corrected for the size of the oil molecule."""
    oil_by_raoult: Quantity
    """The same by Raoult's law alone, %: an upper bound."""
    boils_at: Quantity
    """Temperature at which miscella of the measured strength boils at this pressure, degC."""
    difference: Quantity
    """Measured less implied oil, points of per cent; beyond about 2 sigma one of the three
    readings (temperature, pressure, analysis) is wrong, or the stage floods or foams."""


def stage(temperature: Quantity, pressure: Quantity, measured_oil: Quantity) -> Stage:
    """Return what a stage's `temperature` (degC) and `pressure` (kPa abs) say of its oil.

    `measured_oil`: % by mass, from refractometer, density or analysis, to set beside it. Where the readings lie outside the range, a figure has no value and its note says why.

    >>> found = stage(
    ...     Quantity("first stage", 53.0, "°C", 0.5),
    ...     Quantity("first stage pressure", 40.0, "kPa abs", 0.5),
    ...     Quantity("oil leaving first stage", 74.0, "%", 1.0),
    ... )
    >>> round(found.oil.value, 1), round(found.oil.sigma, 1), round(found.difference.value, 1)
    (75.5, 3.1, -1.5)
    """
    state = {"t_c": temperature, "pressure_kpa": pressure}
    sized = {**state, "exponent": SIZE_EXPONENT}
    note = hexane.COMMERCIAL
    return Stage(
        oil=derive("oil implied", "%", _implied, sized, source=SOURCE_SIZE, note=note),
        oil_by_raoult=derive(
            "oil implied by Raoult's law", "%", _implied, state, source=SOURCE, note="upper bound"
        ),
        boils_at=derive(
            "boiling temperature",
            "°C",
            _boils,
            {"pressure_kpa": pressure, "oil": measured_oil, "exponent": SIZE_EXPONENT},
            source=SOURCE_SIZE,
            note=note,
        ),
        difference=derive(
            "measured less implied oil",
            "%",
            _difference,
            {**sized, "oil": measured_oil},
            source=SOURCE_SIZE,
            note=note,
        ),
    )


def solvent_evaporated(oil_t: float, from_fraction: float, to_fraction: float) -> float:
    """Return the solvent boiled off `oil_t` tonnes of oil between two oil mass fractions, t.

    >>> round(solvent_evaporated(19.3, 0.27, 0.72), 2)
    44.68
    """
    for fraction in (from_fraction, to_fraction):
        if not 0.0 < fraction <= 1.0:
            msg = f"an oil mass fraction of {fraction:g} cannot be: give a share from 0 to 1"
            raise ValueError(msg)
    return oil_t * (1.0 / from_fraction - 1.0 / to_fraction)


def _implied(t_c: float, pressure_kpa: float, exponent: float = RAOULT) -> float:
    return 100.0 * implied_oil(t_c, pressure_kpa, size_exponent=exponent)


def _boils(pressure_kpa: float, oil: float, exponent: float) -> float:
    return boiling_temperature(pressure_kpa, oil / 100.0, size_exponent=exponent)


def _difference(t_c: float, pressure_kpa: float, exponent: float, oil: float) -> float:
    return oil - _implied(t_c, pressure_kpa, exponent)


def _check_pressure(pressure_kpa: float) -> None:
    if not LOWEST_KPA <= pressure_kpa <= HIGHEST_KPA:
        msg = (
            f"{pressure_kpa:g} kPa abs is outside the range for miscella, {LOWEST_KPA:g} to "
            f"{HIGHEST_KPA:g} kPa abs: is the reading a vacuum rather than an absolute pressure?"
        )
        raise ValueError(msg)


def _check_oil(fraction: float, *, upper: float = STRONGEST) -> None:
    if not 0.0 <= fraction <= upper:
        msg = (
            f"an oil mass fraction of {fraction:g} is outside the range, 0 to {upper:g}: "
            "give a share, 72 % as 0.72"
        )
        raise ValueError(msg)
