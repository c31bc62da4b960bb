"""Conversion factors against NIST Special Publication 811 (2008), Appendix B.8.

A. Thompson and B. N. Taylor, Guide for the Use of the International System of Units (SI), NIST
Special Publication 811, 2008 edition, Appendix B.8 "Factors for units listed alphabetically" and
B.9 "listed by kind of quantity" (authors and edition from memory).
The printed document was not at hand: the figures below were read in a public transcription of
its tables kept with the source of a units library, except those marked "from memory". The
appendix prints most factors with seven figures.
"""

from __future__ import annotations

import pytest

from logbook.plant.units import convert

FACTORS = [
    # unit, SI-coherent unit of this program, factor as printed
    ("in", "m", 2.54e-2),
    ("mil", "m", 2.54e-5),
    ("ft", "m", 3.048e-1),
    ("lb", "kg", 4.535924e-1),
    ("oz", "kg", 2.834952e-2),
    ("short ton", "kg", 9.071847e2),
    ("t", "kg", 1.0e3),
    ("psi", "Pa", 6.894757e3),
    ("bar", "Pa", 1.0e5),
    ("mmHg", "Pa", 1.333224e2),
    ("inHg", "Pa", 3.386389e3),
    ("mm H2O", "Pa", 9.80665),
    ("in H2O", "Pa", 2.490889e2),
    ("US gal", "m³", 3.785412e-3),
    ("bu", "m³", 3.523907e-2),
    ("L", "m³", 1.0e-3),
    ("Btu", "kWh", 1.055056e3 / 3.6e6),
    ("hp", "kW", 7.456999e-1),
    ("h", "s", 3.6e3),
    ("d", "s", 8.64e4),
]

EXACT = [
    # International yard and pound: the inch and the pound are exact by definition. NIST SP 811,
    # Appendix B.8, notes 7 and 22, from memory.
    ("in", "mm", 25.4),
    ("mil", "µm", 25.4),
    ("lb", "kg", 0.45359237),
    ("short ton", "kg", 907.18474),
    # The US gallon is 231 cubic inches: from memory.
    ("US gal", "L", 3.785411784),
    # The US bushel is 2150.42 cubic inches: from memory.
    ("bu", "L", 35.23907016688),
]

COMBINED = [
    # Rates and shares from the factors above, worked out: printed factors over 60 s, 3600 s.
    ("US gal/min", "m³/h", 3.785412e-3 * 60),
    ("lb/h", "kg/h", 4.535924e-1),
    ("short ton/h", "t/h", 9.071847e-1),
    ("lb/ft³", "kg/m³", 1.601846e1),  # NIST SP 811, B.9, density; from memory
    ("lb/US gal", "kg/m³", 1.198264e2),  # NIST SP 811, B.9, density; from memory
    ("Btu/lb", "kJ/kg", 2.326),  # NIST SP 811, B.9, available energy; from memory
    ("lb/short ton", "kg/t", 0.5),
    ("mph", "m/s", 4.4704e-1),  # NIST SP 811, B.9, velocity; from memory
]


@pytest.mark.parametrize(("unit", "base", "factor"), FACTORS)
def test_factor_agrees_to_the_seven_figures_printed(unit: str, base: str, factor: float) -> None:
    """One of the unit in SI units, to half of the last printed figure."""
    assert convert(1.0, unit, base) == pytest.approx(factor, rel=2e-7)


@pytest.mark.parametrize(("unit", "base", "factor"), EXACT)
def test_exact_factor_agrees_to_the_last_digit(unit: str, base: str, factor: float) -> None:
    """Exact by definition, so nothing but the rounding of the machine is allowed."""
    assert convert(1.0, unit, base) == pytest.approx(factor, rel=4e-16 * 4)


@pytest.mark.parametrize(("unit", "base", "factor"), COMBINED)
def test_combined_factor_agrees(unit: str, base: str, factor: float) -> None:
    """Flows, densities and energies of the trade."""
    assert convert(1.0, unit, base) == pytest.approx(factor, rel=3e-7)


def test_mercury_is_the_conventional_one_and_not_that_at_32_degrees() -> None:
    """The conventional inch of mercury is 3386.389 Pa; the one at 32 °F is printed as 3386.38 Pa.

    The two differ by 3 parts in a million, far below the last decimal of any plant gauge.
    """
    assert convert(1.0, "inHg", "Pa") == pytest.approx(3386.389, abs=5e-4)
    assert convert(1.0, "inHg", "Pa") == pytest.approx(3386.38, rel=3e-6)


def test_water_is_the_conventional_one_and_not_that_at_60_degrees() -> None:
    """The conventional inch of water is 249.0889 Pa; those at 39.2 and 60 °F are a little less."""
    one = convert(1.0, "in H2O", "Pa")
    assert one == pytest.approx(249.0889, abs=5e-5)
    assert 0 < one - 249.082 < 0.01
    assert 0 < one - 248.84 < 0.3


@pytest.mark.parametrize(("celsius", "fahrenheit"), [(0, 32), (100, 212), (-40, -40), (37, 98.6)])
def test_fahrenheit_follows_the_printed_relation(celsius: float, fahrenheit: float) -> None:
    """t/°C = (t/°F - 32)/1.8, as printed under degree Fahrenheit."""
    assert convert(fahrenheit, "°F", "°C") == pytest.approx((fahrenheit - 32) / 1.8, abs=1e-12)
    assert convert(celsius, "°C", "°F") == pytest.approx(fahrenheit, abs=1e-12)


def test_the_standard_atmosphere_is_the_barometer_where_none_is_stated() -> None:
    """1 atm = 101 325 Pa exactly: a perfect vacuum is 29.92 inHg below it."""
    assert convert(0.0, "Pa(g)", "kPa abs") == 101.325
    assert convert(0.0, "kPa abs", "inHg vacuum") == pytest.approx(101325 / 3386.389, rel=2e-7)
