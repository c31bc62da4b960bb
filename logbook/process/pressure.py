"""Absolute pressure from any gauge or vacuum reading, and the barometer of a place.

The barometer that counts is the one of the plant, not the one of the weather report: that is
reduced to sea level, and at 300 m above it it reads 3.5 kPa too high.
"""

from __future__ import annotations

from logbook.plant.units import STANDARD_BAROMETER_KPA, convert, display_unit
from logbook.process.quantity import Quantity, absent, derive

SOURCE = "absolute = barometer + gauge = barometer - vacuum"
ATMOSPHERE_SOURCE = (
    "standard atmosphere, ASHRAE Handbook Fundamentals (2017), chapter 1, equation 3"
)


STANDARD_BAROMETER = Quantity(
    "barometer", STANDARD_BAROMETER_KPA, "kPa abs", 0.8, note="standard atmosphere at sea level"
)
"""For where no barometer is read; weather moves it by about 0.8 kPa (from memory)."""


def absolute_kpa(
    value: float, unit: str, *, barometer_kpa: float = STANDARD_BAROMETER_KPA
) -> float:
    """Return the absolute pressure of a reading, kPa.

    `unit` is any pressure unit of `logbook.plant.units`: "mmHg vacuum", "inHg vacuum",
    "mbar abs", "kPa(g)", "bar(g)", "psig" ... A bare "mmHg" says only a difference, and is refused.

    Raises:
        UnitError: for a unit that is not a pressure above, below or against nothing.
        ValueError: where the reading would be below nothing: a vacuum deeper than the barometer.

    >>> round(absolute_kpa(18.0, "inHg vacuum"), 2)
    40.37
    >>> round(absolute_kpa(700.0, "mmHg vacuum", barometer_kpa=98.0), 3)
    4.674
    """
    absolute = convert(value, unit, "kPa abs", barometer_kpa=barometer_kpa)
    if absolute < 0.0:
        msg = (
            f"{value:g} {display_unit(unit)} is below nothing at a barometer of "
            f"{barometer_kpa:g} kPa: check the gauge, its unit and the barometer"
        )
        raise ValueError(msg)
    return absolute


def reading_of(
    absolute: float, unit: str, *, barometer_kpa: float = STANDARD_BAROMETER_KPA
) -> float:
    """Return what a gauge in `unit` shows at an absolute pressure (kPa).

    >>> round(reading_of(40.0, "mmHg vacuum"), 1)
    460.0
    """
    return convert(absolute, "kPa abs", unit, barometer_kpa=barometer_kpa)


def absolute_pressure(reading: Quantity, barometer: Quantity) -> Quantity:
    """Return the absolute pressure, kPa abs, of a `reading` in its own unit.

    `barometer` in kPa. Both uncertainties count; where the reading is an absolute one, the
    barometer's does not.

    >>> gauge = Quantity("first evaporator", 460.0, "mmHg vacuum", 4.0)
    >>> found = absolute_pressure(gauge, Quantity("barometer", 101.3, "kPa abs", 0.5))
    >>> round(found.value, 2), round(found.sigma, 2)
    (39.97, 0.73)
    """

    def formula(reading_value: float, barometer_kpa: float) -> float:
        return absolute_kpa(reading_value, reading.unit, barometer_kpa=barometer_kpa)

    if not reading.is_known:
        return absent(reading.name, "kPa abs", *reading.missing)
    inputs = {"reading_value": reading, "barometer_kpa": barometer}
    return derive(reading.name, "kPa abs", formula, inputs, source=SOURCE)


def barometer_at(height_m: float) -> float:
    """Return the mean pressure of the standard atmosphere at a height above sea level (m), kPa.

    Holds from -5000 to 11000 m. ASHRAE Handbook Fundamentals (2017), chapter 1, equation 3.

    >>> round(barometer_at(500.0), 3)
    95.461
    """
    if not -5000.0 <= height_m <= 11000.0:
        msg = f"{height_m:g} m is outside the standard atmosphere: give -5000 to 11000 m"
        raise ValueError(msg)
    return float(STANDARD_BAROMETER_KPA * (1.0 - 2.25577e-5 * height_m) ** 5.2559)


def station_kpa(sea_level_kpa: float, height_m: float) -> float:
    """Return the pressure at the plant, kPa, from a weather report's, reduced to sea level.

    By the ratio of the standard atmosphere; good to about 0.3 kPa up to 500 m (the real reduction
    takes the air's temperature as well).

    >>> round(station_kpa(101.8, 300.0), 2)
    98.23
    """
    return sea_level_kpa * barometer_at(height_m) / STANDARD_BAROMETER_KPA
