"""Above the Trend screen: which points, which stretch, and how it is looked at."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QCheckBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.ui.theme import font
from logbook.ui.trend.picker import PointPicker

PAGE = "page"
"""Property of a button: the page it leads to."""


class TrendBar(QFrame):
    """The line for points, the stretch, pages, and saving."""

    typed = Signal(str)
    """A period as typed, to be read."""
    page_chosen = Signal(str)
    share_toggled = Signal(bool)
    """Points of one unit on one axis."""

    def __init__(self, pages: Sequence[tuple[str, str]], parent: QWidget) -> None:
        """A bar with these pages (key and name)."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self.picker = PointPicker(parent)
        self.picker.setMinimumWidth(300)
        self.title = QLabel()
        self.title.setFont(font("body", strong=True))
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        self.told = QLabel()
        self.told.setProperty("role", "muted")
        self.any = QLineEdit()
        self.any.setPlaceholderText("2026-05, 2026-05-01..2026-05-14")
        self.any.setAccessibleName("Any period, as typed")
        self.any.setToolTip("Any period: a month, a week (2026-W23), a year, days (Ctrl+G)")
        self.any.setFixedWidth(270)
        self.share = QCheckBox("One axis for each unit")
        self.share.setToolTip("Points of the same unit on one axis (Ctrl+U)")
        self.save = QPushButton("Save…")
        self.save.setToolTip("Save the picture (PNG), a page (PDF) or the data (CSV) (Ctrl+S)")
        self._pages = QButtonGroup(self)
        self._buttons: dict[str, QPushButton] = {}
        self._lay_out(pages)
        self.any.returnPressed.connect(self._on_typed)
        self._pages.buttonClicked.connect(self._on_page)
        self.share.toggled.connect(self.share_toggled)

    def _lay_out(self, pages: Sequence[tuple[str, str]]) -> None:
        top, low = QHBoxLayout(), QHBoxLayout()
        self._low = low
        top.setSpacing(8)
        low.setSpacing(2)
        top.addWidget(self.picker, 1)
        for widget in (self.title, self.told, self.any, self.save):
            top.addWidget(widget)
        for number, (key, name) in enumerate(pages, 1):
            button = QPushButton(name)
            button.setCheckable(True)
            button.setProperty("role", "nav")
            button.setProperty(PAGE, key)
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.setToolTip(f"{name} (Alt+{number})")
            self._pages.addButton(button)
            self._buttons[key] = button
            low.addWidget(button)
        low.addStretch(1)
        low.addWidget(self.share)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 0)
        layout.setSpacing(4)
        layout.addLayout(top)
        layout.addLayout(low)

    def add_marks(self, *marks: QWidget) -> None:
        """Keep a place for what says that something is still read."""
        for mark in marks:
            self._low.insertWidget(self._low.count() - 1, mark)

    def show_span(self, words: str, length: str) -> None:
        """Show which stretch it is, and how long."""
        self.title.setText(words)
        self.told.setText(length)

    def show_page(self, key: str) -> None:
        """Mark the page now shown."""
        self._buttons[key].setChecked(True)

    def _on_typed(self) -> None:
        self.typed.emit(self.any.text())

    def _on_page(self, button: QAbstractButton) -> None:
        self.page_chosen.emit(button.property(PAGE))
