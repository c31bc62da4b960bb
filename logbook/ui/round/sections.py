"""How the points of an area are arranged on the form, and how the keyboard moves through them.

A section is a grid of point keys: single points are a grid of one column, repeated machines
a table of rows and columns. No Qt here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from logbook.plant.model import Plant, Point, PointTable

Opens = Callable[[str], bool]


@dataclass(frozen=True, slots=True)
class Section:
    """A grid of keys (None: no point there). `table` is None for single points."""

    table: PointTable | None
    grid: tuple[tuple[str | None, ...], ...]

    @property
    def width(self) -> int:
        """Number of columns."""
        return max((len(row) for row in self.grid), default=0)

    def by_rows(self) -> Iterator[str]:
        """Keys left to right, then down."""
        return (key for row in self.grid for key in row if key is not None)

    def by_columns(self) -> Iterator[str]:
        """Keys down each column, then to the next column."""
        for column in range(self.width):
            for row in self.grid:
                if column < len(row) and (key := row[column]) is not None:
                    yield key


def sections_of(plant: Plant, area: str) -> tuple[Section, ...]:
    """The sections of an area in the order in which the plant file names the points."""
    found: list[Section] = []
    singles: list[str] = []
    tables = {table.key: table for table in plant.tables}
    placed: set[str] = set()
    for point in plant.points_of(area):
        if point.place is None:
            singles.append(point.key)
        elif point.place.table not in placed:
            _close(singles, found)
            placed.add(point.place.table)
            found.append(_table_section(plant, tables[point.place.table]))
    _close(singles, found)
    return tuple(found)


def _close(singles: list[str], found: list[Section]) -> None:
    if singles:
        found.append(Section(None, tuple((key,) for key in singles)))
        singles.clear()


def _table_section(plant: Plant, table: PointTable) -> Section:
    at: dict[tuple[str, str], Point] = {
        (p.place.row, p.place.column): p
        for p in plant.points
        if p.place is not None and p.place.table == table.key
    }
    grid = tuple(
        tuple(_key(at.get((row.key, column.key))) for column in table.columns) for row in table.rows
    )
    return Section(table, grid)


def _key(point: Point | None) -> str | None:
    return point.key if point else None


@dataclass(frozen=True, slots=True)
class Walk:
    """Moves of the keyboard over the sections of an area."""

    sections: tuple[Section, ...]

    def after(self, key: str, opens: Opens) -> str | None:
        """Enter: the next open field down the column, then the next column, then the next section."""
        return self._step(key, opens, by_columns=True, forward=True)

    def before(self, key: str, opens: Opens) -> str | None:
        """Shift+Enter: the way back of `after`."""
        return self._step(key, opens, by_columns=True, forward=False)

    def right(self, key: str, opens: Opens) -> str | None:
        """Tab: the next open field in reading order."""
        return self._step(key, opens, by_columns=False, forward=True)

    def left(self, key: str, opens: Opens) -> str | None:
        """Shift+Tab: the way back of `right`."""
        return self._step(key, opens, by_columns=False, forward=False)

    def first(self, opens: Opens) -> str | None:
        """The first open field of the area."""
        return next((k for s in self.sections for k in s.by_columns() if opens(k)), None)

    def vertical(self, key: str, opens: Opens, *, down: bool) -> str | None:
        """Down and Up: the nearest open field in the same column.

        Beyond the section's edge it is the neighbouring section's nearest row.
        """
        index, row, column = self.find(key)
        keys = [self._nearest(r, column) for s in self.sections for r in s.grid]
        place = sum(len(s.grid) for s in self.sections[:index]) + row
        ahead = keys[place + 1 :] if down else keys[:place][::-1]
        return next((k for k in ahead if k is not None and opens(k)), None)

    def sideways(self, key: str, opens: Opens, *, right: bool) -> str | None:
        """The next open field in the same row of a table; None at its edge."""
        index, row, column = self.find(key)
        cells = self.sections[index].grid[row]
        ahead = cells[column + 1 :] if right else cells[:column][::-1]
        return next((k for k in ahead if k is not None and opens(k)), None)

    def find(self, key: str) -> tuple[int, int, int]:
        """Section, row and column of a key. Raises KeyError."""
        for index, section in enumerate(self.sections):
            for row, cells in enumerate(section.grid):
                if key in cells:
                    return index, row, cells.index(key)
        raise KeyError(key)

    def block(self, key: str, rows: int, columns: int) -> list[list[str | None]]:
        """Keys of a rows x columns block whose upper left corner is `key`; None outside."""
        index, row, column = self.find(key)
        grid = self.sections[index].grid

        def at(r: int, c: int) -> str | None:
            inside = r < len(grid) and c < len(grid[r])
            return grid[r][c] if inside else None

        return [[at(row + r, column + c) for c in range(columns)] for r in range(rows)]

    @staticmethod
    def _nearest(cells: tuple[str | None, ...], column: int) -> str | None:
        return cells[column] if column < len(cells) else cells[-1]

    def _step(self, key: str, opens: Opens, *, by_columns: bool, forward: bool) -> str | None:
        order = [
            k
            for section in self.sections
            for k in (section.by_columns() if by_columns else section.by_rows())
        ]
        place = order.index(key)
        ahead = order[place + 1 :] if forward else order[:place][::-1]
        return next((k for k in ahead if opens(k)), None)
