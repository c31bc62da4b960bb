"""Units at the edge: conversion between the units of `unit_table`, by pint.

pint is loaded at the first conversion only. Units where the trade means something else, or where
a conventional value must be exact, are defined here under names pint does not have: mercury of 13 595.1 kg/m3 and
water of 1000 kg/m3 under standard gravity, the avoirdupois pound, the US gallon and bushel.
"""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

from logbook.plant.unit_table import Unit, UnitKind, find_unit, suggest_unit

if TYPE_CHECKING:
    from pint import UnitRegistry

STANDARD_BAROMETER_KPA = 101.325

DEFINITIONS = """
thousandth_inch = 0.001 * inch
mm_mercury = 133.322387415 * pascal
in_mercury = 25.4 * mm_mercury
mm_water = 9.80665 * pascal
in_water = 25.4 * mm_water
pound_avdp = 0.45359237 * kilogram
ounce_avdp = pound_avdp / 16
ton_short = 2000 * pound_avdp
us_gallon = 231 * inch ** 3
us_bushel = 2150.42 * inch ** 3
horsepower_mechanical = 550 * foot * pound_avdp * 9.80665 * meter / second ** 3
btu_it = 1055.05585262 * joule
million_btu = 1e6 * btu_it
per_cent = 0.01
per_million = 1e-6
percent_humidity = [humidity]
percent_lel = [explosive_limit]
percent_fla = [full_load]
ph_step = [acidity]
turbidity_unit = [turbidity]
colour_unit = [colour]
piece = [piece]
turn_of_shaft = [shaft_turn]
milliequivalent = [equivalent]
milligram_koh = [potassium_hydroxide]
"""


class UnitError(ValueError):
    """A unit that is not known, or two that cannot be converted into one another."""


@cache
def _registry() -> UnitRegistry[float]:
    """The one registry, made when it is first needed."""
    import pint

    registry: UnitRegistry[float] = pint.UnitRegistry(on_redefinition="raise")
    for line in DEFINITIONS.strip().splitlines():
        registry.define(line)
    return registry


def is_known(unit: str) -> bool:
    """True where a plant file may use this unit."""
    return find_unit(unit) is not None


def dimension_of(unit: str) -> str:
    """The quantity a unit stands for, in words: "temperature", "mass flow". Raises UnitError."""
    return _unit(unit).quantity


def display_unit(unit: str) -> str:
    """The spelling screens and printouts show, "°C" for "degC". Raises UnitError."""
    return _unit(unit).spelling


def is_reversed(from_unit: str, to_unit: str) -> bool:
    """True where a larger value in one unit is a smaller one in the other: vacuum. Raises UnitError."""
    vacuum = UnitKind.VACUUM
    return (_unit(from_unit).kind is vacuum) != (_unit(to_unit).kind is vacuum)


def is_convertible(from_unit: str, to_unit: str) -> bool:
    """True where `convert` has an answer. Raises UnitError for a unit that is not known."""
    return _are_convertible(_unit(from_unit), _unit(to_unit))


def convert(
    value: float,
    from_unit: str,
    to_unit: str,
    *,
    barometer_kpa: float = STANDARD_BAROMETER_KPA,
) -> float:
    """Convert `value` between two units of the plant file.

    `barometer_kpa` is the barometric pressure in kPa, which ties gauge pressure and vacuum to
    absolute pressure: absolute = barometer + gauge = barometer - vacuum. Differences convert by
    a factor and never to a scale with another zero. Raises UnitError.

    >>> round(convert(50.0, "degC", "degF"), 6)
    122.0
    >>> round(convert(9.0, "kPa abs", "inHg vacuum"), 2)
    27.26
    """
    source, target = _unit(from_unit), _unit(to_unit)
    if not _are_convertible(source, target):
        raise UnitError(
            f'"{source.spelling}" ({source.quantity}) cannot be converted '
            f'to "{target.spelling}" ({target.quantity}): choose a unit of the same quantity'
        )
    if source == target:
        return value
    if source.quantity == "temperature":
        # Exact; pint goes over kelvin and loses the last digits.
        return value * 1.8 + 32.0 if target.spelling == "°F" else (value - 32.0) / 1.8
    if source.quantity == "pressure" and target.quantity == "pressure":
        return _convert_pressure(value, source, target, barometer_kpa)
    return value * _factor(source.pint, target.pint)


def is_quotient(first: Unit, second: Unit, result: Unit) -> bool:
    """True where a number in `first` over one in `second` is a number in `result` as it stands."""
    kinds = {first.kind, second.kind}
    is_scaled = "temperature" in (first.quantity, second.quantity) or kinds & {
        UnitKind.GAUGE,
        UnitKind.VACUUM,
    }
    if is_scaled or result.kind not in (UnitKind.PLAIN, UnitKind.DIFFERENCE):
        return False
    registry = _registry()
    quotient = registry.Quantity(1.0, first.pint) / registry.Quantity(1.0, second.pint)
    wanted = registry.Quantity(1.0, result.pint)
    if quotient.dimensionality != wanted.dimensionality:
        return False
    return math.isclose(float((quotient / wanted).to("dimensionless").magnitude), 1.0, rel_tol=1e-9)


def _unit(spelling: str) -> Unit:
    """The unit with this spelling. Raises UnitError."""
    unit = find_unit(spelling)
    if unit is None:
        raise UnitError(f'"{spelling}" is not a known unit: {suggest_unit(spelling)} may be meant')
    return unit


def _are_convertible(source: Unit, target: Unit) -> bool:
    """Same quantity, or a gauge pressure as what it is: the difference from the barometer."""
    if source.quantity == target.quantity:
        return True
    pressures = {"pressure", "pressure difference"}
    if {source.quantity, target.quantity} != pressures:
        return False
    return {source.kind, target.kind} == {UnitKind.GAUGE, UnitKind.DIFFERENCE}


@cache
def _factor(source: str, target: str) -> float:
    """How many of `target` are one of `source`."""
    return float(_registry().convert(1.0, source, target))


def _convert_pressure(value: float, source: Unit, target: Unit, barometer_kpa: float) -> float:
    """Over the absolute pressure where the zeros differ, else by the factor alone."""
    if source.kind is target.kind:
        return value * _factor(source.pint, target.pint)
    in_kpa = value * _factor(source.pint, "kilopascal")
    gauge = {
        UnitKind.ABSOLUTE: in_kpa - barometer_kpa,
        UnitKind.GAUGE: in_kpa,
        UnitKind.VACUUM: -in_kpa,
    }[source.kind]
    wanted = {
        UnitKind.ABSOLUTE: gauge + barometer_kpa,
        UnitKind.GAUGE: gauge,
        UnitKind.VACUUM: -gauge,
    }[target.kind]
    return wanted * _factor("kilopascal", target.pint)
