"""A plant file in metric units written again in US customary units, its comments kept.

`python -m logbook.plant.convert IN OUT` writes OUT from IN. Each point goes to its `us_unit`,
else to the usual US unit of `unit_table.US_UNITS`; a computed point follows its inputs. Limits
are rounded to the decimals of the US point; rounding keeps their order, and limits that would
fall together are refused. A vacuum gauge counts the other way, so low and high change places.
The rollover of a counter stays: it is the number of digits of the meter, not a quantity.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Callable, Iterator, MutableMapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from logbook.plant.accounts import FIGURES
from logbook.plant.faults import PlantFileError
from logbook.plant.file import plant_from_text
from logbook.plant.layers import LADDER, PAIRS
from logbook.plant.model import Computation, Limits, Plant, Point
from logbook.plant.toml_text import read_text
from logbook.plant.unit_table import UNITS, US_UNITS, Unit, difference_unit, find_unit
from logbook.plant.units import convert, is_quotient, is_reversed

if TYPE_CHECKING:
    from tomlkit.items import Item

TomlTable = MutableMapping[str, Any]

_MADE_BY = """\
# Written by `python -m logbook.plant.convert` from the metric template: change that one, not this.
# Limits and texts are in US customary units; the remarks below tell sources and stay metric.

"""
_OF_DIFFERENCES = (Computation.SPREAD, Computation.LARGEST_DIFFERENCE, Computation.DIFFERENCE)
_NOT_TWINS = ("us_unit", "us_decimals", "us_factor")
_MOST_DECIMALS = 6


class ConversionError(ValueError):
    """A plant file that cannot be converted as it stands; says which point and what to state."""


@dataclass(frozen=True, slots=True)
class Scale:
    """How the numbers of one point become US numbers."""

    unit: Unit
    decimals: int
    exact: Callable[[float], float]
    is_reversed: bool

    def rounded(self, value: float) -> float:
        """The US number with the decimals it is shown with."""
        return round(self.exact(value), self.decimals)


def convert_plant_text(text: str, source: Path | str = "plant.toml") -> str:
    """The text of a metric plant file in US units; reads back without faults.

    Raises PlantFileError where `text` has faults, or has them in US units (the formula of a
    computed point whose inputs go to different units), and ConversionError where limits fall
    together by rounding.
    """
    import tomlkit

    plant = plant_from_text(text, source)
    scales = Scales(plant, text)
    document = tomlkit.parse(text)
    _rename_plant(document)
    for table in document.get("point", []):
        scale = scales.of(str(table["key"]))
        if scale is not None:
            _convert_point(table, scale)
    _convert_figures(document.get("accounts", {}).get("figures", {}), plant)
    _take_twins(document)
    converted = _MADE_BY + tomlkit.dumps(document)
    _refuse_collapse(plant, plant_from_text(converted, f"{source} in US units"), scales)
    return converted


def _rename_plant(document: TomlTable) -> None:
    """Give the converted plant a key of its own where the file names none."""
    head = document["plant"]
    if "us_key" not in head:
        head["key"] = f"{head['key']}-us"


class Scales:
    """The US scale of every declared point of a plant, by the key it is declared with."""

    def __init__(self, plant: Plant, text: str) -> None:
        import tomllib

        declared = tomllib.loads(text).get("point", [])
        self.declared: dict[str, dict[str, Any]] = {entry["key"]: entry for entry in declared}
        self.points: dict[str, Point] = {}
        for point in plant.points:
            self.points.setdefault(base_of(point.key), point)
        self.barometer_kpa = plant.settings.barometer_kpa

    def of(self, key: str) -> Scale | None:
        """The scale of the points declared as `key`; None where they stay as they are."""
        point, declared = self.points.get(key), self.declared[key]
        unit = find_unit(point.unit) if point else None
        if point is None or unit is None:
            return None
        target = self._target(key)
        if target == unit and "us_factor" not in declared:
            return None
        exact = self._exact(unit, target, declared.get("us_factor"))
        decimals = declared.get("us_decimals")
        if decimals is None:
            decimals = point.decimals + _more_decimals(unit, target, exact)
        reverses = "us_factor" not in declared and is_reversed(unit.spelling, target.spelling)
        return Scale(target, max(0, min(decimals, _MOST_DECIMALS)), exact, reverses)

    def _exact(self, unit: Unit, target: Unit, factor: float | None) -> Callable[[float], float]:
        """The conversion of one number."""
        if factor is not None:
            return lambda value: value * factor
        barometer = self.barometer_kpa
        names = (unit.spelling, target.spelling)
        return lambda value: convert(value, *names, barometer_kpa=barometer)

    def _target(self, key: str) -> Unit:
        """The US unit: stated, that of the inputs, or the usual one."""
        stated = find_unit(self.declared[key].get("us_unit", ""))
        point = self.points[key]
        if "us_unit" in self.declared[key] and stated is not None:
            return stated
        unit = find_unit(point.unit)
        assert unit is not None, "the plant was read without faults"
        usual = find_unit(US_UNITS.get(unit.spelling, (unit.spelling, 0))[0])
        assert usual is not None
        return self._follow(point, usual) if point.formula and point.formula.inputs else usual

    def _follow(self, point: Point, usual: Unit) -> Unit:
        """The unit a computed point has once its inputs are in US units."""
        assert point.formula is not None
        inputs = [self._target(base_of(key)) for key in point.formula.inputs[:2]]
        computation = point.formula.computation
        if computation in _OF_DIFFERENCES:
            return difference_unit(inputs[0]) or usual
        if computation is Computation.MEAN:
            return inputs[0]
        hour = find_unit("h")
        assert hour is not None
        second = inputs[1] if len(inputs) > 1 else hour
        fitting = [unit for unit in (usual, *UNITS) if is_quotient(inputs[0], second, unit)]
        return fitting[0] if fitting else usual


def base_of(key: str) -> str:
    """The key a point is declared with: the part before the row and column."""
    return key.split(".", maxsplit=1)[0]


def _more_decimals(unit: Unit, target: Unit, exact: Callable[[float], float]) -> int:
    """How many decimals more the US number needs to tell as much."""
    usual, more = US_UNITS.get(unit.spelling, ("", 0))
    if usual == target.spelling:
        return more
    return -math.floor(math.log10(abs(exact(1.0) - exact(0.0))) + 1e-9)


def _convert_point(table: TomlTable, scale: Scale) -> None:
    """Bring one [[point]] to its US unit, with its exceptions and modes."""
    table["unit"] = scale.unit.spelling
    if table.get("decimals", 1) != scale.decimals:
        table["decimals"] = scale.decimals
    quantity = table.get("quantity")
    if quantity is not None and quantity != scale.unit.quantity:
        del table["quantity"]
    for place in _stating(table):
        _convert_limits(place, scale)
    for place in (table, *table.get("at", {}).values()):
        if scale.is_reversed:
            _swap(place, "low_means", "high_means")
            _swap(place, "us_low_means", "us_high_means")
    tank = table.get("tank")
    if tank is not None:
        tank["dip"] = _array([f"{scale.exact(float(dip)):.6g}" for dip in tank["dip"]])


def _stating(table: TomlTable) -> Iterator[TomlTable]:
    """Every place of a [[point]] where limits may be stated."""
    for place in (table, *table.get("at", {}).values()):
        yield place
        yield from place.get("limits", {}).values()


def _convert_limits(place: TomlTable, scale: Scale) -> None:
    """Convert the limits stated in one place, low and high changing places for a vacuum."""
    for pair in PAIRS:
        if pair in place:
            edges = [_edge(value, scale) for value in place[pair]]
            place[pair] = _array(edges[::-1] if scale.is_reversed else edges)
    for edge in LADDER:
        if edge in place:
            place[edge] = _value(_edge(place[edge], scale))
    if scale.is_reversed:
        for pair in PAIRS:
            _swap(place, f"{pair}_low", f"{pair}_high")


def _convert_figures(figures: TomlTable, plant: Plant) -> None:
    """State every figure of the accounts in its US unit, where it has one."""
    for name in list(figures):
        own = FIGURES[name].unit
        per = "per " if FIGURES[name].is_price else ""
        unit = US_UNITS.get(own.removeprefix(per), (None, 0))[0]
        value = plant.accounts.figures[name]
        if unit is not None and per:
            figures[name] = f"{value / convert(1.0, own.removeprefix(per), unit):.6g} per {unit}"
        elif unit is not None:
            figures[name] = f"{convert(value, own, unit):.6g} {unit}"


def _edge(value: object, scale: Scale) -> str:
    """A limit as TOML text; "" stays "no limit"."""
    if not isinstance(value, int | float):
        return '""'
    return f"{scale.rounded(float(value)) + 0.0:.{scale.decimals}f}"


def _swap(place: TomlTable, one: str, other: str) -> None:
    """Let two keys change places, either of which may be missing."""
    first, second = place.pop(one, None), place.pop(other, None)
    if second is not None:
        place[one] = second
    if first is not None:
        place[other] = first


def _value(text: str) -> Item:
    """A TOML value written exactly so."""
    import tomlkit

    return tomlkit.value(text)


def _array(texts: list[str]) -> Item:
    """A TOML array of values written exactly so."""
    return _value("[" + ", ".join(texts) + "]")


def _take_twins(place: object) -> None:
    """Put every `us_name` in place of its `name`, all through the file."""
    if isinstance(place, list):
        for entry in place:
            _take_twins(entry)
    if not isinstance(place, MutableMapping):
        return
    for key in [key for key in place if str(key).startswith("us_")]:
        twin = place.pop(key)
        if key not in _NOT_TWINS:
            place[str(key).removeprefix("us_")] = str(twin)
    for entry in list(place.values()):
        _take_twins(entry)


def _refuse_collapse(plant: Plant, converted: Plant, scales: Scales) -> None:
    """Raise ConversionError where limits that differed are the same after rounding."""
    wrong: list[str] = []
    for before, after in zip(plant.points, converted.points, strict=True):
        modes = [(before.limits, after.limits)]
        modes += [
            (before.limits_by_mode[m], after.limits_by_mode[m]) for m in before.limits_by_mode
        ]
        if any(_distinct(old) != _distinct(new) for old, new in modes):
            scale = scales.of(base_of(before.key))
            decimals = scale.decimals if scale else before.decimals
            wrong.append(f'"{before.key}" (in {after.unit} with {decimals} decimals)')
    if wrong:
        points = ", ".join(wrong)
        raise ConversionError(
            f"Limits fall together by rounding: state more us_decimals for {points}."
        )


def _distinct(limits: Limits) -> int:
    """How many different limits there are."""
    values = {getattr(limits, edge) for edge in LADDER}
    return len(values - {None})


def main(arguments: list[str] | None = None) -> int:
    """Convert IN to OUT; says what is wrong on standard error and returns 1 where it cannot."""
    paths = sys.argv[1:] if arguments is None else arguments
    if len(paths) != 2:
        sys.stderr.write("Use: python -m logbook.plant.convert IN OUT\n")
        return 2
    source, target = Path(paths[0]), Path(paths[1])
    try:
        converted = convert_plant_text(read_text(source), source)
        target.write_text(converted, encoding="utf-8", newline="\n")
    except (PlantFileError, ConversionError) as error:
        sys.stderr.write(f"{error}\n")
        return 1
    except OSError as error:
        sys.stderr.write(f"{target} cannot be written: {error.strerror}. Choose another folder.\n")
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
