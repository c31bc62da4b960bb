"""The slim bar under the menu: the screens at the left, who is signed on at the right."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QWidget,
)

from logbook.ui.session import Session
from logbook.ui.theme import font

KEY = "screen"
"""Property of a button: the screen it leads to."""


class NavBar(QFrame):
    """Chooses the screen; shows the session."""

    chosen = Signal(str)
    """Key of the screen that is wanted."""
    person_wanted = Signal()
    """Somebody wants to sign on or change."""

    def __init__(
        self, screens: Sequence[tuple[str, str]], session: Session, parent: QWidget | None = None
    ) -> None:
        """A bar for screens (key and name), of which the n-th has Ctrl+n."""
        super().__init__(parent)
        self.setProperty("role", "nav")
        self._session = session
        self._buttons: dict[str, QPushButton] = {}
        group = QButtonGroup(self)
        group.buttonClicked.connect(self._on_button)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(8, 0, 8, 0)
        layout.setSpacing(2)
        for number, (key, name) in enumerate(screens, 1):
            button = self._button(key, name, f"Ctrl+{number}")
            group.addButton(button)
            layout.addWidget(button)
        layout.addStretch(1)
        self.told = QLabel()
        self.told.setProperty("role", "fault")
        self.person = QPushButton()
        self.person.setProperty("role", "person")
        self.person.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.person.clicked.connect(self.person_wanted)
        layout.addWidget(self.told)
        layout.addWidget(self.person)
        session.changed.connect(self._show_session)
        session.warned.connect(self._show_warning)
        self._show_session()

    def _button(self, key: str, name: str, keys: str) -> QPushButton:
        button = QPushButton(name)
        button.setCheckable(True)
        button.setProperty("role", "nav")
        # The keyboard has Ctrl+1 and on; Tab goes through the screen, not through this bar.
        button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        button.setToolTip(f"{name} ({keys})")
        button.setFont(font(medium=True))
        button.setProperty(KEY, key)
        self._buttons[key] = button
        return button

    def _on_button(self, button: QAbstractButton) -> None:
        self.chosen.emit(button.property(KEY))

    def show_current(self, key: str) -> None:
        """Mark the screen now shown."""
        self._buttons[key].setChecked(True)

    def _show_session(self) -> None:
        session = self._session
        if session.person:
            words = f"{session.name}, {session.role_word}"
        elif session.is_locked:
            words = f"Locked: {session.name_of(session.locked_person)}"
        else:
            words = "Nobody signed on"
        self.person.setText(f"{words}   F3")
        self.person.setToolTip("Sign on, change person or sign off (F3)")
        self.person.setAccessibleName(words)
        self._show_warning(0)

    def _show_warning(self, seconds: int) -> None:
        told = f"Locks in {seconds} s. Any key keeps it open." if seconds else ""
        self.told.setText(told)
