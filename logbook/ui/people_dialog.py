"""The people of the plant: first PINs, forgotten ones, new people, recovery codes."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QLineEdit,
    QPushButton,
    QTreeWidget,
    QTreeWidgetItem,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.model import Person, Role
from logbook.record import BookError
from logbook.shift.access import key_for
from logbook.shift.codes import first_secret
from logbook.shift.people import people_lines
from logbook.shift.roles import Deed, may, may_give_secret
from logbook.ui.round.dialogs import AskDialog
from logbook.ui.session import Session
from logbook.ui.shown_once import GIVEN, show_once, show_recovery_code

TOLD = (
    "The first PIN or password is given by a supervisor (to operators and readers) or an engineer, "
    "who thereby vouches for the person. It is changed at the first sign-on and signs nothing."
)
ROW_HEIGHT, GAP = 25, 18
KEY = Qt.ItemDataRole.UserRole


class PeopleDialog(QDialog):
    """A list of everybody, and what the person signed on may do for them. Enter gives a secret."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        """The list as it is now. Raises BookError."""
        super().__init__(parent)
        self.setWindowTitle("People")
        self.resize(820, 560)
        self.session = session
        self.list = QTreeWidget()
        self.list.setAccessibleName("People of the plant")
        self.list.setHeaderLabels(["Name", "Role", "Crew", "PIN or password"])
        self.list.setRootIsDecorated(False)
        self.list.setUniformRowHeights(True)
        self.list.setAllColumnsShowFocus(True)
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.list.header().setSectionResizeMode(QHeaderView.ResizeMode.Interactive)
        self.list.itemActivated.connect(self._on_activated)
        self.list.currentItemChanged.connect(self._on_current)
        self._fault = QLabel()
        self._fault.setWordWrap(True)
        self.give_button = _button("&Give a PIN or password…", self.give)
        self.new_button = _button("&New person…", self.enter_person)
        self.code_button = _button("New &recovery code…", self.make_code)
        self._lay_out()
        self.reload()
        self.list.setFocus(Qt.FocusReason.OtherFocusReason)

    def _lay_out(self) -> None:
        told = QLabel(TOLD)
        told.setWordWrap(True)
        told.setProperty("role", "muted")
        close = _button("Close", self.accept)
        row = QHBoxLayout()
        for button in (self.give_button, self.new_button, self.code_button):
            row.addWidget(button)
        row.addStretch(1)
        row.addWidget(close)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(18, 16, 18, 14)
        layout.setSpacing(10)
        layout.addWidget(told)
        layout.addWidget(self.list, 1)
        layout.addWidget(self._fault)
        layout.addLayout(row)

    @property
    def chosen(self) -> Person | None:
        """The person chosen in the list."""
        item = self.list.currentItem()
        return self.session.described(item.data(0, KEY)) if item is not None else None

    def choose(self, key: str) -> None:
        """Choose a person in the list."""
        for place in range(self.list.topLevelItemCount()):
            item = self.list.topLevelItem(place)
            if item is not None and item.data(0, KEY) == key:
                self.list.setCurrentItem(item)

    def reload(self, key: str = "") -> None:
        """Show everybody as they are now, with `key` chosen."""
        self.list.clear()
        for line in people_lines(self.session.door, self.session.plant):
            words = [line.person.name, line.role, line.crew, line.secret]
            item = QTreeWidgetItem(words)
            item.setData(0, KEY, line.person.key)
            item.setSizeHint(3, QSize(1, ROW_HEIGHT))
            if line.needs_help:
                strong = item.font(3)
                strong.setBold(True)
                item.setFont(3, strong)
            self.list.addTopLevelItem(item)
        for column in range(3):
            self.list.resizeColumnToContents(column)
            self.list.setColumnWidth(column, self.list.columnWidth(column) + GAP)
        self.choose(key or self.session.person)
        if self.list.currentItem() is None and self.list.topLevelItemCount():
            self.choose(self.session.plant.people[0].key)

    def say(self, told: str, *, is_fault: bool = False) -> None:
        """Say what was done, or why not."""
        self._fault.setProperty("role", "fault" if is_fault else "muted")
        self._fault.style().unpolish(self._fault)
        self._fault.style().polish(self._fault)
        self._fault.setText(told)

    @property
    def told(self) -> str:
        """What it says."""
        return self._fault.text()

    def _on_activated(self, _item: QTreeWidgetItem) -> None:
        self.give()

    def _on_current(self) -> None:
        self.say("")
        person = self.chosen
        mine = person is not None and person.key == self.session.person
        self.code_button.setEnabled(mine and self.session.role is Role.ENGINEER)
        self.code_button.setToolTip("Engineers only, each for themselves")

    # -- what is done ---------------------------------------------------------------------

    def give(self) -> None:
        """Give the person chosen a first PIN or password, or a new one for a forgotten one."""
        person = self.chosen
        if person is None:
            return
        giver = self._signed_on()
        refused = may_give_secret(giver, person) if giver else self.session.may(Deed.RESET_SECRETS)
        if giver and giver.key == person.key and self.session.door.has_secret(person.key):
            self._change_own(person)
            return
        if refused or not self._proves(f"to give {person.name} a PIN or password"):
            self.say(refused or "Nothing was given.", is_fault=bool(refused))
            return
        secret = first_secret(person)
        try:
            self.session.door.give(self.session.person, person.key, secret)
        except BookError as error:
            self.say(error.message, is_fault=True)
            return
        self._show(person, secret)

    def _change_own(self, person: Person) -> None:
        from logbook.ui.change_secret import change_own

        changed = change_own(self.session, person, self)
        self.reload(person.key)
        self.say("Changed." if changed else "Nothing was changed.")

    def enter_person(self) -> None:
        """Enter somebody new, with a first PIN or password."""
        refused = self.session.may(Deed.DEFINE)
        person = None if refused else ask_person(self.session, self)
        if person is None or not self._proves(f"to enter {person.name}"):
            self.say(refused or "Nobody was entered.", is_fault=bool(refused))
            return
        secret = first_secret(person)
        try:
            self.session.door.enrol(self.session.person, person, secret)
        except BookError as error:
            self.say(error.message, is_fault=True)
            return
        self._show(person, secret)

    def make_code(self) -> None:
        """Make the engineer who is signed on a new recovery code."""
        person = self._signed_on()
        refused = may(person.role, Deed.DEFINE) if person else self.session.may(Deed.DEFINE)
        if refused or not self._proves("to make a new recovery code"):
            self.say(refused or "No code was made.", is_fault=bool(refused))
            return
        fault = show_recovery_code(self.session, self.session.person, self)
        self.reload()
        self.say(fault or "The new code holds, the one before no longer.", is_fault=bool(fault))

    def _show(self, person: Person, secret: str) -> None:
        show_once("First PIN or password", GIVEN.format(name=person.name), secret, self)
        self.reload(person.key)
        self.say(f"{person.name} chooses one of their own at the first sign-on.")

    def _signed_on(self) -> Person | None:
        found = (p for p in self.session.people if p.key == self.session.person)
        return next(found, None)

    def _proves(self, why: str) -> bool:
        """The person signed on proves it again: this must not be done at a PC left alone."""
        if not self.session.uses_secrets:
            self.say("Nobody has a PIN yet; the first engineer sets a password first (F3).")
            return False
        return self.session.ask_secret(self, why, self.session.person) is not None


def ask_person(session: Session, parent: QWidget | None) -> Person | None:
    """Ask who somebody new is."""
    dialog = AskDialog("New person", "A key made of the name stands for them in the book.", parent)
    name, role, crew, trainee = QLineEdit(), QComboBox(), QComboBox(), QComboBox()
    for one in Role:
        role.addItem(one.value.capitalize(), one)
    role.setCurrentIndex(role.findData(Role.OPERATOR))
    crew.addItem("None (day staff)", None)
    for each in session.plant.calendar.crews:
        crew.addItem(each.name, each.key)
    trainee.addItem("Experienced", False)
    trainee.addItem("Trainee: a handover to them needs more care", True)
    fields = (("Name", name), ("Role", role), ("Crew", crew), ("Experience", trainee))
    for words, field in fields:
        dialog.form.addRow(words, field)
    name.setFocus(Qt.FocusReason.OtherFocusReason)

    def check() -> str:
        words = " ".join(name.text().split()).casefold()
        if not words:
            return "Type the name."
        known = any(person.name.casefold() == words for person in session.people)
        return "There is somebody of that name; tell the two apart." if known else ""

    accepted = dialog.ask(check, "Enter them")
    words = " ".join(name.text().split())
    made = Person(
        key_for(words, session.plant),
        words,
        Role(role.currentData()),
        crew.currentData(),
        trainee.currentData(),
    )
    dialog.deleteLater()
    return made if accepted else None


def _button(words: str, slot: Callable[[], None]) -> QPushButton:
    button = QPushButton(words)
    button.setAutoDefault(False)
    button.clicked.connect(slot)
    return button
