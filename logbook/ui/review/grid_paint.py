"""Painting of the grid: cells with value and marks, names at the left, rounds on top."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPen
from PySide6.QtWidgets import (
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from logbook.shift.review_cells import Cell, CellState, Mark
from logbook.ui.marks import draw_clock, draw_judgement, draw_missing
from logbook.ui.review import state_marks
from logbook.ui.review.grid_model import CELL_ROLE, ROW_ROLE
from logbook.ui.review.rows import GridCell, GridColumn, GridRow
from logbook.ui.theme import Theme, font

ROW_HEIGHT = 26
HEAD_HEIGHT = 30
COLUMN_WIDTH = 92
TOP_HEIGHT = 38
WIDEST_COLUMN = 132
NAME_WIDTH = 296
WIDEST_NAME = 460
LEAST_TABLE_NAME = 70
"""Less room than this for the name of a table says nothing; it is left out."""
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter

WASHES = {CellState.WARNING: "warning_wash", CellState.ACTION: "action_wash"}
VALUE_COLOURS = {
    CellState.WARNING: "warning_text",
    CellState.ACTION: "action_text",
    CellState.OK: "text",
}


def draw_state(painter: QPainter, box: QRectF, cell: GridCell, theme: Theme) -> None:
    """The mark of a cell's state; none for a reading within limits."""
    found = cell.found
    if found.state in (CellState.WARNING, CellState.ACTION):
        draw_judgement(painter, box, found.judgement, theme)
        return
    drawers = {
        CellState.EXPLAINED: draw_missing,
        CellState.MISSING: state_marks.draw_gap,
        CellState.NOT_DUE: state_marks.draw_down if cell.is_down else state_marks.draw_not_due,
        CellState.AWAITED: state_marks.draw_waiting,
    }
    drawer = drawers.get(found.state)
    if drawer is not None:
        drawer(painter, box, theme)


def draw_mark(painter: QPainter, box: QRectF, mark: Mark, theme: Theme) -> None:
    """The mark of what is odd about a reading."""
    if mark is Mark.LATE:
        draw_clock(painter, box, theme, colour="text")
    elif mark is Mark.CORRECTED:
        state_marks.draw_corrected(painter, box, theme)
    else:
        state_marks.draw_doubtful(painter, box, theme)


class CellDelegate(QStyledItemDelegate):
    """Paints a cell: marks at the left, the value at the right."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A delegate in the palette of `theme`."""
        super().__init__(parent)
        self.theme = theme

    def sizeHint(
        self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> QSize:
        """All cells are alike."""
        return QSize(COLUMN_WIDTH, ROW_HEIGHT)

    def paint(
        self,
        painter: QPainter,
        option: QStyleOptionViewItem,
        index: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Paint one cell, or the right part of a heading."""
        box: QRect = option.rect
        row, cell = index.data(ROW_ROLE), index.data(CELL_ROLE)
        painter.save()
        if isinstance(cell, GridCell):
            self._cell(painter, box, cell)
            state: QStyle.StateFlag = option.state
            if state & QStyle.StateFlag.State_Selected:
                self._frame(painter, box)
        elif isinstance(row, GridRow):
            draw_head_part(painter, box, row.detail, self.theme)
        painter.restore()

    def _cell(self, painter: QPainter, box: QRect, cell: GridCell) -> None:
        found = cell.found
        painter.fillRect(box, self.theme.colour(WASHES.get(found.state, "surface")))
        painter.setPen(QPen(self.theme.colour("hairline"), 1))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        painter.drawLine(box.topRight(), box.bottomRight())
        is_bare = not (found.text or found.marks or cell.is_asked)
        left = box.center().x() - 7 if is_bare else box.left() + 6
        if found.state is not CellState.OK:
            draw_state(painter, QRectF(left, box.top(), 14, box.height()), cell, self.theme)
            left += 17
        for mark in Mark:
            if mark in found.marks:
                draw_mark(painter, QRectF(left, box.top(), 14, box.height()), mark, self.theme)
                left += 16
        if cell.is_asked:
            place = QRectF(left, box.top(), 14, box.height())
            state_marks.draw_asked(painter, place, self.theme)
            left += 16
        if found.text:
            self._value(painter, box.adjusted(left - box.left(), 0, -8, 0), found)

    def _value(self, painter: QPainter, box: QRect, found: Cell) -> None:
        face = font("body", medium=found.state is not CellState.OK)
        painter.setFont(face)
        painter.setPen(self.theme.colour(VALUE_COLOURS.get(found.state, "muted")))
        metrics = QFontMetrics(face)
        text = metrics.elidedText(found.text, Qt.TextElideMode.ElideRight, box.width())
        painter.drawText(box, RIGHT, text)

    def _frame(self, painter: QPainter, box: QRect) -> None:
        painter.setPen(QPen(self.theme.colour("focus"), 2))
        painter.drawRect(box.adjusted(1, 1, -2, -2))


def draw_head_part(painter: QPainter, box: QRect, text: str, theme: Theme) -> None:
    """The part of a heading that lies over the rounds."""
    painter.fillRect(box, theme.colour("window"))
    painter.setFont(font("small"))
    painter.setPen(theme.colour("muted"))
    painter.drawText(box.adjusted(8, 0, -8, 0), LEFT, text)


def shortened(name: str, metrics: QFontMetrics, room: int) -> str:
    """A name cut to fit, the table's name first: machine and position tell points apart."""
    if metrics.horizontalAdvance(name) <= room:
        return name
    right = Qt.TextElideMode.ElideRight
    table, colon, place = name.partition(": ")
    if not colon:
        return metrics.elidedText(name, right, room)
    if metrics.horizontalAdvance(place) > room:
        return metrics.elidedText(place, right, room)
    left = room - metrics.horizontalAdvance(colon + place)
    if left < LEAST_TABLE_NAME:
        return place
    return metrics.elidedText(table, right, left) + colon + place


class NameHeader(QHeaderView):
    """Names of the points at the left; they stay in sight while the rounds scroll."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A header of fixed width."""
        super().__init__(Qt.Orientation.Vertical, parent)
        self.theme = theme
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setDefaultSectionSize(ROW_HEIGHT)
        self.setMinimumSectionSize(ROW_HEIGHT)
        self.setFixedWidth(NAME_WIDTH)

    def sizeHint(self) -> QSize:
        """As wide as it was made."""
        return QSize(self.width(), ROW_HEIGHT)

    def paintSection(
        self,
        painter: QPainter,
        rect: QRect,
        logicalIndex: int,  # noqa: N803 - Qt names it
    ) -> None:
        """Paint a name with its unit, or a heading."""
        model = self.model()
        row = model.headerData(logicalIndex, Qt.Orientation.Vertical, ROW_ROLE)
        if not isinstance(row, GridRow):
            return
        painter.save()
        if row.is_head:
            self._heading(painter, rect, row)
        else:
            self._name(painter, rect, row, self._is_current(logicalIndex))
        painter.restore()

    def _is_current(self, section: int) -> bool:
        selection = self.selectionModel()
        return selection.currentIndex().row() == section

    def _heading(self, painter: QPainter, box: QRect, row: GridRow) -> None:
        painter.fillRect(box, self.theme.colour("window"))
        painter.setFont(font("body", strong=True))
        painter.setPen(self.theme.colour("text"))
        painter.drawText(box.adjusted(12, 0, -4, 0), LEFT, row.name)

    def _name(self, painter: QPainter, box: QRect, row: GridRow, is_current: bool) -> None:
        painter.fillRect(box, self.theme.colour("selected" if is_current else "surface"))
        painter.setPen(QPen(self.theme.colour("hairline"), 1))
        painter.drawLine(box.bottomLeft(), box.bottomRight())
        painter.drawLine(box.topRight(), box.bottomRight())
        small = QFontMetrics(font("small"))
        unit_width = min(small.horizontalAdvance(row.unit), 90)
        unit = QRect(box.right() - unit_width - 10, box.top(), unit_width + 2, box.height())
        painter.setFont(font("small"))
        painter.setPen(self.theme.colour("muted"))
        painter.drawText(unit, RIGHT, row.unit)
        face = font("body", medium=is_current)
        room = QRect(box.left() + 12, box.top(), unit.left() - box.left() - 20, box.height())
        painter.setFont(face)
        painter.setPen(self.theme.colour("text"))
        painter.drawText(room, LEFT, shortened(row.name, QFontMetrics(face), room.width()))


class RoundHeader(QHeaderView):
    """Times of the rounds on top, with how far each was taken."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A header of fixed height."""
        super().__init__(Qt.Orientation.Horizontal, parent)
        self.theme = theme
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setDefaultSectionSize(COLUMN_WIDTH)
        self.setFixedHeight(TOP_HEIGHT)

    def paintSection(
        self,
        painter: QPainter,
        rect: QRect,
        logicalIndex: int,  # noqa: N803 - Qt names it
    ) -> None:
        """Paint a time and, smaller, how many of the readings due were taken."""
        model = self.model()
        column = model.headerData(logicalIndex, Qt.Orientation.Horizontal, ROW_ROLE)
        if not isinstance(column, GridColumn):
            return
        painter.save()
        painter.fillRect(rect, self.theme.colour("surface"))
        painter.setPen(QPen(self.theme.colour("field_edge"), 1))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        painter.setPen(QPen(self.theme.colour("hairline"), 1))
        painter.drawLine(rect.topRight(), rect.bottomRight())
        painter.setFont(font("body", strong=True))
        painter.setPen(self.theme.colour("text"))
        painter.drawText(rect.adjusted(4, 3, -8, -rect.height() // 2), RIGHT, column.label)
        painter.setFont(font("small", medium=column.is_untaken))
        painter.setPen(self.theme.colour("action_text" if column.is_untaken else "muted"))
        painter.drawText(rect.adjusted(4, rect.height() // 2, -8, -2), RIGHT, column.detail)
        painter.restore()
