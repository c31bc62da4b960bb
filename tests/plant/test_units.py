"""Units of the plant file: known spellings, quantities, and conversion there and back."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.plant.unit_table import (
    UNITS,
    US_UNITS,
    UnitKind,
    difference_unit,
    find_unit,
    quantities,
    suggest_unit,
)
from logbook.plant.units import (
    UnitError,
    convert,
    dimension_of,
    display_unit,
    is_convertible,
    is_known,
    is_quotient,
    is_reversed,
)

PAIRS = [
    (one.spelling, other.spelling)
    for one in UNITS
    for other in UNITS
    if is_convertible(one.spelling, other.spelling)
]
VALUES = st.floats(-1e6, 1e6, allow_nan=False)
BAROMETERS = st.floats(60, 110)


def test_no_spelling_stands_for_two_units() -> None:
    """Each spelling, first or other, belongs to one unit."""
    spellings = [spelling for unit in UNITS for spelling in (unit.spelling, *unit.also)]
    assert len(spellings) == len(set(spellings))


@pytest.mark.parametrize(
    "spelling", ["degC", "°C", "m3/h", "kPa(g)", "inHg vacuum", "% LEL", "", "mil"]
)
def test_units_of_the_trade_are_known(spelling: str) -> None:
    """What a plant file may say."""
    assert is_known(spelling)


@pytest.mark.parametrize(
    ("spelling", "meant"),
    [
        ("C", '"degC"'),
        ("gpm", '"US gal/min"'),
        ("GPM", '"US gal/min"'),
        ("kpa(g)", '"kPa(g)"'),
        ("m3/hr", '"m3/h"'),
        ("tons", '"short ton"'),
    ],
)
def test_an_unknown_unit_is_told_with_the_one_meant(spelling: str, meant: str) -> None:
    """A misspelt unit is refused and the likely one named."""
    assert not is_known(spelling)
    assert suggest_unit(spelling) == meant
    with pytest.raises(UnitError, match="is not a known unit"):
        convert(1.0, spelling, spelling)


def test_a_unit_like_no_other_points_to_the_list() -> None:
    """Where nothing is close the list itself is named."""
    assert "list" in suggest_unit("furlongs a fortnight")


def test_spelling_for_screens_and_quantity() -> None:
    """Screens show the first spelling; the quantity is a word."""
    assert display_unit("degC") == "°C"
    assert dimension_of("degC") == "temperature"
    assert dimension_of("K") == "temperature difference"
    assert dimension_of("t/h") == "mass flow"
    assert {"temperature", "pressure", "length"} <= set(quantities())


@pytest.mark.parametrize(
    ("value", "source", "target", "expected"),
    [
        (100.0, "°C", "°F", 212.0),
        (-40.0, "°F", "°C", -40.0),
        (10.0, "K", "°F diff", 18.0),
        (0.0, "kPa(g)", "kPa abs", 101.325),
        (0.0, "kPa abs", "kPa vacuum", 101.325),
        (101.325, "kPa abs", "inHg vacuum", 0.0),
        (0.0, "psig", "psia", 14.695949),
        (760.0, "mmHg abs", "kPa abs", 101.325),
        (-80.0, "Pa(g)", "in H2O", -0.3211705),
        (62.5, "t/h", "short ton/h", 68.894457),
        (1.0, "kW", "hp", 1.341022),
        (1500.0, "mg/kg", "kg/t", 1.5),
        (5.0, "°C", "degC", 5.0),
    ],
)
def test_conversions_worked_by_hand(
    value: float, source: str, target: str, expected: float
) -> None:
    """Scales with another zero, vacuum that counts down, and plain factors."""
    assert convert(value, source, target) == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_the_barometer_ties_gauge_to_absolute() -> None:
    """At a high plant the same gauge pressure is a lower absolute one."""
    assert convert(0.0, "kPa(g)", "kPa abs", barometer_kpa=84.0) == 84.0
    assert convert(9.0, "kPa abs", "kPa vacuum", barometer_kpa=84.0) == 75.0


@pytest.mark.parametrize(
    ("source", "target"),
    [
        ("°C", "K"),
        ("kPa", "kPa abs"),
        ("kPa", "inHg vacuum"),
        ("% by volume", "% by mass"),
        ("% LEL", "%"),
        ("pH", "pH rise"),
        ("t/h", "m3/h"),
    ],
)
def test_what_has_another_meaning_is_not_converted(source: str, target: str) -> None:
    """A difference is no point on a scale, and a share by volume none by mass."""
    assert not is_convertible(source, target)
    with pytest.raises(UnitError, match="cannot be converted"):
        convert(1.0, source, target)


@given(st.sampled_from(PAIRS), VALUES, BAROMETERS)
def test_conversion_there_and_back_gives_the_same(
    pair: tuple[str, str], value: float, barometer: float
) -> None:
    """Every unit converts to every other of its quantity without loss."""
    there = convert(value, *pair, barometer_kpa=barometer)
    back = convert(there, *reversed(pair), barometer_kpa=barometer)
    scale = max(abs(value), abs(convert(barometer, "kPa", "kPa")) if "H" in "".join(pair) else 1.0)
    slack = abs(convert(1.0, pair[1], pair[0]) - convert(0.0, pair[1], pair[0])) * abs(there)
    assert math.isclose(back, value, rel_tol=1e-9, abs_tol=1e-9 * (scale + slack + 1e4))


@given(st.sampled_from(PAIRS), VALUES, st.floats(1e-3, 1e3), BAROMETERS)
def test_conversion_keeps_order_but_for_vacuum(
    pair: tuple[str, str], low: float, more: float, barometer: float
) -> None:
    """Larger stays larger, except between a vacuum and what is none."""
    first = convert(low, *pair, barometer_kpa=barometer)
    second = convert(low + more, *pair, barometer_kpa=barometer)
    assert (second < first) if is_reversed(*pair) else (second > first)


def test_every_us_unit_converts_from_its_metric_one() -> None:
    """The list of usual US units names known units of the same quantity."""
    for metric, (american, _) in US_UNITS.items():
        assert is_convertible(metric, american)
        assert find_unit(american).spelling == american  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("unit", "difference"),
    [
        ("°C", "K"),
        ("°F", "°F diff"),
        ("kPa(g)", "kPa"),
        ("inHg vacuum", "inHg"),
        ("mm", "mm"),
        ("pH", "pH rise"),
    ],
)
def test_the_unit_of_a_difference(unit: str, difference: str) -> None:
    """A difference of two readings on a scale has the difference unit."""
    found = find_unit(unit)
    assert found is not None
    assert difference_unit(found) == find_unit(difference)


def test_every_scale_has_a_unit_of_difference() -> None:
    """No absolute or gauge unit is left without one."""
    for unit in UNITS:
        found = difference_unit(unit)
        assert found is not None, unit.spelling
        assert found.kind in (UnitKind.PLAIN, UnitKind.DIFFERENCE)


@pytest.mark.parametrize(
    ("first", "second", "result", "fits"),
    [
        ("kg/h", "t/h", "kg/t", True),
        ("kg/h", "t/h", "%", False),
        ("kg", "t", "kg/t", True),
        ("t", "h", "t/h", True),
        ("t/h", "t/h", "", True),
        ("t/h", "t/h", "%", False),
        ("lb/h", "short ton/h", "lb/short ton", True),
        ("°C", "h", "K", False),
        ("kPa(g)", "kPa(g)", "", False),
        ("MWh", "t", "kWh/t", False),
        ("kWh", "t", "kWh/t", True),
    ],
)
def test_the_unit_of_a_quotient(first: str, second: str, result: str, fits: bool) -> None:
    """A ratio is in its unit as it stands, without a hidden factor."""
    units = [find_unit(spelling) for spelling in (first, second, result)]
    assert is_quotient(*units) is fits  # type: ignore[arg-type]


def test_the_unit_list_is_there_without_pint() -> None:
    """Looking a unit up does not load the heavy library."""
    script = (
        "import sys, logbook.plant.units, logbook.plant.file as f; "
        "assert logbook.plant.units.is_known('degC'); "
        "sys.exit(any(name in sys.modules for name in ('pint', 'pydantic', 'tomlkit')))"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
