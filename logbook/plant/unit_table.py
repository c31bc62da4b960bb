"""The units a plant file may use: spelling, other spellings, quantity and definition for pint.

Plain data, without pint, so that a screen can show and check a unit without the heavy library.
The first spelling of a unit is the one kept in a `Point` and shown on screens.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from logbook.plant.faults import nearest


class UnitKind(StrEnum):
    """What the zero of a unit means, and so how it converts."""

    PLAIN = "plain"
    """Zero is nothing of it; converts by a factor."""
    ABSOLUTE = "absolute"
    """An absolute pressure or a temperature on a scale."""
    GAUGE = "gauge"
    """Pressure above the barometer."""
    VACUUM = "vacuum"
    """Pressure below the barometer: counts the other way."""
    DIFFERENCE = "difference"
    """Difference of two pressures or two temperatures."""


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `spelling` as kept and shown, `pint` its definition in `units.DEFINITIONS`."""

    spelling: str
    quantity: str
    pint: str
    kind: UnitKind = UnitKind.PLAIN
    also: tuple[str, ...] = ()


_ABS, _GAUGE, _VACUUM, _DIFF = (
    UnitKind.ABSOLUTE,
    UnitKind.GAUGE,
    UnitKind.VACUUM,
    UnitKind.DIFFERENCE,
)

TEMPERATURE_UNITS = (
    Unit("°C", "temperature", "degC", _ABS, ("degC",)),
    Unit("°F", "temperature", "degF", _ABS, ("degF",)),
    Unit("K", "temperature difference", "delta_degC", _DIFF, ("degC diff", "°C diff")),
    Unit("°F diff", "temperature difference", "delta_degF", _DIFF, ("degF diff", "F diff")),
    Unit("K/d", "temperature change", "delta_degC/day", also=("K/day",)),
    Unit("°F diff/d", "temperature change", "delta_degF/day", also=("degF diff/d",)),
)

PRESSURE_UNITS = (
    Unit("Pa(g)", "pressure", "pascal", _GAUGE),
    Unit("kPa(g)", "pressure", "kilopascal", _GAUGE),
    Unit("bar(g)", "pressure", "bar", _GAUGE),
    Unit("mbar(g)", "pressure", "millibar", _GAUGE),
    Unit("psig", "pressure", "psi", _GAUGE),
    Unit("mm H2O(g)", "pressure", "mm_water", _GAUGE, ("mmH2O(g)",)),
    Unit("in H2O(g)", "pressure", "in_water", _GAUGE, ("inH2O(g)",)),
    Unit("kPa abs", "pressure", "kilopascal", _ABS, ("kPa(a)",)),
    Unit("bar abs", "pressure", "bar", _ABS, ("bar(a)",)),
    Unit("mbar abs", "pressure", "millibar", _ABS, ("mbar(a)",)),
    Unit("psia", "pressure", "psi", _ABS),
    Unit("mmHg abs", "pressure", "mm_mercury", _ABS),
    Unit("inHg abs", "pressure", "in_mercury", _ABS),
    Unit("inHg vacuum", "pressure", "in_mercury", _VACUUM, ("inHg vac",)),
    Unit("mmHg vacuum", "pressure", "mm_mercury", _VACUUM, ("mmHg vac",)),
    Unit("kPa vacuum", "pressure", "kilopascal", _VACUUM, ("kPa vac",)),
    Unit("Pa", "pressure difference", "pascal", _DIFF),
    Unit("kPa", "pressure difference", "kilopascal", _DIFF),
    Unit("bar", "pressure difference", "bar", _DIFF),
    Unit("mbar", "pressure difference", "millibar", _DIFF),
    Unit("psi", "pressure difference", "psi", _DIFF),
    Unit("mm H2O", "pressure difference", "mm_water", _DIFF, ("mmH2O",)),
    Unit("in H2O", "pressure difference", "in_water", _DIFF, ("inH2O",)),
    Unit("mmHg", "pressure difference", "mm_mercury", _DIFF),
    Unit("inHg", "pressure difference", "in_mercury", _DIFF),
)

SIZE_UNITS = (
    Unit("µm", "length", "micrometer", also=("um",)),
    Unit("mm", "length", "millimeter"),
    Unit("cm", "length", "centimeter"),
    Unit("m", "length", "meter"),
    Unit("mil", "length", "thousandth_inch", also=("thousandths of an inch",)),
    Unit("in", "length", "inch"),
    Unit("ft", "length", "foot"),
    Unit("mm/d", "wear", "millimeter/day"),
    Unit("mil/d", "wear", "thousandth_inch/day"),
    Unit("mm/s", "speed", "millimeter/second"),
    Unit("m/s", "speed", "meter/second"),
    Unit("m/min", "speed", "meter/minute"),
    Unit("in/s", "speed", "inch/second"),
    Unit("ft/s", "speed", "foot/second"),
    Unit("ft/min", "speed", "foot/minute"),
    Unit("mph", "speed", "mile/hour"),
    Unit("m²", "area", "meter**2", also=("m2",)),
    Unit("ft²", "area", "foot**2", also=("ft2",)),
    Unit("mL", "volume", "milliliter"),
    Unit("L", "volume", "liter"),
    Unit("m³", "volume", "meter**3", also=("m3",)),
    Unit("US gal", "volume", "us_gallon"),
    Unit("ft³", "volume", "foot**3", also=("ft3",)),
    Unit("bu", "volume", "us_bushel", also=("US bu",)),
)

MASS_UNITS = (
    Unit("mg", "mass", "milligram"),
    Unit("g", "mass", "gram"),
    Unit("kg", "mass", "kilogram"),
    Unit("t", "mass", "tonne"),
    Unit("oz", "mass", "ounce_avdp"),
    Unit("lb", "mass", "pound_avdp"),
    Unit("short ton", "mass", "ton_short"),
    Unit("kg/m³", "density", "kilogram/meter**3", also=("kg/m3",)),
    Unit("t/m³", "density", "tonne/meter**3", also=("t/m3",)),
    Unit("kg/L", "density", "kilogram/liter"),
    Unit("g/L", "density", "gram/liter"),
    Unit("kg/hL", "density", "kilogram/hectoliter"),
    Unit("mg/L", "density", "milligram/liter"),
    Unit("lb/ft³", "density", "pound_avdp/foot**3", also=("lb/ft3",)),
    Unit("lb/US gal", "density", "pound_avdp/us_gallon"),
    Unit("lb/bu", "density", "pound_avdp/us_bushel"),
)

FLOW_UNITS = (
    Unit("kg/min", "mass flow", "kilogram/minute"),
    Unit("kg/h", "mass flow", "kilogram/hour"),
    Unit("t/h", "mass flow", "tonne/hour"),
    Unit("t/d", "mass flow", "tonne/day"),
    Unit("lb/min", "mass flow", "pound_avdp/minute"),
    Unit("lb/h", "mass flow", "pound_avdp/hour"),
    Unit("short ton/h", "mass flow", "ton_short/hour"),
    Unit("short ton/d", "mass flow", "ton_short/day"),
    Unit("L/min", "volume flow", "liter/minute"),
    Unit("L/h", "volume flow", "liter/hour"),
    Unit("m³/h", "volume flow", "meter**3/hour", also=("m3/h",)),
    Unit("m³/d", "volume flow", "meter**3/day", also=("m3/d",)),
    Unit("US gal/min", "volume flow", "us_gallon/minute"),
    Unit("US gal/h", "volume flow", "us_gallon/hour"),
    Unit("US gal/d", "volume flow", "us_gallon/day"),
    Unit("ft³/min", "volume flow", "foot**3/minute", also=("ft3/min",)),
)

SHARE_UNITS = (
    Unit("", "plain number", "dimensionless"),
    Unit("%", "share", "per_cent"),
    Unit("% by mass", "share", "per_cent"),
    Unit("% by volume", "share by volume", "per_cent"),
    Unit("% RH", "relative humidity", "percent_humidity"),
    Unit("% LEL", "share of explosive limit", "percent_lel", also=("%LEL",)),
    Unit("% FLA", "share of full-load current", "percent_fla"),
    Unit("g/kg", "share", "gram/kilogram"),
    Unit("kg/kg", "share", "kilogram/kilogram"),
    Unit("kg/t", "share", "kilogram/tonne"),
    Unit("mg/kg", "share", "milligram/kilogram"),
    Unit("ppm", "share", "milligram/kilogram", also=("ppm by mass",)),
    Unit("ppm by volume", "share by volume", "per_million"),
    Unit("lb/lb", "share", "pound_avdp/pound_avdp"),
    Unit("lb/short ton", "share", "pound_avdp/ton_short"),
    Unit("L/t", "volume per mass", "liter/tonne"),
    Unit("m³/t", "volume per mass", "meter**3/tonne", also=("m3/t",)),
    Unit("US gal/short ton", "volume per mass", "us_gallon/ton_short"),
    Unit("meq/kg", "peroxide value", "milliequivalent/kilogram"),
    Unit("mg KOH/g", "acid value", "milligram_koh/gram"),
)

OTHER_UNITS = (
    Unit("A", "current", "ampere"),
    Unit("V", "voltage", "volt"),
    Unit("Hz", "rate", "1/second"),
    Unit("rpm", "rotation", "turn_of_shaft/minute", also=("1/min",)),
    Unit("ohm", "resistance", "ohm", also=("Ω",)),
    Unit("µS/cm", "conductivity", "microsiemens/centimeter", also=("uS/cm",)),
    Unit("kW", "power", "kilowatt"),
    Unit("hp", "power", "horsepower_mechanical"),
    Unit("kWh", "energy", "kilowatt_hour"),
    Unit("MWh", "energy", "megawatt_hour"),
    Unit("GJ", "energy", "gigajoule"),
    Unit("Btu", "energy", "btu_it"),
    Unit("MMBtu", "energy", "million_btu"),
    Unit("kWh/t", "energy per mass", "kilowatt_hour/tonne"),
    Unit("kJ/kg", "energy per mass", "kilojoule/kilogram"),
    Unit("kWh/short ton", "energy per mass", "kilowatt_hour/ton_short"),
    Unit("Btu/lb", "energy per mass", "btu_it/pound_avdp"),
    Unit("s", "time", "second"),
    Unit("min", "time", "minute"),
    Unit("h", "time", "hour"),
    Unit("d", "time", "day"),
    Unit("pH", "acidity", "ph_step", _ABS),
    Unit("pH rise", "acidity difference", "ph_step", _DIFF, ("pH diff",)),
    Unit("°", "angle", "degree", also=("deg",)),
    Unit("NTU", "turbidity", "turbidity_unit"),
    Unit("colour", "colour", "colour_unit"),
    Unit("count", "count", "piece", also=("pieces",)),
    Unit("1/h", "rate", "1/hour"),
    Unit("count/h", "count rate", "piece/hour"),
    Unit("A/h", "current change", "ampere/hour"),
)

UNITS: tuple[Unit, ...] = (
    TEMPERATURE_UNITS
    + PRESSURE_UNITS
    + SIZE_UNITS
    + MASS_UNITS
    + FLOW_UNITS
    + SHARE_UNITS
    + OTHER_UNITS
)

US_UNITS: dict[str, tuple[str, int]] = {
    "°C": ("°F", 0),
    "K": ("°F diff", 0),
    "K/d": ("°F diff/d", 0),
    "µm": ("mil", -1),
    "mm": ("in", 2),
    "cm": ("in", 0),
    "m": ("ft", 0),
    "mm/d": ("mil/d", -1),
    "mm/s": ("in/s", 2),
    "m/s": ("ft/s", 0),
    "m/min": ("ft/min", 0),
    "m²": ("ft²", 0),
    "L": ("US gal", 0),
    "m³": ("US gal", -2),
    "kg": ("lb", 0),
    "t": ("short ton", 0),
    "kg/m³": ("lb/ft³", 1),
    "t/m³": ("lb/ft³", -1),
    "kg/L": ("lb/US gal", -1),
    "kg/hL": ("lb/bu", 0),
    "kg/min": ("lb/min", 0),
    "kg/h": ("lb/h", 0),
    "t/h": ("short ton/h", 0),
    "t/d": ("short ton/d", 0),
    "L/min": ("US gal/min", 1),
    "L/h": ("US gal/h", 1),
    "m³/h": ("US gal/min", -1),
    "m³/d": ("US gal/d", -2),
    "L/t": ("US gal/short ton", 1),
    "m³/t": ("US gal/short ton", -2),
    "kg/t": ("lb/short ton", 0),
    "kg/kg": ("lb/lb", 0),
    "kWh/t": ("kWh/short ton", 0),
    "kJ/kg": ("Btu/lb", 0),
    "kW": ("hp", 0),
    "Pa(g)": ("in H2O(g)", 2),
    "kPa(g)": ("psig", 0),
    "bar(g)": ("psig", -1),
    "mbar(g)": ("in H2O(g)", 0),
    "mm H2O(g)": ("in H2O(g)", 1),
    "kPa abs": ("inHg vacuum", 0),
    "bar abs": ("psia", -1),
    "mbar abs": ("mmHg abs", 0),
    "Pa": ("in H2O", 2),
    "kPa": ("in H2O", 0),
    "mbar": ("in H2O", 0),
    "bar": ("psi", -1),
    "mm H2O": ("in H2O", 1),
}
"""Metric unit to its usual US unit, and how many decimals more (or fewer) that needs."""

_BY_SPELLING = {spelling: unit for unit in UNITS for spelling in (unit.spelling, *unit.also)}

_MISSPELT = {
    "C": "degC",
    "F": "degF",
    "deg C": "degC",
    "deg F": "degF",
    "gpm": "US gal/min",
    "gal/min": "US gal/min",
    "gal": "US gal",
    "st": "short ton",
    "ton": "short ton",
    "tons": "short ton",
    "ton/h": "short ton/h",
    "tph": "t/h",
    "thou": "mil",
    "pct": "%",
    "percent": "%",
    "psi(g)": "psig",
    "psi(a)": "psia",
    "psi abs": "psia",
    "inwc": "in H2O",
    "mmwc": "mm H2O",
    "amps": "A",
    "amp": "A",
    "hours": "h",
    "hr": "h",
    "ph": "pH",
}


def find_unit(spelling: str) -> Unit | None:
    """The unit with this spelling (any of its spellings), or None.

    >>> find_unit("degC").spelling
    '°C'
    """
    return _BY_SPELLING.get(spelling)


def suggest_unit(spelling: str) -> str:
    """What might be meant by an unknown unit, in words."""
    meant = _MISSPELT.get(spelling) or _MISSPELT.get(spelling.lower())
    close = meant or nearest(spelling, [known for known in _BY_SPELLING if known])
    return f'"{close}"' if close else "a unit of the list in resources/plants/README.md"


def quantities() -> list[str]:
    """All quantities a unit may stand for, in the order of the list."""
    return list(dict.fromkeys(unit.quantity for unit in UNITS))


def difference_unit(unit: Unit) -> Unit | None:
    """The unit of a difference of two values in `unit`: K for °C, kPa for kPa(g); None if unknown.

    >>> difference_unit(find_unit("psig")).spelling
    'psi'
    """
    if unit.kind in (UnitKind.PLAIN, UnitKind.DIFFERENCE):
        return unit
    pint = f"delta_{unit.pint}" if unit.quantity == "temperature" else unit.pint
    return next((u for u in UNITS if u.pint == pint and u.kind is UnitKind.DIFFERENCE), None)
