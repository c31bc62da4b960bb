"""Under the form: what bears on the field in use, and what the program last said."""

from __future__ import annotations

from enum import StrEnum

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from logbook.ui.theme import font


class Tone(StrEnum):
    """How a message is meant; the word is also its style role."""

    PLAIN = "plain"
    DONE = "strong"
    FAULT = "fault"


class PointPanel(QFrame):
    """The field in use: what it is, its limits, what a deviation means, what to beware of."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """An empty panel of fixed height, so that the form does not jump."""
        super().__init__(parent)
        self.setProperty("role", "foot")
        self.setFixedHeight(98)
        self._title = _line("strong")
        self._where = _line("muted")
        self._limits = _line("")
        self._means = _line("")
        self._caution = _line("")
        head = QHBoxLayout()
        head.setSpacing(12)
        head.addWidget(self._title)
        head.addWidget(self._where, 1)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(12, 6, 12, 6)
        layout.setSpacing(1)
        layout.addLayout(head)
        layout.addWidget(self._limits)
        layout.addWidget(self._means)
        layout.addWidget(self._caution)

    def show_point(self, title: str, where: str, limits: str, means: str, caution: str) -> None:
        """Show these lines; empty strings clear them."""
        self._title.setText(title)
        self._where.setText(where)
        self._limits.setText(limits)
        self._means.setText(means)
        self._means.setToolTip(means)
        self._caution.setText(f"Caution: {caution}" if caution else "")
        self._caution.setToolTip(caution)


class MessageLine(QFrame):
    """The last message at the left, the keys at the right."""

    def __init__(self, keys: str, parent: QWidget | None = None) -> None:
        """A line showing `keys` and no message."""
        super().__init__(parent)
        self.setProperty("role", "foot")
        self._text = QLabel()
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._text.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self._text.setObjectName("message")
        hint = QLabel(keys)
        hint.setProperty("role", "muted")
        hint.setFont(font("small"))
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 5, 12, 5)
        layout.addWidget(self._text, 1)
        layout.addWidget(hint)

    def say(self, text: str, tone: Tone = Tone.PLAIN) -> None:
        """Show a message."""
        self._text.setText(text)
        self._text.setToolTip(text)
        self._text.setProperty("role", tone.value)
        self._text.style().unpolish(self._text)
        self._text.style().polish(self._text)

    @property
    def text(self) -> str:
        """The message now shown."""
        return self._text.text()


def _line(role: str) -> QLabel:
    label = QLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("role", role)
    # A long meaning must not widen the window.
    label.setMinimumWidth(10)
    return label
