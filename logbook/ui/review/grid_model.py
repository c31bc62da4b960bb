"""The model of the grid: headings and points down, rounds across."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from logbook.ui.review.rows import GridCell, GridColumn, GridRow

CELL_ROLE = Qt.ItemDataRole.UserRole + 1
ROW_ROLE = Qt.ItemDataRole.UserRole + 2
Index = QModelIndex | QPersistentModelIndex


class GridModel(QAbstractTableModel):
    """Rows are replaced as a whole, never edited."""

    def __init__(self, parent: QObject | None = None) -> None:
        """A grid without rows."""
        super().__init__(parent)
        self._columns: tuple[GridColumn, ...] = ()
        self._rows: tuple[GridRow, ...] = ()

    def show_rows(self, columns: Sequence[GridColumn], rows: Sequence[GridRow]) -> None:
        """Show these rows."""
        self.beginResetModel()
        self._columns, self._rows = tuple(columns), tuple(rows)
        self.endResetModel()

    @property
    def rows(self) -> tuple[GridRow, ...]:
        """All rows, headings among them."""
        return self._rows

    @property
    def columns(self) -> tuple[GridColumn, ...]:
        """The rounds."""
        return self._columns

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """Number of rows; none below a cell."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own signature
        """Number of rounds; none below a cell."""
        return 0 if parent.isValid() else len(self._columns)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Cells can be chosen, headings not."""
        row = self.row(index.row())
        if not index.isValid() or row is None or row.is_head:
            return Qt.ItemFlag.NoItemFlags
        return Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEnabled

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Text, words, the `GridCell` or the `GridRow`."""
        row = self.row(index.row())
        if not index.isValid() or row is None:
            return None
        if role == ROW_ROLE:
            return row
        cell = self.cell(index.row(), index.column())
        if role == CELL_ROLE:
            return cell
        if cell is None:
            return row.name if role == Qt.ItemDataRole.DisplayRole else None
        if role == Qt.ItemDataRole.DisplayRole:
            return cell.found.text
        if role in (Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleTextRole):
            when = self._columns[index.column()].label
            return f"{row.name}, {when}: {cell.spoken}"
        return None

    def headerData(
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Times across, names down; the `GridRow` of a row."""
        if orientation == Qt.Orientation.Horizontal:
            return self._column_data(section, role)
        row = self.row(section)
        if row is None:
            return None
        if role == ROW_ROLE:
            return row
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            return f"{row.name} ({row.unit})" if row.unit else row.name
        return None

    def _column_data(self, section: int, role: int) -> object:
        if not 0 <= section < len(self._columns):
            return None
        column = self._columns[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return column.label
        if role == Qt.ItemDataRole.ToolTipRole:
            return f"Round of {column.label}: {column.detail}"
        if role == ROW_ROLE:
            return column
        return None

    def row(self, number: int) -> GridRow | None:
        """A row; None outside."""
        return self._rows[number] if 0 <= number < len(self._rows) else None

    def cell(self, row: int, column: int) -> GridCell | None:
        """A cell; None on a heading and outside."""
        found = self.row(row)
        if found is None or not 0 <= column < len(found.cells):
            return None
        return found.cells[column]

    def place_of(self, point: str) -> int:
        """First row of a point; -1 where it is not shown."""
        return next((k for k, row in enumerate(self._rows) if row.point == point), -1)
