"""Meters beside what all of them together say; the suspect one marked by shape and word."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QAbstractTableModel, Qt, Signal
from PySide6.QtWidgets import QHeaderView, QWidget

from logbook.shift.balance_view import MeterLine
from logbook.ui.quiet_table import LEFT, RIGHT, Index, QuietTable, child_count
from logbook.ui.theme import Theme, font

COLUMNS = (
    "Stream or meter",
    "Measured",
    "about 95 %",
    "Reconciled",
    "about 95 %",
    "Adjustment",
    "Score",
    "Unit",
    "",
)
MARKS = {
    "suspect": "◆ suspect",
    "unknown": "○ cannot be told",
    "inferred": "△ worked out",
    "": "",
}
LAST = len(COLUMNS) - 1


class MeterModel(QAbstractTableModel):
    """One row for each stream of the network."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """An empty table."""
        super().__init__(parent)
        self.theme = theme
        self._lines: tuple[MeterLine, ...] = ()

    def show_lines(self, lines: Sequence[MeterLine]) -> None:
        """Show these."""
        self.beginResetModel()
        self._lines = tuple(lines)
        self.endResetModel()

    def line(self, number: int) -> MeterLine | None:
        """A line, or None where there is none."""
        return self._lines[number] if 0 <= number < len(self._lines) else None

    def rowCount(self, parent: Index | None = None) -> int:
        """One for each stream."""
        return child_count(parent, len(self._lines))

    def columnCount(self, parent: Index | None = None) -> int:
        """Measured, reconciled, and what lies between them."""
        return child_count(parent, len(COLUMNS))

    def headerData(
        self, section: int, way: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> object:
        """Titles of the columns."""
        if way is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            return COLUMNS[section]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return RIGHT if 0 < section < LAST - 1 else LEFT
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Texts, and how they stand."""
        line, column = self._lines[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return _texts(line)[column]
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return RIGHT if 0 < column < LAST - 1 else LEFT
        is_suspect = line.mark == "suspect"
        if role == Qt.ItemDataRole.FontRole:
            return font("body", strong=is_suspect, medium=column == 3)
        if role == Qt.ItemDataRole.ForegroundRole:
            if is_suspect:
                return self.theme.colour("action_text")
            return self.theme.colour("muted" if column in {2, 4, LAST - 1, LAST} else "text")
        if role == Qt.ItemDataRole.BackgroundRole and is_suspect:
            return self.theme.colour("action_wash")
        if role in {Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole}:
            return line.words
        return None


def _texts(line: MeterLine) -> tuple[str, ...]:
    return (
        line.name,
        line.measured,
        line.measured_spread,
        line.reconciled,
        line.reconciled_spread,
        line.adjustment,
        line.score,
        line.unit,
        MARKS[line.mark],
    )


class MeterTable(QuietTable):
    """The reconciled network as a table."""

    chosen = Signal(object)
    """The line now chosen (MeterLine), or None."""

    def __init__(self, theme: Theme) -> None:
        """An empty table."""
        self._model = MeterModel(theme)
        super().__init__(self._model, "Meters, measured and reconciled", 26)
        self.horizontalHeader().setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in range(1, LAST):
            self.setColumnWidth(column, 64 if column == LAST - 1 else 96)
        self.setColumnWidth(LAST, 140)

    def show_lines(self, lines: Sequence[MeterLine]) -> None:
        """Show a period's meters; a suspect one is chosen first."""
        self._model.show_lines(lines)
        suspect = next((n for n, line in enumerate(lines) if line.mark == "suspect"), 0)
        if lines:
            self.selectRow(suspect)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._model.theme = theme
        self.viewport().update()

    def choose(self, key: str) -> None:
        """Choose the line of a stream, where it has one."""
        for number in range(self._model.rowCount()):
            line = self._model.line(number)
            if line is not None and line.key == key:
                self.selectRow(number)

    def tell_row(self, number: int) -> None:
        """Tell the line now chosen."""
        self.chosen.emit(self._model.line(number))
