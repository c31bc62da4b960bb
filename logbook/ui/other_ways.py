"""When somebody cannot sign on: an engineer's recovery code, or writing without signing on."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.model import Role
from logbook.record import BookError
from logbook.ui.session import Session
from logbook.ui.shown_once import RECOVERY, show_once
from logbook.ui.sign_on import RULES, secret_line, words

RECOVER = "recover"
ASK = (
    "Forgotten a PIN? A supervisor or an engineer gives a new one: Book, People. Until then go on "
    "logging here."
)
UNPROVEN = (
    "Everything written bears your name with the mark (not signed on), and a supervisor confirms "
    "it later. Signing, correcting and taking over still need a PIN."
)


class OtherWays(QDialog):
    """Two ways in one dialog; the second is there for an engineer with a recovery code only."""

    def __init__(self, session: Session, person: str, parent: QWidget | None) -> None:
        """`person` is whose password may be forgotten."""
        super().__init__(parent)
        self.setWindowTitle("Cannot sign on")
        self.setMinimumWidth(560)
        self.session, self.person = session, person
        described = session.described(person)
        self.way = QComboBox()
        self.way.setAccessibleName("Which way")
        self.way.addItem("Go on writing without signing on", "")
        if described.role is Role.ENGINEER and session.door.has_recovery_code(person):
            words_of = f"Set a new password for {described.name} by the recovery code"
            self.way.addItem(words_of, RECOVER)
        self.name, self.reason, self.code = QLineEdit(), QLineEdit(), QLineEdit()
        self.name.setText(described.name)
        self.reason.setPlaceholderText("such as: PIN forgotten, no supervisor here")
        self.new, self.again = secret_line("New password"), secret_line("The same again")
        self._told = words("muted", "")
        self._fault = words("fault", "")
        self._lay_out()
        self.way.currentIndexChanged.connect(self._on_way)
        self._on_way()

    def _lay_out(self) -> None:
        self._form = QFormLayout()
        self._form.setSpacing(10)
        rows = (
            ("Your name", self.name),
            ("Why", self.reason),
            ("Recovery code", self.code),
            ("New password", self.new),
            ("Again", self.again),
        )
        for name, line in rows:
            self._form.addRow(name, line)
        self.go = QPushButton()
        self.go.setProperty("primary", True)
        self.go.setDefault(True)
        self.go.clicked.connect(self._on_go)
        cancel = QPushButton("Cancel")
        cancel.setAutoDefault(False)
        cancel.clicked.connect(self.reject)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.go)
        row.addWidget(cancel)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(12)
        for part in (words("muted", ASK), self.way, self._told):
            layout.addWidget(part)
        layout.addLayout(self._form)
        layout.addWidget(self._fault)
        layout.addLayout(row)

    @property
    def is_recovery(self) -> bool:
        """True where a password is set by the code, False where somebody just goes on writing."""
        return bool(self.way.currentData() == RECOVER)

    def _on_way(self) -> None:
        is_log = not self.is_recovery
        for line in (self.name, self.reason):
            self._form.setRowVisible(line, is_log)
        for line in (self.code, self.new, self.again):
            self._form.setRowVisible(line, not is_log)
        self._told.setText(UNPROVEN if is_log else RULES["password"])
        self._told.show()
        self.go.setText("Go on writing" if is_log else "Set the password and sign on")
        self._tell("")
        (self.reason if is_log else self.code).setFocus(Qt.FocusReason.OtherFocusReason)
        self.adjustSize()

    def _tell(self, fault: str) -> None:
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))

    def _on_go(self) -> None:
        if not self.is_recovery:
            fault = self.session.begin_unproven(self.name.text(), self.reason.text())
        else:
            fault = self._recover()
        self._tell(fault)
        if not fault:
            self.accept()

    def _recover(self) -> str:
        if self.new.text() != self.again.text():
            return "The two are not the same; type the second again."
        try:
            done = self.session.door.recover(self.person, self.code.text(), self.new.text())
        except BookError as error:
            return error.message
        if done.answer.person is None:
            return done.answer.message.replace("PIN or password", "recovery code")
        told = RECOVERY.format(name=done.answer.person.name)
        show_once("New recovery code", told, done.code, self)
        return self.session.sign_on(self.person, self.new.text())
