"""Above the Balance screen: which period, and which side of it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.shift.period import PeriodKind
from logbook.ui.theme import font

KINDS: tuple[tuple[PeriodKind, str], ...] = (
    (PeriodKind.SHIFT, "Shift"),
    (PeriodKind.DAY, "Day"),
    (PeriodKind.WEEK, "Week"),
    (PeriodKind.MONTH, "Month"),
    (PeriodKind.YEAR, "Year"),
    (PeriodKind.ROLLING, "12 months"),
)
PAGE = "page"
"""Property of a button: the page it leads to."""


class BalanceBar(QFrame):
    """Kind of period, earlier and later, any period as typed; the pages; the report."""

    kind_chosen = Signal(object)
    """A PeriodKind."""
    typed = Signal(str)
    """A period as typed, to be read."""
    page_chosen = Signal(str)

    def __init__(self, pages: Sequence[tuple[str, str]], parent: QWidget | None = None) -> None:
        """A bar with these pages (key and name)."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self.kind = QComboBox()
        self.kind.setAccessibleName("Kind of period")
        for kind, name in KINDS:
            self.kind.addItem(name, kind)
        self.earlier, self.later = QPushButton("‹"), QPushButton("›")
        for button, words in (
            (self.earlier, "Earlier period (Ctrl+Left)"),
            (self.later, "Later period (Ctrl+Right)"),
        ):
            button.setToolTip(words)
            button.setAccessibleName(words)
            button.setFixedWidth(34)
            button.setProperty("role", "step")
        self.title = QLabel()
        self.title.setFont(font("title", strong=True))
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        self.told = QLabel()
        self.told.setProperty("role", "muted")
        self.told.setTextFormat(Qt.TextFormat.PlainText)
        self.any = QLineEdit()
        self.any.setPlaceholderText("2026-05, 2026-05-01..2026-05-14 (Ctrl+G)")
        self.any.setAccessibleName("Any period, as typed")
        self.any.setFixedWidth(290)
        self.report = QPushButton("Report…")
        self.report.setToolTip("Preview and print the report of the period (Ctrl+P)")
        self._pages = QButtonGroup(self)
        self._buttons: dict[str, QPushButton] = {}
        self._lay_out(pages)
        self.kind.activated.connect(self._on_kind)
        self.any.returnPressed.connect(self._on_typed)
        self._pages.buttonClicked.connect(self._on_page)

    def _lay_out(self, pages: Sequence[tuple[str, str]]) -> None:
        top = QHBoxLayout()
        top.setSpacing(8)
        for widget in (self.kind, self.earlier, self.later):
            top.addWidget(widget)
        top.addSpacing(4)
        top.addWidget(self.title)
        top.addWidget(self.told, 1)
        top.addWidget(self.any)
        top.addWidget(self.report)
        low = self._low = QHBoxLayout()
        low.setSpacing(2)
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
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 0)
        layout.setSpacing(4)
        layout.addLayout(top)
        layout.addLayout(low)

    def add_marks(self, *marks: QWidget) -> None:
        """Keep a place for what says that something is still read."""
        for mark in marks:
            self._low.addWidget(mark)

    def show_period(self, kind: PeriodKind, name: str, told: str) -> None:
        """Show which period it is; of any days the kind box keeps what it had."""
        at = self.kind.findData(kind)
        if at >= 0:
            self.kind.setCurrentIndex(at)
        self.title.setText(f"{name[:1].upper()}{name[1:]}")
        self.told.setText(told)

    def show_page(self, key: str) -> None:
        """Mark the page now shown."""
        self._buttons[key].setChecked(True)

    def _on_kind(self) -> None:
        self.kind_chosen.emit(self.kind.currentData())

    def _on_typed(self) -> None:
        self.typed.emit(self.any.text())

    def _on_page(self, button: QAbstractButton) -> None:
        self.page_chosen.emit(button.property(PAGE))
