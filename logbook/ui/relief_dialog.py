"""Relief during a shift: whoever goes says why and signs, whoever comes reads, and signs too."""

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
from logbook.record import Book, BookError
from logbook.record.rows_handover import CheckAnswer
from logbook.shift import relief as service
from logbook.shift.reliefs import Relief, relief_of
from logbook.shift.roles import Deed
from logbook.ui.handover.parts import ToRead
from logbook.ui.handover.subjects import SubjectList
from logbook.ui.round.dialogs import AskDialog
from logbook.ui.session import Session
from logbook.ui.sign_on import secret_line, words

OFFER = (
    "{name} hands over the watch during the shift. {name} stays in charge until somebody has read "
    "what is open and has signed."
)
TAKE = (
    "{text}. Read each matter: Enter accepts it, or ask. Then sign; from then on you are in charge."
)

TAKE_NOTHING = "{text}. Nothing is open that must be read. Sign; from then on you are in charge."


def begin_relief(session: Session, book: Book, parent: QWidget | None) -> str:
    """Hand over and, where the other is there, take over at once. Returns what is told."""
    refused = session.ensure(Deed.HAND_OVER, "to hand over the watch")
    if refused or not session.uses_secrets:
        return refused or "A relief is signed with PINs; the first engineer sets a password (F3)."
    offered = ask_offer(session, book, parent)
    return go_on(session, book, offered, parent) if offered is not None else ""


def go_on(session: Session, book: Book, relief: Relief, parent: QWidget | None) -> str:
    """Let somebody take over what was offered. Returns what is told."""
    try:
        dialog = TakeDialog(session, book, relief, parent)
    except BookError as error:
        return error.message
    dialog.exec()
    told = dialog.told
    dialog.deleteLater()
    return told


def ask_offer(session: Session, book: Book, parent: QWidget | None) -> Relief | None:
    """Ask what is handed over and why, and sign it as whoever goes."""
    dialog = AskDialog("Relief", OFFER.format(name=session.name), parent)
    area, why, secret = QComboBox(), QLineEdit(), secret_line("Your PIN or password")
    area.addItem("The whole shift", None)
    for one in session.plant.areas:
        area.addItem(one.name, one.key)
    why.setPlaceholderText("such as: meal break, going home sick")
    fields = (("What", area), ("Why", why), ("PIN or password", secret))
    for name, field in fields:
        dialog.form.addRow(name, field)
    why.setFocus(Qt.FocusReason.OtherFocusReason)
    made: list[Relief] = []

    def check() -> str:
        try:
            saved = service.offer(
                book, session.door, session.person, secret.text(), area.currentData(), why.text()
            )
        except BookError as error:
            return error.message
        made.append(relief_of(book, session.plant, book.history_of_entry(saved.ids[0])[0]))
        return ""

    accepted = dialog.ask(check, "Hand over and sign")
    dialog.deleteLater()
    return made[0] if accepted else None


class TakeDialog(QDialog):
    """Whoever comes reads one by one, and signs; until then it can wait."""

    def __init__(
        self, session: Session, book: Book, relief: Relief, parent: QWidget | None = None
    ) -> None:
        """A dialog on an offer that nobody has taken. Raises BookError."""
        super().__init__(parent)
        self.setWindowTitle("Take over the watch")
        self.setMinimumWidth(560)
        self.session, self._book, self._relief = session, book, relief
        self.told = "The relief waits until somebody takes over; it stands under what is open."
        self._answers: dict[str, tuple[CheckAnswer, str]] = {}
        self._open = service.to_read(book, session.plant, relief.area, book.now())
        self.people = QComboBox()
        for one in self._choices():
            self.people.addItem(one[1], one[0])
        self.secret = secret_line("PIN or password of whoever takes over")
        self.subjects = SubjectList()
        self.subjects.answered.connect(self._on_answered)
        self._fault = words("fault", "")
        self._lay_out()
        self._show()
        self.subjects.setVisible(bool(self._open))
        (self.subjects.names if self._open else self.secret).setFocus()

    def _choices(self) -> list[tuple[str, str]]:
        """Everybody else who may, those of the crew on shift first."""
        plant = self.session.plant
        crew = shift_at(plant.calendar, self.session.now()).crew
        people = [
            p for p in plant.people if p.key != self._relief.outgoing and p.role.value != "reader"
        ]
        ordered = sorted(people, key=lambda p: (p.crew != crew or crew is None, p.name))
        return [(p.key, f"{p.name}, {p.role.value}") for p in ordered]

    def _lay_out(self) -> None:
        form = QFormLayout()
        form.setSpacing(10)
        form.addRow("Taken over by", self.people)
        form.addRow("PIN or password", self.secret)
        self.go = QPushButton("Take over and sign")
        self.go.setProperty("primary", True)
        self.go.clicked.connect(self._on_go)
        self.secret.returnPressed.connect(self._on_go)
        stay = QPushButton("Stay after all")
        stay.setVisible(self.session.person == self._relief.outgoing)
        stay.clicked.connect(self._on_stay)
        later = QPushButton("Later")
        later.clicked.connect(self.reject)
        row = QHBoxLayout()
        for button in (stay, self.go, later):
            button.setAutoDefault(False)
        row.addWidget(stay)
        row.addStretch(1)
        row.addWidget(self.go)
        row.addWidget(later)
        told = TAKE if self._open else TAKE_NOTHING
        head = QLabel(told.format(text=self._relief.text))
        head.setTextFormat(Qt.TextFormat.PlainText)
        head.setWordWrap(True)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(12)
        layout.addWidget(head)
        layout.addWidget(self.subjects)
        layout.addLayout(form)
        layout.addWidget(self._fault)
        layout.addLayout(row)

    def _show(self) -> None:
        shown = []
        for subject in self._open:
            answer, text = self._answers.get(subject.key, ("", ""))
            shown.append(ToRead(subject, answer, text, "whoever takes over" if answer else ""))
        self.subjects.show_subjects(shown)

    def _on_answered(self, key: str, text: str) -> None:
        self._answers[key] = ("asked", text) if text else ("accepted", "")
        self._show()
        if not self.subjects.open_count:
            self.secret.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_go(self) -> None:
        person = str(self.people.currentData() or "")
        try:
            service.take(
                self._book,
                self.session.door,
                self._relief,
                person,
                self.secret.text(),
                self._answers,
            )
        except BookError as error:
            self._tell(error.message)
            return
        fault = self.session.hand_to(person, self._relief.outgoing)
        self.told = fault or f"{self.session.name_of(person)} has taken over."
        self.accept()

    def _on_stay(self) -> None:
        try:
            service.withdraw(self._book, self.session.person, self._relief)
        except BookError as error:
            self._tell(error.message)
            return
        self.told = "The relief is withdrawn."
        self.accept()

    def _tell(self, fault: str) -> None:
        self._fault.setText(fault)
        self._fault.show()
        self.secret.selectAll()
