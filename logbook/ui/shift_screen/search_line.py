"""The heading of the timeline, which is the search as well."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

Choices = Sequence[tuple[str, str]]
"""Key and name."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What is searched for; empty strings for anything."""

    text: str = ""
    area: str = ""
    person: str = ""
    since: str = ""
    until: str = ""

    @property
    def is_nothing(self) -> bool:
        """True where the timeline is shown instead."""
        return not (self.text or self.person or self.since or self.until or self.area)


class SearchLine(QFrame):
    """A line for words, and beside it, while searching, area, person and days."""

    wanted = Signal(object)
    """A `Wanted`, after Enter or a choice; empty after Esc."""
    left = Signal()
    """Down: into the list below."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """A line that searches for nothing."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self._head = QLabel("Timeline")
        self._head.setProperty("role", "strong")
        self.text = _line("Search the book", "Search the book (Ctrl+F)")
        self.since = _line("From day", "from 2026-03-01")
        self.until = _line("To day", "to 2026-03-31")
        self.area, self.person = QComboBox(), QComboBox()
        self.area.setAccessibleName("Area")
        self.person.setAccessibleName("Person")
        self._more = (self.area, self.person, self.since, self.until)
        self._lay_out()
        for line in (self.text, self.since, self.until):
            line.returnPressed.connect(self._emit)
        for box in (self.area, self.person):
            box.activated.connect(self._emit)

    def _lay_out(self) -> None:
        first, second = QHBoxLayout(), QHBoxLayout()
        first.addWidget(self._head)
        first.addWidget(self.text, 1)
        for part in self._more:
            part.setMinimumWidth(80)
            part.hide()
            second.addWidget(part, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 5, 12, 5)
        for row in (first, second):
            row.setSpacing(6)
            layout.addLayout(row)

    def show_loading(self, mark: QWidget) -> None:
        """Place the quiet mark of a search that takes a while."""
        inside = QHBoxLayout(self.text)
        inside.setContentsMargins(0, 0, 10, 0)
        inside.addStretch(1)
        inside.addWidget(mark)

    def offer(self, areas: Choices, people: Choices) -> None:
        """Offer these areas and people."""
        for box, name, choices in (
            (self.area, "Any area", areas),
            (self.person, "Anybody", people),
        ):
            kept = box.currentData()
            box.clear()
            box.addItem(name, "")
            for key, words in choices:
                box.addItem(words, key)
            box.setCurrentIndex(max(0, box.findData(kept)))

    def begin(self) -> None:
        """Go into the line for words and show what else can be asked for."""
        for part in self._more:
            part.show()
        self.text.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.text.selectAll()

    def end(self) -> None:
        """Search for nothing."""
        for line in (self.text, self.since, self.until):
            line.clear()
        for box in (self.area, self.person):
            box.setCurrentIndex(0)
        for part in self._more:
            part.hide()
        self._emit()

    def say(self, heading: str) -> None:
        """Name what the list below shows."""
        self._head.setText(heading)

    @property
    def is_searching(self) -> bool:
        """True while it asks for more than the timeline."""
        return not self._wanted().is_nothing

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Esc ends the search, Down goes into the list."""
        if event.key() == Qt.Key.Key_Escape:
            self.end()
            self.left.emit()
        elif event.key() == Qt.Key.Key_Down:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def _wanted(self) -> Wanted:
        return Wanted(
            self.text.text().strip(),
            self.area.currentData() or "",
            self.person.currentData() or "",
            self.since.text().strip(),
            self.until.text().strip(),
        )

    def _emit(self) -> None:
        self.wanted.emit(self._wanted())


def _line(name: str, hint: str) -> QLineEdit:
    line = QLineEdit()
    line.setPlaceholderText(hint)
    line.setAccessibleName(name)
    return line
