"""What the grid shows: headings and points, made from the review of a shift."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby

from logbook.plant.localtime import local_label
from logbook.plant.model import Plant, Point
from logbook.shift.review import ReviewGrid
from logbook.shift.review_cells import Cell, CellState, Mark, ReviewRow
from logbook.shift.words import judgement_word, place_name

QUIET_RANK = 5
RANK_HEADS = {
    0: "Action limit passed",
    1: "Missing, no reason given",
    2: "Doubtful",
    3: "Warning limit passed",
    4: "Not taken, late or corrected",
    QUIET_RANK: "Nothing to remark",
}


@dataclass(frozen=True, slots=True)
class GridCell:
    """One cell with what the review itself does not know of it."""

    found: Cell
    is_down: bool = False
    """True where nothing was due because something stood."""
    is_asked: bool = False
    """True where a question to the crew about it is open."""
    spoken: str = ""
    """The whole in words, for the tool tip and for who does not see it."""

    @property
    def wants_a_look(self) -> bool:
        """True where the cell is an exception or was asked about."""
        return self.found.is_exception or self.is_asked


@dataclass(frozen=True, slots=True)
class GridRow:
    """A heading, or a point with its cells, one for each round."""

    name: str
    unit: str = ""
    point: str = ""
    cells: tuple[GridCell, ...] = ()
    detail: str = ""
    """On a heading: how many points stand under it."""

    @property
    def is_head(self) -> bool:
        """True for a heading."""
        return not self.point


@dataclass(frozen=True, slots=True)
class GridColumn:
    """A round: its local time, how far it was taken, and whether nobody took it."""

    label: str
    detail: str = ""
    is_untaken: bool = False


def grid_columns(grid: ReviewGrid) -> tuple[GridColumn, ...]:
    """The rounds of a shift with how far each was taken."""
    statuses = {status.at: status for status in grid.exceptions.rounds}
    found = []
    for rnd in grid.rounds:
        label = local_label(rnd.at, grid.plant.time_zone)
        status = statuses.get(rnd.at)
        if status is None or not status.due:
            found.append(GridColumn(label, "nothing due"))
        else:
            told = f"{status.done} of {status.due}"
            found.append(GridColumn(label, told, is_untaken=not status.done))
    return tuple(found)


def grid_rows(
    grid: ReviewGrid, rows: Sequence[ReviewRow], asked: Collection[int], *, worst_first: bool
) -> tuple[GridRow, ...]:
    """Rows under headings: by how bad they are, or by area in process order."""
    heads = {area.key: area.name for area in grid.plant.areas}

    def head_of(row: ReviewRow) -> str:
        return RANK_HEADS[row.rank] if worst_first else heads.get(row.point.area, row.point.area)

    found: list[GridRow] = []
    for head, group in groupby(rows, key=head_of):
        points = [_row(grid.plant, row, asked, with_area=worst_first) for row in group]
        count = "1 point" if len(points) == 1 else f"{len(points)} points"
        found += [GridRow(head, detail=count), *points]
    return tuple(found)


def _row(plant: Plant, row: ReviewRow, asked: Collection[int], *, with_area: bool) -> GridRow:
    point = row.point
    return GridRow(
        place_name(plant, point),
        point.unit,
        point.key,
        tuple(_cell(point, cell, asked) for cell in row.cells),
        plant.area(point.area).name if with_area else "",
    )


def _cell(point: Point, cell: Cell, asked: Collection[int]) -> GridCell:
    is_down = (
        cell.state is CellState.NOT_DUE
        and bool(cell.why)
        and point.kind.is_typed
        and cell.why[0] != str(point.frequency)
    )
    is_asked = cell.reading is not None and cell.reading.id in asked
    return GridCell(cell, is_down, is_asked, spoken_of(point, cell, is_asked=is_asked))


def spoken_of(point: Point, cell: Cell, *, is_asked: bool = False) -> str:
    """A cell in words: value, judgement, marks and why."""
    value = f"{cell.text} {point.unit}".strip() if cell.text else cell.state.value
    parts: Iterable[str] = (
        value,
        judgement_word(cell.judgement) if cell.text else "",
        *(mark.value for mark in Mark if mark in cell.marks),
        *cell.why,
        "question open" if is_asked else "",
    )
    return ", ".join(part for part in parts if part)
