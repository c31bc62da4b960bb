"""Where everything stands on the form: boxes in pixels, worked out without painting."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import Enum, auto

from PySide6.QtCore import QRect

from logbook.ui.round.sections import Section

ROW = 32
WIDE_ROW = 34
TALL_ROW = 62
HEAD = 30
TITLE = 36
QUESTION = 28
RESPONSE = 96
GAP = 12
MARGIN = 12
NARROW = 236
WORDS = 150
SHORTEST_SPARK = 72


class Part(Enum):
    """What a block shows."""

    COLUMN_HEAD = auto()
    TABLE_HEAD = auto()
    ROW = auto()
    TABLE_ROW = auto()
    QUESTION = auto()
    RESPONSE = auto()


@dataclass(frozen=True, slots=True)
class Cell:
    """Boxes of one field. `name` is an empty rectangle in a table."""

    key: str
    box: QRect
    entry: QRect
    spark: QRect
    last: QRect
    change: QRect
    mark: QRect
    words: QRect
    name: QRect = field(default_factory=QRect)
    unit: QRect = field(default_factory=QRect)
    is_wide: bool = False
    """Takes words: the field has the room of unit, change and sparkline, which words lack."""


@dataclass(frozen=True, slots=True)
class Block:
    """A horizontal strip of the form."""

    part: Part
    box: QRect
    section: Section
    row: int = 0
    key: str = ""
    cells: tuple[Cell, ...] = ()


@dataclass(frozen=True, slots=True)
class Placed:
    """The whole form: strips from top to bottom and each field's boxes."""

    blocks: tuple[Block, ...]
    cells: dict[str, Cell]
    height: int
    extras: dict[tuple[Part, str], QRect] = field(default_factory=dict)


Wants = Callable[[str], bool]
Room = Callable[[str], int]
"""Pixels that the words of a field want, by its key; 0 for a field that takes a number."""


def no_words(_key: str) -> int:
    """Every field takes a number."""
    return 0


def place(
    sections: tuple[Section, ...],
    width: int,
    asks: Wants,
    responds: Wants,
    words: Room = no_words,
) -> Placed:
    """Lay the sections out for `width` pixels.

    `asks` and `responds` name the fields that have a question or a response line under them;
    `words` tells the room that the words of a single point want.
    """
    blocks: list[Block] = []
    top = GAP
    for section in sections:
        if section.table is None:
            top = _place_rows(section, width, top, blocks, asks, responds, words)
        else:
            top = _place_table(section, width, top, blocks, asks, responds)
        top += GAP
    cells = {cell.key: cell for block in blocks for cell in block.cells}
    extras = {(b.part, b.key): b.box for b in blocks if b.key}
    return Placed(tuple(blocks), cells, top, extras)


def _place_rows(
    section: Section,
    width: int,
    top: int,
    blocks: list[Block],
    asks: Wants,
    responds: Wants,
    words: Room,
) -> int:
    blocks.append(Block(Part.COLUMN_HEAD, QRect(0, top, width, HEAD), section))
    top += HEAD
    for row, keys in enumerate(section.grid):
        key = keys[0]
        assert key is not None
        cell = row_cell(key, QRect(0, top, width, ROW))
        if words(key):
            cell = _widened(cell, words(key))
        blocks.append(Block(Part.ROW, cell.box, section, row, cells=(cell,)))
        top = _place_extras([key], section, width, top + ROW, blocks, asks, responds)
    return top


def row_cell(key: str, box: QRect) -> Cell:
    """Boxes of a single point's row."""
    width, top, height = box.width(), box.top(), box.height()
    name_width = max(176, int(width * 0.255))
    parts = (name_width, 92, 104, 66, 66)
    # In a narrow window the judgement's words keep their room before the sparkline does.
    room = width - MARGIN - sum(parts) - 32 - MARGIN
    spark_width = max(SHORTEST_SPARK, min(int(width * 0.2), room - WORDS))
    edges = [MARGIN]
    for part in (*parts, spark_width):
        edges.append(edges[-1] + part)
    words = QRect(edges[6] + 10, top, width - edges[6] - 10 - MARGIN, height)
    return Cell(
        key=key,
        box=box,
        name=QRect(edges[0], top, name_width - 8, height),
        last=QRect(edges[1], top, 84, height),
        entry=QRect(edges[2], top + 3, 98, height - 6),
        unit=QRect(edges[3] + 2, top, 62, height),
        change=QRect(edges[4], top, 62, height),
        spark=QRect(edges[5] + 4, top + 3, spark_width - 8, height - 6),
        mark=QRect(words.left(), top, 16, height),
        words=words.adjusted(22, 0, 0, 0),
    )


def _widened(cell: Cell, wanted: int) -> Cell:
    entry = QRect(cell.entry)
    entry.setWidth(max(entry.width(), min(wanted, cell.spark.right() - entry.left())))
    return replace(cell, entry=entry, unit=QRect(), change=QRect(), spark=QRect(), is_wide=True)


def _place_table(
    section: Section, width: int, top: int, blocks: list[Block], asks: Wants, responds: Wants
) -> int:
    blocks.append(Block(Part.TABLE_HEAD, QRect(0, top, width, TITLE + HEAD), section))
    top += TITLE + HEAD
    head = row_head(section)
    each = (width - head - MARGIN) // section.width
    height = TALL_ROW if each < NARROW else WIDE_ROW
    for row, keys in enumerate(section.grid):
        cells = tuple(
            table_cell(key, QRect(head + each * column, top, each, height))
            for column, key in enumerate(keys)
            if key is not None
        )
        blocks.append(
            Block(Part.TABLE_ROW, QRect(0, top, width, height), section, row, cells=cells)
        )
        taken = [key for key in keys if key is not None]
        top = _place_extras(taken, section, width, top + height, blocks, asks, responds)
    return top


def row_head(section: Section) -> int:
    """Width of the column with the machines' names: by the longest, within reason."""
    assert section.table is not None
    longest = max(len(row.name) for row in section.table.rows)
    return min(220, max(96, MARGIN + 8 * longest))


def table_cell(key: str, box: QRect) -> Cell:
    """Boxes of one cell of a table: one line where there is room, else the trend below."""
    left, top = box.left() + 4, box.top() + 4
    if box.width() >= NARROW:
        line = box.height() - 8
        spark_left = left + 198
        return Cell(
            key=key,
            box=box,
            last=QRect(left, top, 50, line),
            entry=QRect(left + 54, top, 72, line),
            mark=QRect(left + 129, top, 16, line),
            change=QRect(left + 146, top, 48, line),
            spark=QRect(spark_left, top, box.right() - spark_left - 8, line),
            words=QRect(),
            unit=QRect(box.right() - 78, top - 3, 70, 14),
        )
    half = 26
    field_width = min(72, box.width() - 30)
    return Cell(
        key=key,
        box=box,
        entry=QRect(left, top, field_width, half),
        mark=QRect(left + field_width + 3, top, 16, half),
        last=QRect(),
        change=QRect(left + field_width + 20, top, max(0, box.width() - field_width - 32), half),
        spark=QRect(left, top + half + 3, box.width() - 12, box.height() - half - 11),
        words=QRect(),
        unit=QRect(box.right() - 78, top, 70, half),
    )


def _place_extras(
    keys: list[str],
    section: Section,
    width: int,
    top: int,
    blocks: list[Block],
    asks: Wants,
    responds: Wants,
) -> int:
    for key in keys:
        for part, height, wanted in (
            (Part.QUESTION, QUESTION, asks),
            (Part.RESPONSE, RESPONSE, responds),
        ):
            if wanted(key):
                blocks.append(Block(part, QRect(0, top, width, height), section, key=key))
                top += height
    return top
