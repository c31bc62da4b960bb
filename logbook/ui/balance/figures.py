"""Accounts as one table: headings, figures with interval and unit, totals; by keyboard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QAbstractTableModel, Qt, Signal
from PySide6.QtWidgets import QHeaderView, QWidget

from logbook.shift.balance_view import Account
from logbook.shift.figure_words import Figure
from logbook.ui.quiet_table import LEFT, RIGHT, Index, QuietTable, child_count
from logbook.ui.theme import Theme, font

COLUMNS = ("", "Value", "about 95 %", "Unit")


@dataclass(frozen=True, slots=True)
class AccountRow:
    """One row of the table: the heading of an account, or one of its figures."""

    account: Account
    figure: Figure | None = None


def rows_of(accounts: Sequence[Account]) -> tuple[AccountRow, ...]:
    """Each account's heading and then its figures."""
    found: list[AccountRow] = []
    for account in accounts:
        found.append(AccountRow(account))
        found += [AccountRow(account, figure) for figure in account.figures]
    return tuple(found)


class AccountModel(QAbstractTableModel):
    """Headings and figures, one after the other."""

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """An empty table."""
        super().__init__(parent)
        self.theme = theme
        self._rows: tuple[AccountRow, ...] = ()

    def show_rows(self, rows: tuple[AccountRow, ...]) -> None:
        """Show these."""
        self.beginResetModel()
        self._rows = rows
        self.endResetModel()

    def row(self, number: int) -> AccountRow | None:
        """A row, or None where there is none."""
        return self._rows[number] if 0 <= number < len(self._rows) else None

    def rowCount(self, parent: Index | None = None) -> int:
        """Headings and figures."""
        return child_count(parent, len(self._rows))

    def columnCount(self, parent: Index | None = None) -> int:
        """Name, value, interval, unit."""
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
            return RIGHT if section in {1, 2} else LEFT
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """Texts, and how they stand."""
        row, column = self._rows[index.row()], index.column()
        if role == Qt.ItemDataRole.DisplayRole:
            return _text(row, column)
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return RIGHT if column in {1, 2} else LEFT
        if role == Qt.ItemDataRole.FontRole:
            is_heading = row.figure is None
            return font("body", strong=is_heading, medium=bool(row.figure and row.figure.is_total))
        if role == Qt.ItemDataRole.ForegroundRole:
            is_quiet = column >= 2 or (row.figure is not None and row.figure.mark == "missing")
            return self.theme.colour("muted" if is_quiet else "text")
        if role == Qt.ItemDataRole.BackgroundRole and row.figure is None:
            return self.theme.colour("window")
        if role in {Qt.ItemDataRole.ToolTipRole, Qt.ItemDataRole.AccessibleDescriptionRole}:
            return row.figure.words if row.figure is not None else row.account.told
        return None


def _text(row: AccountRow, column: int) -> str:
    if row.figure is None:
        return row.account.title if column == 0 else ""
    figure = row.figure
    return (f"   {figure.name}", figure.value, figure.spread, figure.unit)[column]


class AccountTable(QuietTable):
    """All accounts of a period; the chosen row's making is told by `chosen`."""

    chosen = Signal(object)
    """The row now chosen (AccountRow), or None."""

    def __init__(self, theme: Theme) -> None:
        """An empty table."""
        self._model = AccountModel(theme)
        super().__init__(self._model, "Accounts", 24)
        header = self.horizontalHeader()
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        for column in (1, 2, 3):
            header.setSectionResizeMode(column, QHeaderView.ResizeMode.Interactive)
            self.setColumnWidth(column, 110)

    def show_accounts(self, accounts: Sequence[Account]) -> None:
        """Show a period's accounts; the place in the table is kept."""
        at = self.currentIndex().row()
        self._model.show_rows(rows_of(accounts))
        self.clearSpans()
        for number in range(self._model.rowCount()):
            row = self._model.row(number)
            if row is not None and row.figure is None:
                self.setSpan(number, 0, 1, len(COLUMNS))
        if self._model.rowCount():
            self.selectRow(min(max(at, 0), self._model.rowCount() - 1))

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self._model.theme = theme
        self.viewport().update()

    @property
    def row_now(self) -> AccountRow | None:
        """The row now chosen."""
        return self._model.row(self.currentIndex().row())

    def tell_row(self, number: int) -> None:
        """Tell the row now chosen."""
        self.chosen.emit(self._model.row(number))
