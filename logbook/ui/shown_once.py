"""A secret that the program made, shown this once: a recovery code, a first PIN or password."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.record import BookError
from logbook.ui.session import Session
from logbook.ui.theme import font

RECOVERY = (
    "Recovery code of {name}. Write it on paper now and lock the paper away: it is the only way "
    "back into the book if the password is forgotten and no other engineer can help. It is shown "
    "this once, works once, and ends any code before it. Its use stands in the log."
)
GIVEN = (
    "For {name}, to sign on with once: they then choose one of their own, which nobody else knows. "
    "It is shown this once and signs nothing."
)


class ShownOnce(QDialog):
    """Shows a secret until it is said to be written down; Esc does not close it by mistake."""

    def __init__(self, title: str, told: str, secret: str, parent: QWidget | None) -> None:
        """A dialog with the words `told` over the secret."""
        super().__init__(parent)
        self.setWindowTitle(title)
        self.setMinimumWidth(520)
        words = QLabel(told)
        words.setTextFormat(Qt.TextFormat.PlainText)
        words.setWordWrap(True)
        self.code = QLineEdit(secret)
        self.code.setReadOnly(True)
        self.code.setAccessibleName(title)
        self.code.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self.code.setFont(font("title", strong=True))
        self.done_button = QPushButton("It is written down")
        self.done_button.setProperty("primary", True)
        self.done_button.setDefault(True)
        self.done_button.clicked.connect(self.accept)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.done_button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(12)
        layout.addWidget(words)
        layout.addWidget(self.code)
        layout.addLayout(row)
        self.done_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def reject(self) -> None:
        """Not by Esc: what is shown here is not shown again."""


def show_once(title: str, told: str, secret: str, parent: QWidget | None) -> None:
    """Show a secret until it is written down."""
    dialog = ShownOnce(title, told, secret, parent)
    dialog.exec()
    dialog.deleteLater()


def show_recovery_code(session: Session, person: str, parent: QWidget | None) -> str:
    """Make and show an engineer's recovery code. Returns what is wrong, or nothing."""
    try:
        code = session.door.make_recovery_code(person)
    except BookError as error:
        return error.message
    told = RECOVERY.format(name=session.name_of(person))
    show_once("Recovery code", told, code, parent)
    return ""
