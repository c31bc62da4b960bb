"""Signing on, and proving who one is for a signature: one dialog, driven by the keyboard."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QComboBox,
    QDialog,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.calendar import shift_at
from logbook.plant.model import Person, Role
from logbook.record import BookError
from logbook.shift.secret_rules import kind_for
from logbook.ui.session import CHOOSE_OWN, UNKNOWN, Session
from logbook.ui.shown_once import show_recovery_code

PLAIN = (
    "Nobody in this book has a PIN or password yet, so names are only chosen. As soon as an "
    "engineer sets a password here, everybody signs on with a PIN of their own."
)
RULES = {
    "pin": "A PIN has at least 6 digits, and is not an obvious row.",
    "password": (
        "A password has at least 15 characters; four or five words in a row are easy to keep in "
        "mind."
    ),
}


class SecretDialog(QDialog):
    """Asks who it is and for the PIN or password; a given one is changed on the way in."""

    def __init__(self, session: Session, why: str, parent: QWidget | None, *, person: str) -> None:
        """A dialog headed by `why`, with `person` chosen first."""
        super().__init__(parent)
        self.session = session
        self.setMinimumWidth(520)
        self.people = QComboBox()
        self.people.setAccessibleName("Who")
        self.secret = secret_line("PIN or password")
        self.new = secret_line("A new one")
        self.again = secret_line("The same again")
        self._told = words("muted", why)
        self._hint = words("muted", "")
        self._fault = words("fault", "")
        self._form = QFormLayout()
        self._form.setSpacing(10)
        self._form.addRow("Who", self.people)
        self._form.addRow("PIN", self.secret)
        self._form.addRow("New", self.new)
        self._form.addRow("Again", self.again)
        self.go = QPushButton()
        self.go.setProperty("primary", True)
        self.go.setDefault(True)
        self.go.clicked.connect(self._on_go)
        self._lay_out()
        for one in self._choices():
            self.people.addItem(f"{one.name}, {one.role.value}", one.key)
        self.people.setCurrentIndex(max(0, self.people.findData(person)))
        self.people.currentIndexChanged.connect(self._on_person)
        self._on_person()

    def _lay_out(self) -> None:
        cancel = QPushButton("Cancel")
        cancel.setAutoDefault(False)
        cancel.clicked.connect(self.reject)
        self.row = QHBoxLayout()
        self.row.addStretch(1)
        self.row.addWidget(self.go)
        self.row.addWidget(cancel)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(12)
        for part in (self._told, self._hint):
            layout.addWidget(part)
        layout.addLayout(self._form)
        layout.addWidget(self._fault)
        layout.addLayout(self.row)

    @property
    def person(self) -> str:
        """Key of the person chosen."""
        return str(self.people.currentData() or "")

    @property
    def is_first(self) -> bool:
        """True where the person chosen becomes the book's first engineer."""
        return self.session.is_first_engineer(self.person)

    @property
    def must_choose(self) -> bool:
        """True where the person chosen has signed on with a secret that must be changed."""
        return bool(self.person) and self.session.must_choose == self.person

    @property
    def needs_secret(self) -> bool:
        """False where it is enough to be chosen."""
        return True

    def _choices(self) -> list[Person]:
        """Everybody, those of the crew on shift first."""
        plant = self.session.plant
        crew = shift_at(plant.calendar, self.session.now()).crew
        return sorted(plant.people, key=lambda p: (p.crew != crew or crew is None, p.name))

    def _on_person(self) -> None:
        self.session.must_choose = ""
        self._fault.hide()
        self.secret.clear()
        self._show_rows()
        target = self.secret if self.needs_secret else self.people
        target.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_rows(self) -> None:
        """The lines that are needed for the person chosen, and what must be known about them."""
        described = self.session.described(self.person)
        self._hint.setText(self._hint_for(described))
        self._hint.setVisible(bool(self._hint.text()))
        label = self._form.labelForField(self.secret)
        assert isinstance(label, QLabel)
        label.setText("PIN" if kind_for(described.role) == "pin" else "Password")
        is_new = self.needs_secret and (self.is_first or self.must_choose)
        self._form.setRowVisible(self.secret, self.needs_secret)
        self._form.setRowVisible(self.new, self.must_choose)
        self._form.setRowVisible(self.again, is_new)
        self.new.clear()
        self.again.clear()
        self._show_go()
        self.adjustSize()

    def _hint_for(self, described: Person) -> str:
        if self.is_first:
            rules = RULES[kind_for(described.role)]
            return f"{described.name} is the first engineer and sets a password now. {rules}"
        if self.must_choose:
            return f"{CHOOSE_OWN} {RULES[kind_for(described.role)]}"
        if not self.session.door.has_secret(self.person):
            return UNKNOWN.format(name=described.name)
        return ""

    def _show_go(self) -> None:
        sets = (self.is_first and self.needs_secret) or self.must_choose
        self.go.setText("Set it and go on" if sets else "Go on")

    def _on_go(self) -> None:
        chose = self.must_choose
        fault = self.try_it()
        if self.must_choose and not chose:  # let in no further than to one of their own
            fault = ""
            self._show_rows()
            self.new.setFocus(Qt.FocusReason.OtherFocusReason)
        elif not fault:
            self.accept()
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))
        if not chose:
            self.secret.selectAll()

    def try_it(self) -> str:
        """Do what the dialog is for. Returns what is wrong, or nothing."""
        raise NotImplementedError

    def fault_of_pair(self) -> str:
        """What is wrong with a new secret typed twice, as far as the dialog can tell."""
        first = self.new if self.must_choose else self.secret
        if first.text() == self.again.text():
            return ""
        self.again.setFocus(Qt.FocusReason.OtherFocusReason)
        return "The two are not the same; type the second again."


class SignOnDialog(SecretDialog):
    """Signs a person on, or off."""

    def __init__(
        self, session: Session, why: str, parent: QWidget | None, *, person: str = ""
    ) -> None:
        """`person` is chosen first; else the one whose session is locked."""
        self._sets_up = bool(person)
        who = person or session.locked_person or session.person
        super().__init__(session, why, parent, person=who)
        self.setWindowTitle("Sign on")
        self._off = QPushButton("Sign off")
        self._off.setAutoDefault(False)
        self._off.setVisible(bool(session.person or session.locked_person) and not person)
        self._off.clicked.connect(self._on_off)
        self.row.insertWidget(0, self._off)
        self._forgotten = QPushButton("Cannot sign on…")
        self._forgotten.setAutoDefault(False)
        self._forgotten.setVisible(session.uses_secrets)
        self._forgotten.clicked.connect(self._on_forgotten)
        self.row.insertWidget(1, self._forgotten)

    @property
    def needs_secret(self) -> bool:
        """Only an engineer's first password is asked for before there are any."""
        if self.session.uses_secrets or self._sets_up:
            return True
        return self.session.described(self.person).role is Role.ENGINEER

    def _hint_for(self, described: Person) -> str:
        if self.session.uses_secrets:
            return super()._hint_for(described)
        if not self.needs_secret:
            return PLAIN
        return f"{super()._hint_for(described)} Leave it empty to put that off."

    def try_it(self) -> str:
        """Sign on; the first engineer, and whoever has a given secret, sets one of their own."""
        session, secret = self.session, self.secret.text()
        if not session.uses_secrets and not secret:
            session.take(self.person)
            return ""
        if self.must_choose:
            fault = self.fault_of_pair()
            return fault or session.choose_own(self.person, secret, self.new.text())
        if not self.is_first:
            return session.sign_on(self.person, secret)
        fault = self.fault_of_pair() or session.set_first(self.person, secret)
        if not fault:
            show_recovery_code(session, self.person, self)
        return fault

    def _on_forgotten(self) -> None:
        from logbook.ui.other_ways import OtherWays

        ways = OtherWays(self.session, self.person, self)
        done = ways.exec() == QDialog.DialogCode.Accepted
        ways.deleteLater()
        if done:
            self.accept()

    def _on_off(self) -> None:
        fault = self.session.sign_off()
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))
        if not fault:
            self.accept()


class ProveDialog(SecretDialog):
    """Proves who somebody is for a signature; signs nobody on."""

    def __init__(
        self, session: Session, reason: str, parent: QWidget | None, *, person: str
    ) -> None:
        """`person` is chosen; others can be where it is empty."""
        super().__init__(
            session, reason[:1].upper() + reason[1:], parent, person=person or session.person
        )
        self._reason = reason
        self.people.setEnabled(not person)
        self.setWindowTitle("Sign")

    def try_it(self) -> str:
        """Check the PIN or password."""
        session, secret = self.session, self.secret.text()
        try:
            answer = session.door.check(self.person, secret, what_for=self._reason)
        except BookError as error:
            return error.message
        return answer.message if answer.person is None else ""

    @property
    def is_first(self) -> bool:
        """Nobody's password is set on the way to a signature."""
        return False


def prove(session: Session, parent: QWidget | None, reason: str, person: str) -> str | None:
    """Run a `ProveDialog`; the key of whoever proved it, or None."""
    dialog = ProveDialog(session, reason, parent, person=person)
    accepted = dialog.exec() == QDialog.DialogCode.Accepted
    key = dialog.person
    dialog.deleteLater()
    if not accepted:
        return None
    session.note_secrets()
    return key


def secret_line(name: str) -> QLineEdit:
    """A line for a PIN or password, which nobody reads over a shoulder."""
    line = QLineEdit()
    line.setEchoMode(QLineEdit.EchoMode.Password)
    line.setAccessibleName(name)
    return line


def words(role: str, text: str) -> QLabel:
    """A label of plain words that wrap; hidden while there are none."""
    label = QLabel(text)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setProperty("role", role)
    label.setWordWrap(True)
    label.setVisible(bool(text))
    return label
