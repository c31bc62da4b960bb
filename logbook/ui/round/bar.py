"""Above the form: the rounds, the mode, who writes, and Save; and the line for a late round."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QWidget,
)

from logbook.ui.round.round_strip import RoundStrip
from logbook.ui.theme import Theme

Choices = Sequence[tuple[str, str]]
"""Key and name."""


class RoundBar(QFrame):
    """The strip of rounds and the choices that hold for the whole round."""

    mode_chosen = Signal(str)
    person_chosen = Signal(str)

    def __init__(self, theme: Theme, parent: QWidget | None = None) -> None:
        """A bar without rounds or people."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self.strip = RoundStrip(theme, self)
        self.other_time = QPushButton("Other time…")
        self.mode = QComboBox()
        self.person = QComboBox()
        self.save = QPushButton("Save round")
        self.save.setProperty("primary", True)
        self.mode.setAccessibleName("Operating mode")
        self.person.setAccessibleName("Who writes")
        self.mode.setFixedWidth(150)
        self.person.setFixedWidth(186)
        for button in (self.other_time, self.save):
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 6, 12, 6)
        layout.setSpacing(8)
        layout.addWidget(self.strip, 1)
        layout.addWidget(self.other_time)
        self._captions = {
            box: QLabel(w) for w, box in (("Mode", self.mode), ("Writer", self.person))
        }
        for box, caption in self._captions.items():
            caption.setProperty("role", "muted")
            layout.addSpacing(4)
            layout.addWidget(caption)
            layout.addWidget(box)
        layout.addSpacing(4)
        layout.addWidget(self.save)
        self.mode.activated.connect(self._on_mode)
        self.person.activated.connect(self._on_person)

    def show_modes(self, modes: Choices, current: str) -> None:
        """Offer these modes."""
        _fill(self.mode, modes, current)

    def show_people(self, people: Choices | None, current: str) -> None:
        """Offer these people; an empty `current` asks for one. None: they sign on instead."""
        for part in (self.person, self._captions[self.person]):
            part.setVisible(people is not None)
        _fill(self.person, [("", "Choose who writes…"), *(people or ())], current)

    def _on_mode(self) -> None:
        self.mode_chosen.emit(self.mode.currentData())

    def _on_person(self) -> None:
        self.person_chosen.emit(self.person.currentData())


class LateLine(QFrame):
    """Says that a round is entered late and takes the reason."""

    edited = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        """Hidden until there is something to say."""
        super().__init__(parent)
        self.setProperty("role", "bar")
        self._told = QLabel()
        self.reason = QLineEdit()
        self.reason.setPlaceholderText("Why it is entered late")
        self.reason.setAccessibleName("Why the round is entered late")
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 5, 12, 5)
        layout.setSpacing(10)
        layout.addWidget(self._told)
        layout.addWidget(self.reason, 1)
        self.reason.textEdited.connect(self.edited)
        self.hide()

    def tell(self, text: str, reason: str) -> None:
        """Show `text` and the reason so far; an empty text hides the line."""
        self._told.setText(text)
        if self.reason.text() != reason:
            self.reason.setText(reason)
        self.setVisible(bool(text))


class AreaHead(QFrame):
    """Name and caution of the area shown, and the button for stops."""

    def __init__(self, parent: QWidget | None = None) -> None:
        """A head without an area."""
        super().__init__(parent)
        self._name = QLabel()
        self._name.setProperty("role", "strong")
        self._name.setObjectName("area-name")
        self._caution = QLabel()
        self._caution.setProperty("role", "caution")
        self._caution.setWordWrap(True)
        self.stop = QPushButton("Down / back…")
        self.stop.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(12, 8, 12, 6)
        layout.setSpacing(14)
        layout.addWidget(self._name)
        layout.addWidget(self._caution, 1)
        layout.addWidget(self.stop)

    def show_area(self, name: str, caution: str) -> None:
        """Show an area's name and caution."""
        self._name.setText(name)
        self._caution.setText(caution)
        self._caution.setVisible(bool(caution))


def _fill(box: QComboBox, choices: Choices, current: str) -> None:
    box.blockSignals(True)
    box.clear()
    for key, name in choices:
        box.addItem(name, key)
    box.setCurrentIndex(max(0, box.findData(current)))
    box.blockSignals(False)
