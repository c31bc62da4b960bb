"""Choosing points: a line to type in and, below it, what fits; the keyboard never leaves the line."""

from __future__ import annotations

from collections.abc import Collection

from PySide6.QtCore import QEvent, QPoint, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent
from PySide6.QtWidgets import QLineEdit, QListWidget, QListWidgetItem, QWidget

from logbook.plant.model import Plant
from logbook.shift.point_search import PointFound, find_points
from logbook.ui.theme import font

SHOWN = 60
ROWS = 12
KEY = int(Qt.ItemDataRole.UserRole)


class PointPicker(QLineEdit):
    """Enter takes or drops the marked point, Ctrl+Enter all that fit; Esc goes back."""

    toggled = Signal(str)
    """Key of the point to take, or to drop where it is taken."""
    all_wanted = Signal(list)
    """Keys of all that fit what is typed."""
    left = Signal()
    """Esc: back to the picture."""

    def __init__(self, parent: QWidget) -> None:
        """A line whose list lies over `parent`."""
        super().__init__(parent)
        self._over = parent
        self._plant: Plant | None = None
        self._taken: Collection[str] = ()
        self._found: tuple[PointFound, ...] = ()
        self.setPlaceholderText("Add a point: name, tag or area (Ctrl+F)")
        self.setAccessibleName("Add a point")
        self.setClearButtonEnabled(True)
        self.list = QListWidget(parent)
        self.list.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.list.setAccessibleName("Points that fit")
        self.list.setFont(font())
        self.list.setObjectName("offered")
        self.list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.list.hide()
        self.list.itemClicked.connect(self._on_clicked)
        self.textEdited.connect(self._offer)

    def offer_from(self, plant: Plant, taken: Collection[str]) -> None:
        """Points are those of `plant`; the ones now shown are ticked."""
        self._plant, self._taken = plant, tuple(taken)
        if self.list.isVisible():
            row = self.list.currentRow()
            self._offer()
            self.list.setCurrentRow(min(row, self.list.count() - 1))

    def begin(self) -> None:
        """Go into the line and show what fits."""
        self.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.selectAll()
        self._offer()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down go along the list, Enter takes, Esc leaves."""
        key, has_ctrl = event.key(), bool(event.modifiers() & Qt.KeyboardModifier.ControlModifier)
        steps = {
            Qt.Key.Key_Down: 1,
            Qt.Key.Key_Up: -1,
            Qt.Key.Key_PageDown: ROWS,
            Qt.Key.Key_PageUp: -ROWS,
        }
        if key in steps:
            self._step(steps[Qt.Key(key)])
        elif key in {Qt.Key.Key_Return, Qt.Key.Key_Enter}:
            if has_ctrl and self.text().strip():
                self.all_wanted.emit([one.point.key for one in self._found])
            else:
                self._take_current()
        elif key == Qt.Key.Key_Escape:
            self.list.hide()
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """The list goes with the focus."""
        self.list.hide()
        super().focusOutEvent(event)

    def mousePressEvent(self, event: QEvent) -> None:
        """A click shows what fits."""
        super().mousePressEvent(event)  # type: ignore[arg-type]
        self._offer()

    def _offer(self) -> None:
        if self._plant is None:
            return
        self._found = find_points(self._plant, self.text())
        self.list.clear()
        for one in self._found[:SHOWN]:
            self.list.addItem(self._item(one))
        if not self._found:
            nothing = QListWidgetItem("no point fits; try fewer letters")
            nothing.setFlags(Qt.ItemFlag.NoItemFlags)
            self.list.addItem(nothing)
        elif len(self._found) > SHOWN:
            more = QListWidgetItem(f"and {len(self._found) - SHOWN} more; type more letters")
            more.setFlags(Qt.ItemFlag.NoItemFlags)
            self.list.addItem(more)
        self.list.setCurrentRow(0)
        self._place()

    def _item(self, one: PointFound) -> QListWidgetItem:
        tick = "✓ " if one.point.key in self._taken else "   "
        tag = f"  ·  {one.point.tag}" if one.point.tag else ""
        unit = f" ({one.point.unit})" if one.point.unit else ""
        item = QListWidgetItem(f"{tick}{one.name}{unit}{tag}  ·  {one.area}")
        item.setData(KEY, one.point.key)
        return item

    def _place(self) -> None:
        parent = self._over
        below = self.mapTo(parent, QPoint(0, self.height() + 2))
        rows = min(self.list.count(), ROWS)
        height = rows * max(self.list.sizeHintForRow(0), 20) + 6
        width = min(max(self.width(), 620), parent.width() - below.x() - 8)
        self.list.setGeometry(below.x(), below.y(), width, height)
        self.list.show()
        self.list.raise_()

    def _step(self, by: int) -> None:
        if not self.list.isVisible():
            self._offer()
            return
        last = min(len(self._found), SHOWN) - 1
        self.list.setCurrentRow(max(0, min(self.list.currentRow() + by, last)))

    def _take_current(self) -> None:
        item = self.list.currentItem()
        if self.list.isVisible() and self._found and item.data(KEY):
            self.toggled.emit(item.data(KEY))
            self.selectAll()
        else:
            self._offer()

    def _on_clicked(self, item: QListWidgetItem) -> None:
        if item.data(KEY):
            self.toggled.emit(item.data(KEY))
