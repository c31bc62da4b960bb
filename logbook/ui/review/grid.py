"""The grid of points by rounds, for the keyboard."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QTableView, QWidget

from logbook.ui.review.grid_model import GridModel
from logbook.ui.review.grid_paint import (
    COLUMN_WIDTH,
    HEAD_HEIGHT,
    NAME_WIDTH,
    ROW_HEIGHT,
    WIDEST_COLUMN,
    WIDEST_NAME,
    CellDelegate,
    NameHeader,
    RoundHeader,
)
from logbook.ui.review.rows import GridColumn, GridRow
from logbook.ui.theme import Theme

SCROLL_BAR = 14
"""Room kept for the scroll bar."""


class ReviewGrid(QTableView):
    """Arrows move, F8 goes to the next exception; tells which cell is current."""

    moved = Signal()
    """Another cell is current."""
    asked = Signal()
    """Enter was pressed on a cell."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A grid without rows."""
        super().__init__(parent)
        self.grid = GridModel(self)
        self._cells = CellDelegate(theme, self)
        self._names, self._rounds = NameHeader(theme, self), RoundHeader(theme, self)
        self.setModel(self.grid)
        self.setItemDelegate(self._cells)
        self.setVerticalHeader(self._names)
        self.setHorizontalHeader(self._rounds)
        self.setShowGrid(False)
        self.setFrameShape(QTableView.Shape.NoFrame)
        self.setCornerButtonEnabled(False)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setTabKeyNavigation(False)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setAccessibleName("Points by rounds")

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        for part in (self._cells, self._names, self._rounds):
            part.theme = theme
        self._names.viewport().update()
        self._rounds.viewport().update()
        self.viewport().update()

    def show_rows(self, columns: Sequence[GridColumn], rows: Sequence[GridRow]) -> None:
        """Show these rows; the cell that was current stays so where it is still shown."""
        point, column = self.current_point, self.currentIndex().column()
        self.grid.show_rows(columns, rows)
        self.clearSpans()
        for number, row in enumerate(rows):
            height = HEAD_HEIGHT if row.is_head else ROW_HEIGHT
            if self._names.sectionSize(number) != height:
                self._names.resizeSection(number, height)
            if row.is_head and len(columns) > 1:
                self.setSpan(number, 0, 1, len(columns))
        self._share_width()
        place = self.grid.place_of(point) if point else -1
        if place >= 0:
            self.setCurrentIndex(self.grid.index(place, max(0, column)))
        else:
            self._go_first()

    @property
    def current_point(self) -> str:
        """Key of the point under the cursor; empty where there is none."""
        row = self.grid.row(self.currentIndex().row())
        return row.point if row is not None else ""

    def next_exception(self) -> bool:
        """Go to the next cell that wants a look, after the last to the first again."""
        found = self._exceptions()
        if not found:
            return False
        here = (self.currentIndex().row(), self.currentIndex().column())
        row, column = next((place for place in found if place > here), found[0])
        self.setCurrentIndex(self.grid.index(row, column))
        return True

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the reading; everything else as in any table."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.asked.emit()
            return
        super().keyPressEvent(event)

    def currentChanged(
        self,
        current: QModelIndex | QPersistentModelIndex,
        previous: QModelIndex | QPersistentModelIndex,
    ) -> None:
        """Tell that the cursor moved; names at the left show which row it is in."""
        super().currentChanged(current, previous)
        self._names.viewport().update()
        self.moved.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Wide windows give names and values more room."""
        super().resizeEvent(event)
        self._share_width()

    def _share_width(self) -> None:
        count = len(self.grid.columns)
        if not count:
            return
        room = self.width() - SCROLL_BAR
        column = min(max((room - NAME_WIDTH) // count, COLUMN_WIDTH), WIDEST_COLUMN)
        name = min(max(room - column * count, NAME_WIDTH), WIDEST_NAME)
        if (column, name) != (self._rounds.defaultSectionSize(), self._names.width()):
            self._rounds.setDefaultSectionSize(column)
            self._names.setFixedWidth(name)
            self.updateGeometries()

    def _exceptions(self) -> list[tuple[int, int]]:
        return [
            (number, column)
            for number, row in enumerate(self.grid.rows)
            for column, cell in enumerate(row.cells)
            if cell.wants_a_look
        ]

    def _go_first(self) -> None:
        exceptions = self._exceptions()
        points = [(k, 0) for k, row in enumerate(self.grid.rows) if not row.is_head]
        for row, column in (exceptions or points)[:1]:
            self.setCurrentIndex(self.grid.index(row, column))
            return
        self.moved.emit()
