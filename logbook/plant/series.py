"""Numbered machines, rows and tables of a plant file, written out one by one."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Protocol

from logbook.plant import schema
from logbook.plant.faults import KeyPath, Reporter, keys_of, one_of
from logbook.plant.model import Equipment, Header, PointTable

_PLACEHOLDER = re.compile(r"\{(\w+)\}")


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine and the number or word that stood for {n}, "" where it is the only one."""

    equipment: Equipment
    number: str


@dataclass(frozen=True, slots=True)
class Machines:
    """All machines of the plant, and the key paths they come from.

    Where one of the paths holds a fault the list is not complete, and a machine that seems
    not to exist may only be misspelt in its own declaration: checks lean on `paths`.
    """

    entries: tuple[Machine, ...]
    paths: tuple[KeyPath, ...]

    @property
    def by_key(self) -> dict[str, Machine]:
        """The machines by key."""
        return {machine.equipment.key: machine for machine in self.entries}


@dataclass(frozen=True, slots=True)
class Row:
    """A row of a table, or a machine of a repeated point."""

    header: Header
    number: str
    area: str | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """A table written out; `area` is None where a fault left it open.

    `paths` are the key paths that say which rows and columns there are (see `Machines`).
    """

    key: str
    name: str
    area: str | None
    rows: tuple[Row, ...]
    columns: tuple[Header, ...]
    paths: tuple[KeyPath, ...] = ()

    def as_point_table(self) -> PointTable:
        """The table as the rest of the program knows it."""
        rows = tuple(row.header for row in self.rows)
        return PointTable(self.key, self.name, self.area or "", rows, self.columns)


class _Numbered(Protocol):
    """What declares several things at once."""

    @property
    def key(self) -> str: ...
    @property
    def count(self) -> int | None: ...
    @property
    def each(self) -> tuple[str, ...] | None: ...


def fill(
    text: str,
    words: Mapping[str, str],
    at: KeyPath,
    reporter: Reporter,
    leans_on: Iterable[KeyPath] = (),
) -> str:
    """Put words in place of {n}, {row}, {column}; a placeholder without meaning is a fault."""
    for name in _PLACEHOLDER.findall(text):
        if name not in words:
            known = " or ".join(f"{{{word}}}" for word in words) or "text without { }"
            what = f"{{{name}}} stands for nothing here"
            reporter.add_and_drop(at, what, known, leans_on=leans_on)
    return _PLACEHOLDER.sub(lambda match: words.get(match.group(1), match.group()), text)


def has_placeholder(text: str) -> bool:
    """True where the text holds {n}, {row} or the like."""
    return _PLACEHOLDER.search(text) is not None


def refuse_twice(reporter: Reporter, keys: Iterable[tuple[str, KeyPath]], what: str) -> None:
    """Report every key that was used before, at its second place."""
    first: dict[str, KeyPath] = {}
    told: set[KeyPath] = set()
    for key, path in keys:
        if key in first and path not in told:
            told.add(path)
            line = reporter.line_of(first[key])
            reporter.add_and_drop(
                path, f'the key "{key}" is taken (line {line})', f"another key for this {what}"
            )
        first.setdefault(key, path)


def machines(specs: list[schema.EquipmentSpec], reporter: Reporter) -> Machines:
    """Every machine of the plant in file order."""
    found: dict[str, Machine] = {}
    keys: list[tuple[str, KeyPath]] = []
    for index, spec in enumerate(specs):
        path: KeyPath = ("equipment", index)
        for number in _numbers(spec, path, reporter):
            words = {"n": number} if number else {}
            key = spec.key.replace("{n}", number)
            name = fill(spec.name, words, (*path, "name"), reporter, _repeats(path))
            found.setdefault(key, Machine(Equipment(key, name, spec.area, spec.group), number))
            keys.append((key, (*path, "key")))
    refuse_twice(reporter, keys, "machine")
    names = ("key", "group", "count", "each")
    return Machines(tuple(found.values()), tuple(keys_of(("equipment",), len(specs), names)))


def _numbers(spec: _Numbered, path: KeyPath, reporter: Reporter) -> tuple[str, ...]:
    """What {n} stands for, one after the other; one empty text where there is no series."""
    at_key = (*path, "key")
    if spec.count is not None and spec.each is not None:
        reporter.add((*path, "each"), "count and each are both stated", "one of the two")
    numbers = spec.each or tuple(str(n + 1) for n in range(spec.count or 0))
    if not numbers and "{n}" in spec.key:
        reporter.add(
            at_key, "{n} stands for nothing here", "count or each as well", leans_on=_repeats(path)
        )
    if len(numbers) > 1 and "{n}" not in spec.key:
        reporter.add(at_key, "all machines would have the same key", 'a key with {n}: "fm{n}"')
        return numbers[:1]
    return numbers or ("",)


def _repeats(path: KeyPath) -> tuple[KeyPath, ...]:
    """The keys that say what {n} stands for."""
    return (*path, "each"), (*path, "count")


def named_machines(
    named: str | tuple[str, ...], known: Machines, at: KeyPath, reporter: Reporter
) -> list[Machine]:
    """The machines of a group, or those with the listed keys."""
    if isinstance(named, str):
        members = [machine for machine in known.entries if machine.equipment.group == named]
        if not members:
            groups = dict.fromkeys(m.equipment.group for m in known.entries if m.equipment.group)
            wanted = one_of(named, list(groups), nothing="a group stated in [[equipment]]")
            what = f'no equipment is of the group "{named}"'
            reporter.add_and_drop(at, what, wanted, leans_on=known.paths)
        return members
    by_key = known.by_key
    for key in named:
        refuse_unknown(key, known, at, reporter)
    return [by_key[key] for key in named if key in by_key]


def refuse_unknown(key: str | None, known: Machines, at: KeyPath, reporter: Reporter) -> None:
    """Report a machine that does not exist."""
    keys = list(known.by_key)
    if key is not None and key not in keys:
        wanted = one_of(key, keys, nothing="the key of an [[equipment]]")
        what = f'there is no equipment "{key}"'
        reporter.add_and_drop(at, what, wanted, leans_on=known.paths)


def rows_of_machines(
    found: list[Machine], row_name: str | None, at: KeyPath, reporter: Reporter
) -> list[Row]:
    """One row a machine."""
    rows: list[Row] = []
    for place, machine in enumerate(found, start=1):
        equipment, number = machine.equipment, machine.number or str(place)
        name = fill(row_name, {"n": number}, at, reporter) if row_name else equipment.name
        rows.append(Row(Header(equipment.key, name, equipment.key), number, equipment.area))
    return rows


def tables(specs: list[schema.TableSpec], known: Machines, reporter: Reporter) -> dict[str, Table]:
    """Every table by key."""
    found: dict[str, Table] = {}
    for index, spec in enumerate(specs):
        path: KeyPath = ("table", index)
        rows = _rows(spec, path, known, reporter)
        columns = tuple(Header(c.key, c.name, c.equipment) for c in spec.columns)
        _check_headers(spec, path, rows, known, reporter)
        area = _table_area(spec, path, rows, reporter)
        paths = (*_header_paths(spec, path), *(known.paths if spec.machines is not None else ()))
        table = Table(spec.key, spec.name, area, tuple(rows), columns, paths)
        found.setdefault(spec.key, table)
    keys = [(spec.key, ("table", index, "key")) for index, spec in enumerate(specs)]
    refuse_twice(reporter, keys, "table")
    return found


def _header_paths(spec: schema.TableSpec, path: KeyPath) -> list[KeyPath]:
    """The key paths that say which rows and columns a table has."""
    paths: list[KeyPath] = [(*path, "key"), (*path, "machines")]
    paths += keys_of((*path, "columns"), len(spec.columns))
    if isinstance(spec.rows, list):
        return paths + keys_of((*path, "rows"), len(spec.rows))
    return paths + [(*path, "rows", name) for name in ("key", "count", "each")]


def _rows(spec: schema.TableSpec, path: KeyPath, known: Machines, reporter: Reporter) -> list[Row]:
    """The rows of a table, however they are declared."""
    if (spec.machines is None) == (spec.rows is None):
        what = "rows are missing" if spec.rows is None else "machines and rows are both stated"
        leans_on = ((*path, "rows"), (*path, "machines"))
        reporter.add(path, what, 'machines = "group", or rows = ...', leans_on=leans_on)
    if spec.machines is not None:
        members = named_machines(spec.machines, known, (*path, "machines"), reporter)
        return rows_of_machines(members, spec.row_name, (*path, "row_name"), reporter)
    areas = {machine.equipment.key: machine.equipment.area for machine in known.entries}
    if isinstance(spec.rows, schema.RowSeriesSpec):
        headers = _series_headers(spec.rows, (*path, "rows"), reporter)
    else:
        listed = [Header(row.key, row.name, row.equipment) for row in spec.rows or ()]
        headers = [(header, str(place)) for place, header in enumerate(listed, start=1)]
    return [Row(header, number, areas.get(header.equipment or "")) for header, number in headers]


def _series_headers(
    series: schema.RowSeriesSpec, path: KeyPath, reporter: Reporter
) -> list[tuple[Header, str]]:
    """A numbered series of rows with their numbers."""
    headers: list[tuple[Header, str]] = []
    for number in _numbers(series, path, reporter):
        words = {"n": number} if number else {}
        name = fill(series.name, words, (*path, "name"), reporter, _repeats(path))
        equipment = series.equipment and series.equipment.replace("{n}", number)
        headers.append((Header(series.key.replace("{n}", number), name, equipment), number))
    return headers


def _check_headers(
    spec: schema.TableSpec, path: KeyPath, rows: list[Row], known: Machines, reporter: Reporter
) -> None:
    """Rows and columns have keys of their own, and their machines exist."""
    is_listed = isinstance(spec.rows, list)
    keys = [
        (row.header.key, (*path, "rows", place, "key") if is_listed else path)
        for place, row in enumerate(rows)
    ]
    columns = [(c.key, (*path, "columns", place, "key")) for place, c in enumerate(spec.columns)]
    refuse_twice(reporter, keys + columns, "row or column")
    if not spec.columns:
        reporter.add((*path, "columns"), "the table has no column", "at least one column")
    for place, row in enumerate(rows if spec.rows is not None else ()):
        at = (*path, "rows", place, "equipment") if is_listed else (*path, "rows", "equipment")
        refuse_unknown(row.header.equipment, known, at, reporter)


def _table_area(
    spec: schema.TableSpec, path: KeyPath, rows: list[Row], reporter: Reporter
) -> str | None:
    """The table's area: stated, or that of all its machines."""
    if spec.area is not None:
        return spec.area
    areas = {row.area for row in rows if row.area}
    if len(areas) == 1:
        return areas.pop()
    leans_on = ((*path, "machines"), (*path, "rows"), (*path, "area"))
    what = "the machines stand in several areas" if areas else "the table has no area"
    reporter.add(path, what, 'a line such as area = "flaking"', leans_on=leans_on)
    return None
