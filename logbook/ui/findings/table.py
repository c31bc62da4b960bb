"""A table of findings: words only, chosen by keyboard, opened with Enter."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHeaderView, QWidget

from logbook.shift.findings import FindingPage, FindingRow
from logbook.ui.quiet_table import LEFT, Index, QuietTable, child_count

WIDTHS = (390, 260, 190, 150, 150)
"""Of the columns, before the last takes what is left."""


class FindingModel(QAbstractTableModel):
    """The rows of one page."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """An empty table."""
        super().__init__(parent)
        self._page: FindingPage | None = None

    def show_page(self, page: FindingPage) -> None:
        """Show another page."""
        self.beginResetModel()
        self._page = page
        self.endResetModel()

    def row(self, number: int) -> FindingRow | None:
        """A row, or None where there is none."""
        rows = self._page.rows if self._page is not None else ()
        return rows[number] if 0 <= number < len(rows) else None

    def rowCount(self, parent: Index | None = None) -> int:
        """One for each finding."""
        return child_count(parent, len(self._page.rows) if self._page is not None else 0)

    def columnCount(self, parent: Index | None = None) -> int:
        """Those of the page."""
        return child_count(parent, len(self._page.columns) if self._page is not None else 0)

    def headerData(
        self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles of the columns."""
        if self._page is None or way is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return self._page.columns[section]
        return LEFT if role == Qt.ItemDataRole.TextAlignmentRole else None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Texts; the whole of a finding for a tip."""
        row = self.row(index.row())
        if row is None:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return row.cells[index.column()]
        if role in {Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole}:
            return row.words
        return LEFT if role == Qt.ItemDataRole.TextAlignmentRole else None


class FindingTable(QuietTable):
    """Up and Down choose, Enter or a double click opens."""

    chosen = Signal(object)
    """The row now chosen (FindingRow), or None."""
    opened = Signal(object)
    """The row that is to be looked at."""

    def __init__(self) -> None:
        """An empty table."""
        self._model = FindingModel()
        super().__init__(self._model, "Findings", 26)
        header = self.horizontalHeader()
        header.setStretchLastSection(True)
        header.setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.doubleClicked.connect(self._on_open)

    def show_page(self, page: FindingPage) -> None:
        """Show another page, its first row chosen."""
        self.setAccessibleName(page.title)
        self._model.show_page(page)
        for column in range(len(page.columns)):
            self.setColumnWidth(column, WIDTHS[min(column, len(WIDTHS) - 1)])
        if page.rows:
            self.selectRow(0)
        else:
            self.chosen.emit(None)

    @property
    def row_now(self) -> FindingRow | None:
        """The row now chosen."""
        return self._model.row(self.currentIndex().row())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter opens the row."""
        if event.key() in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            self._on_open(self.currentIndex())
        else:
            super().keyPressEvent(event)

    def tell_row(self, number: int) -> None:
        """Tell the row now chosen."""
        self.chosen.emit(self._model.row(number))

    def _on_open(self, index: Index) -> None:
        row = self._model.row(index.row())
        if row is not None:
            self.opened.emit(row)
