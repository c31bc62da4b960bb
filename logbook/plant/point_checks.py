"""Checks of the declared points: limits in order, decimals, units, and keys that fit the kind."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from logbook.plant import schema
from logbook.plant.expand import Source, cell_limits
from logbook.plant.faults import KeyPath, Reporter, keys_of, nearest, one_of
from logbook.plant.layers import LADDER, PAIRS, Layer, stated_limits
from logbook.plant.model import CHART_RULES, NORMAL_MODE, Often, PointKind
from logbook.plant.unit_table import Unit, find_unit, quantities, suggest_unit

_ANSWERED = frozenset({PointKind.STATE, PointKind.CHECK})


def check_point(source: Source, modes: list[str], round_hours: float, reporter: Reporter) -> None:
    """Everything about one declaration that needs no other point."""
    _check_modes(source, modes, reporter)
    for fields, path in _stating(source):
        _check_stated_once(fields, path, reporter)
        _check_decimals(source, fields, path, reporter)
    _check_order(source, reporter)
    _check_unit(source, reporter)
    _check_kind(source, reporter)
    _check_choices(source, reporter)
    _check_tank(source, reporter)
    _check_frequency(source, round_hours, reporter)


def _stating(source: Source) -> Iterator[tuple[schema.LimitFields, KeyPath]]:
    """Every place of a declaration where limits may be stated."""
    places: list[tuple[schema.WordFields, KeyPath]] = [(source.spec, source.path)]
    places += [(fields, (*source.path, "at", key)) for key, fields in source.spec.at.items()]
    for fields, path in places:
        yield fields, path
        for mode, own in fields.limits.items():
            yield own, (*path, "limits", mode)


def _check_modes(source: Source, modes: list[str], reporter: Reporter) -> None:
    """Modes and rules of charts named by the point exist."""
    others = [mode for mode in modes if mode != NORMAL_MODE]
    places: list[tuple[schema.WordFields, KeyPath]] = [(source.spec, source.path)]
    places += [(fields, (*source.path, "at", key)) for key, fields in source.spec.at.items()]
    for fields, path in places:
        for mode in fields.limits:
            at = (*path, "limits", mode)
            if mode == NORMAL_MODE:
                reporter.add(
                    at, "limits of the normal mode stand on the point itself", "no .normal"
                )
            elif mode not in modes:
                wanted = one_of(mode, others, nothing="a [[mode]]")
                what = f'there is no mode "{mode}"'
                reporter.add(at, what, wanted, leans_on=keys_of(("mode",), len(modes)))
        for mode in fields.silent_modes:
            if mode not in modes:
                what, wanted = f'there is no mode "{mode}"', one_of(mode, modes)
                leans_on = keys_of(("mode",), len(modes))
                reporter.add((*path, "silent_modes"), what, wanted, leans_on=leans_on)
        for rule in fields.chart_rules:
            if rule not in CHART_RULES:
                what, wanted = f'there is no rule "{rule}"', one_of(rule, CHART_RULES)
                reporter.add((*path, "chart_rules"), what, wanted)


def _check_stated_once(fields: schema.LimitFields, path: KeyPath, reporter: Reporter) -> None:
    """A limit is stated as a pair or by itself, not both."""
    for pair in PAIRS:
        for edge in (f"{pair}_low", f"{pair}_high"):
            if {pair, edge} <= fields.model_fields_set:
                what = f"{pair} is stated as a pair as well"
                reporter.add((*path, edge), what, "one of the two")


def _check_decimals(
    source: Source, fields: schema.LimitFields, path: KeyPath, reporter: Reporter
) -> None:
    """A limit shows with the decimals of the point."""
    decimals = source.spec.decimals
    for stated in stated_limits(fields, path).values():
        value = stated.value
        if value is not None and abs(round(value, decimals) - value) > 1e-9 * max(1.0, abs(value)):
            what = f"{value:g} has more decimals than the point ({decimals})"
            wanted = f"{value:.{decimals}f}, or more decimals"
            reporter.add(stated.path, what, wanted, leans_on=((*source.path, "decimals"),))


def _check_order(source: Source, reporter: Reporter) -> None:
    """Limits rise from plausible low to plausible high, in every cell and mode."""
    told: set[tuple[str, str]] = set()
    _check_ladder(stated_limits(source.spec, source.path), source.path, told, reporter)
    # What is out of order in the point itself is not told again for its cells and modes.
    for cell in source.cells:
        layer, by_mode = cell_limits(source, cell)
        for key in cell.at_keys():
            at = (*source.path, "at", key)
            _check_ladder(layer, at, set(told), reporter)
            for mode, mode_layer in by_mode.items():
                _check_ladder(mode_layer, (*at, "limits", mode), set(told), reporter)
        for mode, mode_layer in by_mode.items():
            _check_ladder(mode_layer, (*source.path, "limits", mode), set(told), reporter)


def _check_ladder(
    layer: Layer, place: KeyPath, told: set[tuple[str, str]], reporter: Reporter
) -> None:
    """Report neighbours out of order, if one of the two is stated at `place`; add them to `told`."""
    rungs = [(edge, layer[edge]) for edge in LADDER if edge in layer]
    present = [(edge, stated) for edge, stated in rungs if stated.value is not None]
    for (low, below), (high, above) in pairwise(present):
        assert below.value is not None
        assert above.value is not None
        here = [stated.path for stated in (below, above) if stated.path[:-1] == place]
        if below.value <= above.value or not here or (low, high) in told:
            continue
        told.add((low, high))
        what = f"{_words(low)} {below.value:g} is above {_words(high)} {above.value:g}"
        wanted = f"{_words(low)} <= {_words(high)}"
        later = max(here, key=lambda path: reporter.line_of(path) or 0)
        reporter.add(later, what, wanted, leans_on=(below.path, above.path))


def _words(edge: str) -> str:
    """`warning_low` as people say it."""
    return edge.replace("_", " ")


def _check_unit(source: Source, reporter: Reporter) -> None:
    """The unit is known and of the stated quantity; the US unit fits it."""
    spec, path = source.spec, source.path
    unit = find_unit(spec.unit)
    if unit is None:
        reporter.add((*path, "unit"), f'"{spec.unit}" is not a known unit', suggest_unit(spec.unit))
    if spec.quantity is not None:
        _check_quantity(spec.quantity, unit, path, reporter)
    us_unit = find_unit(spec.us_unit or "")
    at = (*path, "us_unit")
    if us_unit is None:
        wanted = suggest_unit(spec.us_unit or "")
        reporter.add(at, f'"{spec.us_unit}" is not a known unit', wanted)
    elif unit is not None and spec.us_unit is not None and spec.us_factor is None:
        _check_us_unit(unit, us_unit, at, reporter)


def _check_quantity(quantity: str, unit: Unit | None, path: KeyPath, reporter: Reporter) -> None:
    """The stated quantity is one, and that of the unit."""
    at, known = (*path, "quantity"), quantities()
    if quantity not in known:
        reporter.add(at, f'"{quantity}" is not a known quantity', _of_quantities(quantity, unit))
    elif unit is not None and unit.quantity != quantity:
        what = f'"{unit.spelling}" is a unit of {unit.quantity}, not of {quantity}'
        reporter.add((*path, "unit"), what, f"a unit of {quantity}", leans_on=((*path, "unit"),))


def _of_quantities(quantity: str, unit: Unit | None) -> str:
    """What may be meant by an unknown quantity."""
    meant = unit.quantity if unit else nearest(quantity, quantities())
    return f'"{meant}"' if meant else "a quantity of the list in resources/plants/README.md"


def _check_us_unit(unit: Unit, us_unit: Unit, at: KeyPath, reporter: Reporter) -> None:
    """The point's unit converts to the US unit by itself."""
    from logbook.plant.units import is_convertible

    if not is_convertible(unit.spelling, us_unit.spelling):
        what = f'"{unit.spelling}" does not convert to "{us_unit.spelling}"'
        wanted = f"a unit of {unit.quantity}, or us_factor as well"
        reporter.add(at, what, wanted, leans_on=((*at[:-1], "unit"), (*at[:-1], "us_factor")))


def _check_kind(source: Source, reporter: Reporter) -> None:
    """Keys that belong to some kinds only."""
    spec, path = source.spec, source.path
    for fields, place in _stating(source) if not spec.kind.is_numeric else ():
        for stated in stated_limits(fields, place).values():
            _refuse(reporter, stated.path, path, f"a point of kind {spec.kind} has no limits")
    if spec.unit and not spec.kind.is_numeric:
        _refuse(reporter, (*path, "unit"), path, f"a point of kind {spec.kind} has no unit")
    if spec.rollover is not None and spec.kind is not PointKind.COUNTER:
        _refuse(reporter, (*path, "rollover"), path, "rollover belongs to kind counter only")
    if spec.rollover is not None and spec.rollover <= 0:
        reporter.add(
            (*path, "rollover"), "a counter cannot roll over at 0 or less", "such as 100000"
        )
    if spec.tank is not None and spec.kind is not PointKind.LEVEL:
        _refuse(reporter, (*path, "tank"), path, "tank belongs to kind level only")
    if spec.choices and spec.kind not in _ANSWERED:
        _refuse(reporter, (*path, "choices"), path, "choices belong to kind state or check only")


def _refuse(reporter: Reporter, at: KeyPath, point: KeyPath, what: str) -> None:
    """Report a key that does not go with the kind."""
    reporter.add(at, what, "another kind, or without this line", leans_on=((*point, "kind"),))


def _check_choices(source: Source, reporter: Reporter) -> None:
    """A state has at least two answers, each with a key of its own."""
    spec, path = source.spec, source.path
    at = (*path, "choices")
    least = 2 if spec.kind is PointKind.STATE or spec.choices else 0
    if spec.kind in _ANSWERED and len(spec.choices) < least:
        wanted = 'choices = [{ key = "running", name = "Running" }, ...]'
        reporter.add(at, "two answers at least are needed", wanted, leans_on=((*path, "kind"),))
    seen: set[str] = set()
    for place, choice in enumerate(spec.choices):
        if choice.key in seen:
            reporter.add(
                (*at, place, "key"), f'the answer "{choice.key}" is there twice', "another key"
            )
        seen.add(choice.key)


def _check_tank(source: Source, reporter: Reporter) -> None:
    """A level has a tank table, whose dip and volume rise together."""
    spec, path = source.spec, source.path
    if spec.kind is PointKind.LEVEL and spec.tank is None:
        wanted = 'tank = { dip = [...], volume = [...] }, or kind = "number"'
        reporter.add(
            (*path, "tank"), "a level needs a tank table", wanted, leans_on=((*path, "kind"),)
        )
    if spec.tank is None:
        return
    columns = {"dip": spec.tank.dip, "volume": spec.tank.volume}
    for name, values in columns.items():
        if len(values) < 2 or any(low >= high for low, high in pairwise(values)):
            reporter.add(
                (*path, "tank", name), f"{name} does not rise", "two rising numbers or more"
            )
    if len(spec.tank.dip) != len(spec.tank.volume):
        what = f"{len(spec.tank.dip)} dips and {len(spec.tank.volume)} volumes"
        leans_on = tuple((*path, "tank", name) for name in columns)
        reporter.add((*path, "tank"), what, "a volume for each dip", leans_on=leans_on)


def _check_frequency(source: Source, round_hours: float, reporter: Reporter) -> None:
    """Every n hours is a whole number of rounds."""
    how = source.spec.frequency
    if how is None or how.often is not Often.HOURS or not how.hours % round_hours:
        return
    what = f"every {how.hours} h does not fall on a round every {round_hours:g} h"
    wanted = f"a multiple of {round_hours:g} h"
    leans_on = (("settings", "round_hours"),)
    reporter.add((*source.path, "frequency"), what, wanted, leans_on=leans_on)
