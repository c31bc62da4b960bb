"""Inputs of computed points: patterns resolved to points, and checked for sense and units."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from logbook.plant.expand import Source
from logbook.plant.faults import KeyPath, Reporter, keys_of, nearest, one_of
from logbook.plant.model import Computation, Formula, Point, PointKind
from logbook.plant.series import Machines
from logbook.plant.unit_table import Unit, UnitKind, difference_unit, find_unit

_AT_LEAST = {
    Computation.MEAN: 1,
    Computation.SPREAD: 2,
    Computation.LARGEST_DIFFERENCE: 2,
    Computation.DIFFERENCE: 2,
    Computation.RATIO: 2,
    Computation.RATE: 1,
    Computation.PER_TONNE: 2,
}
_AT_MOST = {
    Computation.DIFFERENCE: 2,
    Computation.RATIO: 2,
    Computation.RATE: 1,
    Computation.PER_TONNE: 2,
}
_OF_COUNTERS = frozenset({Computation.RATE, Computation.PER_TONNE})
_OF_DIFFERENCES = frozenset(
    {Computation.SPREAD, Computation.LARGEST_DIFFERENCE, Computation.DIFFERENCE}
)
_OF_QUOTIENTS = frozenset({Computation.RATIO, Computation.PER_TONNE})

Declared = list[tuple[Source, list[Point]]]


def resolve_inputs(declared: Declared, machines: Machines, reporter: Reporter) -> Declared:
    """Put the keys of points in place of the patterns of every computed point."""
    keys = [point.key for _, points in declared for point in points]
    bases = _Bases(declared, machines, reporter)
    return [
        (source, [_resolved(point, source, keys, bases) for point in points])
        for source, points in declared
    ]


class _Bases:
    """Declared keys, for telling why a pattern matches nothing."""

    def __init__(self, declared: Declared, machines: Machines, reporter: Reporter) -> None:
        self.by_key = {source.spec.key: (source, points) for source, points in declared}
        self.reporter = reporter
        self.leans_on = (*keys_of(("point",), len(declared)), *machines.paths)

    def tell(self, pattern: str, source: Source, keys: list[str]) -> None:
        """Report a pattern without a match, once for each declaration."""
        at = (*source.path, "inputs")
        base = pattern.split(".", maxsplit=1)[0]
        other, points = self.by_key.get(base, (None, []))
        if other is not None and self._is_faulty(other, points):
            return
        what = f'no point is named "{pattern}"'
        # The cells of one declaration share a mistake: the first tells it, and nothing
        # further is said about these inputs.
        meant = _meant(pattern, points, keys)
        self.reporter.add_and_drop(at, what, meant, leans_on=self.leans_on)

    def _is_faulty(self, source: Source, points: list[Point]) -> bool:
        """True where the points are missing through a fault told elsewhere."""
        names = ("key", "table", "column", "columns", "rows", "machines")
        paths: list[KeyPath] = [(*source.path, name) for name in names]
        paths += source.table.paths if source.table else ()
        return not points or any(self.reporter.is_dropped(path) for path in paths)


def _meant(pattern: str, points: list[Point], keys: list[str]) -> str:
    """What may be meant by an input that names no point."""
    if points and "*" not in pattern:
        parts = points[0].key.count(".")
        inside = [point.key for point in points]
        close = nearest(pattern, inside) if "." in pattern else None
        return f'"{close or ".".join([pattern.split(".", maxsplit=1)[0], *["*"] * parts])}"'
    return one_of(pattern, keys, nothing="the key of a point")


def _resolved(point: Point, source: Source, keys: list[str], bases: _Bases) -> Point:
    """A computed point with its inputs by key, other points as they are."""
    if point.formula is None:
        return point
    inputs: list[str] = []
    for pattern in point.formula.inputs:
        found = list(matching(pattern, keys))
        if not found:
            bases.tell(pattern, source, keys)
        inputs += [key for key in found if key not in inputs]
    return replace(point, formula=Formula(point.formula.computation, tuple(inputs)))


def matching(pattern: str, keys: Iterable[str]) -> Iterator[str]:
    """The keys that fit a pattern, in their order; * stands for any one part of a key.

    >>> list(matching("a.*.left", ["a.1.left", "a.1.right", "a.left", "b.1.left"]))
    ['a.1.left']
    """
    parts = pattern.split(".")
    for key in keys:
        own = key.split(".")
        if len(own) == len(parts) and all(p in ("*", o) for p, o in zip(parts, own, strict=True)):
            yield key


def check_formulas(declared: Declared, reporter: Reporter) -> None:
    """Report formulas that cannot be worked out; one fault of a kind for each declaration."""
    by_key = {point.key: (source, point) for source, points in declared for point in points}
    for source, points in declared:
        is_computed = source.spec.kind is PointKind.COMPUTED
        _check_has_formula(source, reporter, is_computed=is_computed)
        if not is_computed or not source.spec.inputs:
            continue
        for point in points:
            before = len(reporter.faults)
            _FormulaCheck(source, point, by_key, reporter).run()
            if len(reporter.faults) > before:
                break
    _check_cycles(by_key, reporter)


def _check_has_formula(source: Source, reporter: Reporter, *, is_computed: bool) -> None:
    """A computed point has a formula and inputs, no other point has them."""
    for name in ("formula", "inputs"):
        is_stated = name in source.spec.model_fields_set
        at, leans_on = (*source.path, name), ((*source.path, "kind"),)
        if is_computed and not (is_stated and getattr(source.spec, name)):
            wanted = 'formula = "mean" and inputs = [...]'
            what = f"a computed point needs {name}"
            reporter.add_and_drop(at, what, wanted, leans_on=leans_on)
        elif is_stated and not is_computed:
            what = f"{name} belongs to computed points only"
            reporter.add(at, what, 'kind = "computed" as well', leans_on=leans_on)


@dataclass(frozen=True, slots=True)
class _FormulaCheck:
    """The checks of one computed point."""

    source: Source
    point: Point
    by_key: Mapping[str, tuple[Source, Point]]
    reporter: Reporter

    def run(self) -> None:
        """Count, kind and units of the inputs, each only where the one before is right."""
        if self.point.formula is None or not self.point.formula.inputs:
            return
        inputs = [self.by_key[key] for key in self.point.formula.inputs]
        if self._counts(inputs) and self._are_numbers(inputs):
            self._units(inputs)

    def _tell(self, name: str, what: str, wanted: str, *others: Source) -> None:
        """Report at a key of the declaration; silent where it follows from another fault."""
        path = self.source.path
        leans_on = [(*path, own) for own in ("formula", "inputs", "kind", "unit", "machines")]
        leans_on += [(*other.path, own) for other in others for own in ("kind", "unit", "table")]
        self.reporter.add((*path, name), what, wanted, leans_on=leans_on)

    def _counts(self, inputs: list[tuple[Source, Point]]) -> bool:
        """As many inputs as the formula takes."""
        formula = self.point.formula
        assert formula is not None
        computation, got = formula.computation, len(inputs)
        least, most = _AT_LEAST[computation], _AT_MOST.get(computation, got)
        if least <= got <= max(least, most):
            return True
        wanted = f"{least} inputs" if computation in _AT_MOST else f"{least} inputs or more"
        self._tell(
            "inputs", f'"{computation}" has {got} inputs', wanted.replace("1 inputs", "1 input")
        )
        return False

    def _are_numbers(self, inputs: list[tuple[Source, Point]]) -> bool:
        """Inputs hold numbers; counters where the formula counts up."""
        assert self.point.formula is not None
        counts_up = self.point.formula.computation in _OF_COUNTERS
        for source, point in inputs:
            if not point.kind.is_numeric:
                what = f'"{point.key}" is of kind {point.kind} and has no number'
                self._tell("inputs", what, "points that hold a number", source)
                return False
            if counts_up and point.kind is not PointKind.COUNTER:
                what = f'"{point.key}" is of kind {point.kind}, not a counter'
                self._tell("inputs", what, "points of kind counter", source)
                return False
        return True

    def _units(self, inputs: list[tuple[Source, Point]]) -> None:
        """The unit of the result follows from the units of the inputs."""
        assert self.point.formula is not None
        computation = self.point.formula.computation
        units = [find_unit(point.unit) for _, point in inputs]
        result = find_unit(self.point.unit)
        known = [unit for unit in units if unit is not None]
        if result is None or len(known) < len(units):
            return
        others = [source for source, _ in inputs]
        if computation in _OF_QUOTIENTS or computation is Computation.RATE:
            self._quotient(known, result, others)
            return
        odd = next((place for place, unit in enumerate(known) if unit != known[0]), None)
        if odd is not None:
            what = f'"{inputs[odd][1].key}" is in {_shown(known[odd])}, "{inputs[0][1].key}" in {_shown(known[0])}'
            self._tell("inputs", what, "inputs that all have the same unit", *others)
            return
        is_difference = computation in _OF_DIFFERENCES
        right = difference_unit(known[0]) if is_difference else known[0]
        if right is not None and not _same(result, right):
            kind = f'"{computation}" of {_shown(known[0])} is in {_shown(right)}'
            self._tell("unit", f"{kind}, not in {_shown(result)}", _shown(right), *others)

    def _quotient(self, units: list[Unit], result: Unit, others: list[Source]) -> None:
        """First over second, or per hour."""
        from logbook.plant.units import is_quotient

        hour = find_unit("h")
        assert hour is not None
        first, second = (units[0], hour) if len(units) == 1 else (units[0], units[1])
        if not is_quotient(first, second, result):
            what = f"{_shown(first)} over {_shown(second)} is not in {_shown(result)}"
            self._tell("unit", what, "the unit of the first over that of the second", *others)


def _same(one: Unit, other: Unit) -> bool:
    """True where both spell the same unit."""
    scale = (UnitKind.PLAIN, UnitKind.DIFFERENCE)
    alike = one.kind is other.kind or (one.kind in scale and other.kind in scale)
    return one.pint == other.pint and alike


def _shown(unit: Unit) -> str:
    """A unit in a sentence."""
    return f'"{unit.spelling}"'


def _check_cycles(by_key: Mapping[str, tuple[Source, Point]], reporter: Reporter) -> None:
    """Report computed points that are worked out from themselves, once for each ring."""
    done: set[str] = set()
    for key in by_key:
        ring = _ring_from(key, by_key, done)
        if ring:
            at = (*by_key[ring[0]][0].path, "inputs")
            what = "the point is worked out from itself: " + " from ".join(ring)
            reporter.add(at, what, "inputs that do not lead back here")


def _ring_from(
    start: str, by_key: Mapping[str, tuple[Source, Point]], done: set[str]
) -> list[str] | None:
    """The first ring found on the way down from a point; points looked at join `done`."""
    trail: list[str] = []
    stack: list[tuple[str, int]] = [(start, 0)]
    while stack:
        key, depth = stack.pop()
        done.update(trail[depth:])
        del trail[depth:]
        if key in trail:
            done.update(trail)
            return [*trail[trail.index(key) :], key]
        if key in done:
            continue
        trail.append(key)
        formula = by_key[key][1].formula if key in by_key else None
        inputs = formula.inputs if formula else ()
        stack += [(entry, len(trail)) for entry in reversed(inputs)]
    done.update(trail)
    return None
