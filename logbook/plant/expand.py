"""Points of a plant file written out: one `Point` for every cell, machine or single declaration."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from logbook.plant import schema
from logbook.plant.faults import KeyPath, Reporter, keys_of, one_of
from logbook.plant.layers import Layer, as_limits, lay_over, stated_limits
from logbook.plant.model import (
    Choice,
    Computation,
    Formula,
    Frequency,
    GridPlace,
    Header,
    Often,
    Point,
    PointKind,
    TankTable,
    Weight,
)
from logbook.plant.series import (
    Machines,
    Row,
    Table,
    fill,
    has_placeholder,
    named_machines,
    rows_of_machines,
)
from logbook.plant.unit_table import find_unit

TEXTS = ("sampling_point", "low_means", "high_means", "response", "caution")
DONE = (
    Choice("done", "Done"),
    Choice("not_done", "Not done", Weight.WARNING),
)
"""The answers of a check point that names none."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One place a point is repeated to; both None for a single point."""

    row: Row | None = None
    column: Header | None = None

    def at_keys(self) -> tuple[str, ...]:
        """The keys of `at` that speak of this cell, the later one winning."""
        row = self.row.header.key if self.row else None
        column = self.column.key if self.column else None
        both = f"{row}.{column}" if row and column else None
        return tuple(key for key in (row, column, both) if key)

    def words(self, *, keys: bool) -> dict[str, str]:
        """What the placeholders stand for: keys in tags and inputs, else names."""
        words: dict[str, str] = {}
        if self.row:
            header = self.row.header
            words = {"n": self.row.number, "row": header.key if keys else header.name}
        if self.column:
            words["column"] = self.column.key if keys else self.column.name
        return words


@dataclass(frozen=True, slots=True)
class Source:
    """A point as declared, the path of its declaration and the cells it is repeated to."""

    spec: schema.PointSpec
    path: KeyPath
    cells: tuple[Cell, ...]
    table: Table | None

    @property
    def is_repeated(self) -> bool:
        """True where the declaration stands for several points."""
        return self.table is not None or self.spec.machines is not None

    def key_of(self, cell: Cell) -> str:
        """The key of the point in a cell."""
        parts = [self.spec.key]
        if cell.row:
            parts.append(cell.row.header.key)
        if cell.column and self.spec.column is None:
            parts.append(cell.column.key)
        return ".".join(parts)


@dataclass(frozen=True, slots=True)
class Context:
    """What points may refer to."""

    machines: Machines
    tables: dict[str, Table]
    reporter: Reporter


def sources(specs: list[schema.PointSpec], context: Context) -> list[Source]:
    """Every declared point with the cells it is repeated to."""
    found = []
    for index, spec in enumerate(specs):
        path: KeyPath = ("point", index)
        table = _table_of(spec, path, context)
        found.append(Source(spec, path, tuple(_cells(spec, path, table, context)), table))
    for source in found:
        _check_at(source, context)
    return found


def _table_of(spec: schema.PointSpec, path: KeyPath, context: Context) -> Table | None:
    """The table a point stands in."""
    if spec.table is None:
        for name in ("column", "columns", "rows"):
            if name in spec.model_fields_set:
                leans_on = ((*path, "table"),)
                what = f"{name} is stated without a table"
                context.reporter.add((*path, name), what, "table = ... as well", leans_on=leans_on)
        return None
    at = (*path, "table")
    if spec.machines is not None:
        context.reporter.add(at, "table and machines are both stated", "one of the two")
    if spec.table not in context.tables:
        wanted = one_of(spec.table, list(context.tables), nothing="a [[table]] with this key")
        what, known = f'there is no table "{spec.table}"', keys_of(("table",), len(context.tables))
        context.reporter.add(at, what, wanted, leans_on=known)
    return context.tables.get(spec.table)


def _cells(
    spec: schema.PointSpec, path: KeyPath, table: Table | None, context: Context
) -> Iterator[Cell]:
    """The cells of a point, row by row."""
    reporter = context.reporter
    if table is not None:
        by_row = {row.header.key: row for row in table.rows}
        rows = _picked(spec.rows, by_row, (*path, "rows"), table, reporter)
        name = "column" if spec.column is not None else "columns"
        wanted = (spec.column,) if spec.column is not None else spec.columns
        if spec.column is not None and spec.columns is not None:
            reporter.add((*path, "columns"), "column and columns are both stated", "one of the two")
        by_column = {column.key: column for column in table.columns}
        columns = _picked(wanted, by_column, (*path, name), table, reporter)
        yield from (Cell(row, column) for row in rows for column in columns)
    elif spec.machines is not None and spec.table is None:
        at = (*path, "machines")
        members = named_machines(spec.machines, context.machines, at, reporter)
        yield from (Cell(row) for row in rows_of_machines(members, None, at, reporter))
    elif spec.table is None:
        yield Cell()


def _picked(
    wanted: Sequence[str] | None,
    known: dict[str, Any],
    at: KeyPath,
    table: Table,
    reporter: Reporter,
) -> list[Any]:
    """The rows or columns with the wanted keys, all where none are named."""
    if wanted is None:
        return list(known.values())
    for key in wanted:
        if key not in known:
            what = f'the table has no {str(at[-1]).rstrip("s")} "{key}"'
            reporter.add(at, what, one_of(key, list(known)), leans_on=table.paths)
    return [known[key] for key in wanted if key in known]


def _check_at(source: Source, context: Context) -> None:
    """Exceptions speak of rows and columns the point stands in."""
    known = list(dict.fromkeys(key for cell in source.cells for key in cell.at_keys()))
    names = ("table", "machines", "rows", "columns", "column")
    told = source.table.paths if source.table else context.machines.paths
    leans_on = (*((*source.path, name) for name in names), *told)
    for key in source.spec.at:
        path = (*source.path, "at", key)
        if not source.is_repeated and source.spec.table is None:
            what, wanted = "the point is not repeated", "table or machines as well"
            context.reporter.add(path, what, wanted, leans_on=leans_on)
        elif source.cells and key not in known:
            what = f'the point stands in no row or column "{key}"'
            context.reporter.add(path, what, one_of(key, known), leans_on=leans_on)


def points_of(source: Source, context: Context) -> list[Point]:
    """The points a declaration stands for; inputs of computed points still hold patterns."""
    return [_point(source, cell, context) for cell in source.cells]


def _point(source: Source, cell: Cell, context: Context) -> Point:
    """The point in one cell."""
    spec, reporter = source.spec, context.reporter
    unit = find_unit(spec.unit)
    normal, by_mode = cell_limits(source, cell)
    place = None
    if source.table and cell.row and cell.column:
        place = GridPlace(source.table.key, cell.row.header.key, cell.column.key)
    return Point(
        key=source.key_of(cell),
        name=_name(source, cell, reporter),
        area=_area(source, cell, context),
        kind=spec.kind,
        equipment=_equipment(source, cell),
        place=place,
        unit=unit.spelling if unit else spec.unit,
        decimals=spec.decimals,
        frequency=_frequency(spec),
        tag=_text("tag", source, cell, reporter),
        limits=as_limits(normal),
        limits_by_mode=MappingProxyType(
            {mode: as_limits(layer) for mode, layer in by_mode.items()}
        ),
        choices=_choices(spec),
        formula=_formula(source, cell, reporter),
        rollover=spec.rollover,
        tank=TankTable(spec.tank.dip, spec.tank.volume, spec.tank.ullage) if spec.tank else None,
        silent_modes=_words("silent_modes", source, cell),
        chart_rules=_words("chart_rules", source, cell),
        **{name: _text(name, source, cell, reporter) for name in TEXTS},
    )


def _exceptions(source: Source, cell: Cell) -> list[tuple[schema.AtSpec, KeyPath]]:
    """The exceptions that speak of a cell, the later one winning."""
    at = source.spec.at
    return [(at[key], (*source.path, "at", key)) for key in cell.at_keys() if key in at]


def cell_limits(source: Source, cell: Cell) -> tuple[Layer, dict[str, Layer]]:
    """Limits of a cell in the normal mode and in each mode that has its own, with their paths."""
    places: list[tuple[schema.WordFields, KeyPath]] = [(source.spec, source.path)]
    places += _exceptions(source, cell)
    normal = lay_over(*(stated_limits(fields, path) for fields, path in places))
    by_mode: dict[str, Layer] = {}
    for mode in dict.fromkeys(mode for fields, _ in places for mode in fields.limits):
        own = [
            stated_limits(fields.limits[mode], (*path, "limits", mode))
            for fields, path in places
            if mode in fields.limits
        ]
        by_mode[mode] = lay_over(normal, *own)
    return normal, by_mode


def _stated(name: str, source: Source, cell: Cell) -> tuple[Any, KeyPath]:
    """The value in force in a cell, and where it is stated."""
    for fields, path in reversed(_exceptions(source, cell)):
        if name in fields.model_fields_set:
            return getattr(fields, name), (*path, name)
    return getattr(source.spec, name), (*source.path, name)


def _text(name: str, source: Source, cell: Cell, reporter: Reporter) -> str:
    """A text of the point with its placeholders filled."""
    text, path = _stated(name, source, cell)
    return fill(text, cell.words(keys=name == "tag"), path, reporter)


def _name(source: Source, cell: Cell, reporter: Reporter) -> str:
    """The point's name; row and column are added where it does not place them itself."""
    text, path = _stated("name", source, cell)
    is_own = path != (*source.path, "name")
    if source.is_repeated and not is_own and not has_placeholder(text):
        text += ", {row}" if cell.column is None or source.spec.column else ", {row}, {column}"
    return fill(text, cell.words(keys=False), path, reporter)


def _words(name: str, source: Source, cell: Cell) -> tuple[str, ...]:
    """A list of words of the point, such as the modes in which it is silent."""
    words: tuple[str, ...] = _stated(name, source, cell)[0]
    return words


def _equipment(source: Source, cell: Cell) -> str | None:
    """The point's machine: its own, else the row's, else the column's."""
    row = cell.row.header.equipment if cell.row else None
    column = cell.column.equipment if cell.column else None
    return source.spec.equipment or row or column


def _area(source: Source, cell: Cell, context: Context) -> str:
    """The point's area: its own, the table's, or that of its machine; "" with a fault."""
    areas = {machine.equipment.key: machine.equipment.area for machine in context.machines.entries}
    machine = areas.get(_equipment(source, cell) or "")
    area = source.spec.area or (source.table and source.table.area) or machine
    if not area:
        names = ("area", "table", "machines", "equipment")
        leans_on = tuple((*source.path, name) for name in names)
        is_told = source.spec.table or source.spec.equipment
        if not is_told:
            what = "the point has no area"
            context.reporter.add(
                source.path, what, 'a line such as area = "flaking"', leans_on=leans_on
            )
    return area or ""


def _frequency(spec: schema.PointSpec) -> Frequency:
    """How often; where it is not stated, each round, and on sample for a laboratory result."""
    if spec.frequency is not None:
        return spec.frequency
    return Frequency(Often.SAMPLE if spec.kind is PointKind.LAB else Often.ROUND)


def _choices(spec: schema.PointSpec) -> tuple[Choice, ...]:
    """The answers; done and not done for a check that names none."""
    own = tuple(Choice(c.key, c.name, c.weight, c.means_down) for c in spec.choices)
    return DONE if spec.kind is PointKind.CHECK and not own else own


def _formula(source: Source, cell: Cell, reporter: Reporter) -> Formula | None:
    """The formula with the row and column put into its inputs."""
    if source.spec.formula is None and not source.spec.inputs:
        return None
    # Inputs without a formula are a fault told elsewhere; as a mean they can be looked up.
    computation = source.spec.formula or Computation.MEAN
    words, at = cell.words(keys=True), (*source.path, "inputs")
    inputs = tuple(fill(text, words, at, reporter) for text in source.spec.inputs)
    return Formula(computation, inputs)
