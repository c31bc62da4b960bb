"""A table to read from: whole rows are chosen, nothing is edited, no grid is drawn."""

from __future__ import annotations

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt
from PySide6.QtWidgets import QAbstractItemView, QFrame, QTableView

Index = QModelIndex | QPersistentModelIndex
RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter


class QuietTable(QTableView):
    """Up and Down choose a row; Tab leaves the table."""

    def __init__(self, model: QAbstractTableModel, name: str, row_height: int) -> None:
        """A table of `model`, called `name` for those who listen."""
        super().__init__()
        model.setParent(self)
        self.setModel(model)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setTabKeyNavigation(False)
        self.verticalHeader().setVisible(False)
        self.verticalHeader().setDefaultSectionSize(row_height)
        self.horizontalHeader().setHighlightSections(False)
        self.selectionModel().currentRowChanged.connect(self._on_row)

    def tell_row(self, number: int) -> None:
        """Called with the row now chosen; -1 where there is none."""

    def _on_row(self, index: QModelIndex, _before: QModelIndex) -> None:
        self.tell_row(index.row())


def child_count(parent: Index | None, count: int) -> int:
    """`count` for the table itself, 0 below any of its cells."""
    return 0 if parent is not None and parent.isValid() else count
