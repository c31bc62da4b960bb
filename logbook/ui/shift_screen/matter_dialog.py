"""One matter with all that is known about it, and what can be done with it."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QDialog,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from logbook.shift.matter_words import MatterWords

Deed = tuple[str, str]
"""Key of something that can be done, and the words on its button."""
DEED = "deed"
"""Property of a button: the key of what it does."""


class MatterDialog(QDialog):
    """Shows facts; `chosen` is the deed that was asked for, empty for none."""

    def __init__(self, words: MatterWords, deeds: Sequence[Deed], parent: QWidget | None) -> None:
        """A dialog with a button for each of `deeds`; the first has the keyboard."""
        super().__init__(parent)
        self.chosen = ""
        self.setWindowTitle(words.title)
        self.setMinimumWidth(600)
        title = _text(words.title, "strong")
        title.setObjectName("area-name")
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 14, 18, 14)
        layout.setSpacing(12)
        layout.addWidget(title)
        layout.addWidget(_facts(words), 1)
        layout.addLayout(self._buttons(deeds))

    def _buttons(self, deeds: Sequence[Deed]) -> QHBoxLayout:
        row = QHBoxLayout()
        row.addStretch(1)
        group = QButtonGroup(self)
        group.buttonClicked.connect(self._on_deed)
        for number, (key, words) in enumerate(deeds):
            button = QPushButton(words, self)
            button.setProperty("primary", number == 0)
            button.setDefault(number == 0)
            button.setProperty(DEED, key)
            group.addButton(button)
            row.addWidget(button)
        close = QPushButton("Close", self)
        close.setDefault(not deeds)
        close.clicked.connect(self.reject)
        row.addWidget(close)
        return row

    def _on_deed(self, button: QAbstractButton) -> None:
        self.chosen = str(button.property(DEED))
        self.accept()


def _facts(words: MatterWords) -> QScrollArea:
    inner = QWidget()
    grid = QGridLayout(inner)
    grid.setContentsMargins(0, 0, 12, 0)
    grid.setHorizontalSpacing(18)
    grid.setVerticalSpacing(8)
    grid.setColumnStretch(1, 1)
    for row, (label, text) in enumerate(words.facts):
        grid.addWidget(_text(label, "muted"), row, 0, Qt.AlignmentFlag.AlignTop)
        shown = _text(text, "")
        shown.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        grid.addWidget(shown, row, 1)
    grid.setRowStretch(len(words.facts), 1)
    area = QScrollArea()
    area.setFrameShape(QFrame.Shape.NoFrame)
    area.setWidgetResizable(True)
    area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    inner.setObjectName("plain")
    area.viewport().setObjectName("plain")
    area.setWidget(inner)
    # As high as the facts are, up to what a small screen can show.
    area.setMinimumHeight(min(440, inner.heightForWidth(560) + 4))
    return area


def _text(text: str, role: str) -> QLabel:
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    label.setProperty("role", role)
    if role == "muted":
        label.setWordWrap(False)
    return label
