"""Who is signed on at this PC: one session for all screens, locked when nobody is there.

In a book in which nobody has a PIN or password yet, people are only chosen, not checked; that
ends with the first engineer's password. Locking signs nobody off in the book and hides nothing:
the screens stay as they are, with what is half typed, and only writing waits for a sign-on.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QTimer, Signal
from PySide6.QtWidgets import QApplication, QWidget

from logbook.plant.model import Person, Plant, Role
from logbook.record import Book, BookError
from logbook.shift.plants import PlantHistory
from logbook.shift.roles import Deed, may
from logbook.shift.unproven import is_unproven, may_unproven
from logbook.shift.words import person_name

if TYPE_CHECKING:
    from logbook.shift.access import Door

LOCK_AFTER_S = 600.0
"""So long nobody has touched keyboard or mouse before the session locks."""
WARN_S = 30
"""So long before that it is told."""
TICK_MS = 1000
LOOK_TICKS = 15
"""So often, in ticks, it looks whether the person was relieved at another window."""
UNKNOWN = (
    "{name} has no PIN or password yet. A supervisor or an engineer gives the first one: "
    "Book, People (Ctrl+Shift+P)."
)
CHOOSE_OWN = "Somebody else knows this one, or it no longer fits your role: choose one of your own."

ACTIVITY = frozenset(
    {
        QEvent.Type.KeyPress,
        QEvent.Type.MouseButtonPress,
        QEvent.Type.MouseMove,
        QEvent.Type.Wheel,
        QEvent.Type.TouchBegin,
    }
)


class Session(QObject):
    """Knows who is signed on and what they may do. Screens ask it before they write."""

    changed = Signal()
    """Another person, locked, signed off, or PINs came into use."""
    warned = Signal(int)
    """Seconds until the session locks; 0 where it no longer will."""
    wanted = Signal(str)
    """Somebody must sign on to go on; the window asks, in the slot, and why."""

    def __init__(
        self,
        book: Book,
        parent: QObject | None = None,
        *,
        monotonic: Callable[[], float] = time.monotonic,
        lock_after_s: float = LOCK_AFTER_S,
    ) -> None:
        """A session on an open book with nobody signed on. `monotonic` gives rising seconds."""
        super().__init__(parent)
        self._book = book
        self._monotonic = monotonic
        self._lock_after = lock_after_s
        self.plants = PlantHistory(book)
        """The plant over time, read once for all screens."""
        self._door: Door | None = None
        self._secrets = book.has_credentials()
        self._person = ""
        self._locked_person = ""
        self._since = book.now()
        self._ticks = 0
        self.must_choose = ""
        """Who has signed on with a secret that lets nobody in before it is changed."""
        self._touched = monotonic()
        self._told = 0
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self.tick)

    # -- who ------------------------------------------------------------------------------

    @property
    def person(self) -> str:
        """Key of the person signed on; empty where nobody is, or while it is locked."""
        return self._person

    @property
    def locked_person(self) -> str:
        """Whose session is locked; empty where none is."""
        return self._locked_person

    @property
    def is_locked(self) -> bool:
        """True after it locked itself and before somebody signs on."""
        return bool(self._locked_person)

    @property
    def door(self) -> Door:
        """The book's door, which checks PINs and passwords; one for as long as the book is open."""
        if self._door is None:
            from logbook.shift.access import Door  # not before somebody comes to it

            self._door = Door(self._book, monotonic=self._monotonic)
        return self._door

    @property
    def uses_secrets(self) -> bool:
        """True once anybody in the book has a PIN or password."""
        return self._secrets

    def now(self) -> datetime:
        """The book's clock."""
        return self._book.now()

    @property
    def plant(self) -> Plant:
        """The plant as now defined."""
        self.plants.refresh()
        return self.plants.at(self._book.now())

    @property
    def people(self) -> tuple[Person, ...]:
        """Everybody in the book now."""
        return self.plant.people

    @property
    def role(self) -> Role | None:
        """Role of the person signed on."""
        return next((p.role for p in self.people if p.key == self._person), None)

    @property
    def is_unproven(self) -> bool:
        """True where somebody writes who could not sign on."""
        return is_unproven(self._person)

    @property
    def role_word(self) -> str:
        """The role in a word."""
        if self.is_unproven:
            return "to be confirmed"
        return str(self.role.value) if self.role else ""

    @property
    def name(self) -> str:
        """Name of the person signed on."""
        return self.name_of(self._person)

    def name_of(self, key: str) -> str:
        """Name of anybody; the key where the plant no longer has them."""
        return person_name(self.plant, key) if key else ""

    # -- what they may do -----------------------------------------------------------------

    def may(self, what: Deed) -> str:
        """Empty where the person signed on may do it; else why not."""
        if self.is_unproven:
            return may_unproven(what)
        role = self.role
        if role is None:
            return "Nobody is signed on; sign on with F3."
        return may(role, what)

    def ensure(self, what: Deed, why: str = "") -> str:
        """The same, but where nobody is signed on somebody is asked to first."""
        if not self._person:
            self.request(why)
        return self.may(what)

    def request(self, why: str = "") -> bool:
        """Ask for somebody to sign on. True where somebody is signed on afterwards."""
        self.wanted.emit(why)
        return bool(self._person)

    def request_once(self, why: str) -> bool:
        """True where somebody is signed on, maybe after being asked to."""
        return bool(self._person) or self.request(why)

    # -- coming and going -----------------------------------------------------------------

    def take(self, person: str) -> None:
        """Choose a person without a check; only while no PINs are in use."""
        if not self.uses_secrets:
            self._set(person)

    def sign_on(self, person: str, secret: str) -> str:
        """Sign on; whoever was before is signed off. Returns what is wrong, or nothing."""
        before = self._person or self._locked_person
        try:
            answer = self.door.sign_on(person, secret)
            self.must_choose = person if answer.must_change else ""
            if answer.person is None or answer.must_change:
                return CHOOSE_OWN if answer.must_change else answer.message
            if before and before != person:
                self.door.sign_off(before, "another person")
        except BookError as error:
            return error.message
        self._secrets = True
        self._set(person)
        return ""

    def choose_own(self, person: str, old: str, new: str) -> str:
        """Take a secret of one's own in the place of one that somebody gave, and sign on."""
        try:
            answer = self.door.change(person, old, new)
        except BookError as error:
            return error.message
        return self.sign_on(person, new) if answer.is_right else answer.message

    def set_first(self, person: str, secret: str) -> str:
        """Set the password of the book's first engineer, and sign them on."""
        described = self.described(person)
        if not self.is_first_engineer(person):
            return UNKNOWN.format(name=described.name)
        try:
            self.door.first_engineer(described.name, secret)
        except BookError as error:
            return error.message
        return self.sign_on(person, secret)

    def is_first_engineer(self, person: str) -> bool:
        """True of an engineer as long as no engineer has a password."""
        return (
            self.described(person).role is Role.ENGINEER
            and not self.door.has_secret(person)
            and self.door.wants_first_engineer()
        )

    def begin_unproven(self, name: str, reason: str) -> str:
        """Let somebody write who cannot sign on. Returns what is wrong, or nothing."""
        from logbook.shift.unproven import begin

        before = self._person or self._locked_person
        try:
            person = begin(self._book, name, reason)
            if before and self.uses_secrets:
                self.door.sign_off(before, "another person")
        except BookError as error:
            return error.message
        self._set(person)
        return ""

    def hand_to(self, person: str, before: str) -> str:
        """After a signed handover: the session of `before` ends, whoever took over is on.

        Both have just proved who they are. Returns what is wrong, or nothing.
        """
        if not self.uses_secrets:
            self._set(person)
            return ""
        try:
            if self._person and self._person not in {person, before}:
                self.door.sign_off(self._person, "another person")
            self.door.succeed(before, person)
        except BookError as error:
            return error.message
        self._set(person)
        return ""

    def described(self, key: str) -> Person:
        """A person by key. Raises KeyError."""
        for person in self.people:
            if person.key == key:
                return person
        raise KeyError(key)

    def sign_off(self, why: str = "") -> str:
        """Sign the person off. Returns what is wrong, or nothing."""
        leaving = self._person or self._locked_person
        try:
            if leaving and self.uses_secrets:
                self.door.sign_off(leaving, why)
        except BookError as error:
            return error.message
        self._set("")
        return ""

    def ask_secret(self, parent: QWidget | None, reason: str, person: str = "") -> str | None:
        """Let a person prove who they are, for a signature; their key, or None.

        It signs nobody on or off. With `person` only that one can.
        """
        from logbook.ui.sign_on import prove

        return prove(self, parent, reason, person)

    def lock(self) -> None:
        """Lock now: nothing is written until somebody signs on."""
        if self.is_unproven:
            self.sign_off("idle")
        elif self._person and self.uses_secrets:
            self._locked_person, self._person = self._person, ""
            self._watch(False)
            self._warn(0)
            self.changed.emit()

    def note_secrets(self) -> None:
        """Look whether somebody was given a PIN: from then on nobody is only chosen."""
        if not self._secrets and self._book.credentials():
            self._secrets = True
            self._set("")

    def _set(self, person: str) -> None:
        self._person, self._locked_person = person, ""
        self._since = self._book.now()
        self.touch()
        self._watch(bool(person) and self.uses_secrets)
        self.changed.emit()

    def _watch(self, on: bool) -> None:
        """See every key and mouse event of the program, only while there is something to lock."""
        app = QApplication.instance()
        assert app is not None
        app.removeEventFilter(self)
        self._timer.stop()
        if on:
            app.installEventFilter(self)
            self._timer.start()

    # -- time -----------------------------------------------------------------------------

    def touch(self) -> None:
        """Somebody is there."""
        self._touched = self._monotonic()
        self._warn(0)

    def tick(self) -> None:
        """Lock where nobody has been there for long, and warn before."""
        if not self._person or not self.uses_secrets:
            return
        self._ticks = (self._ticks + 1) % LOOK_TICKS
        if self._ticks == 0 and self._was_relieved():
            self._set("")
            return
        left = self._lock_after - (self._monotonic() - self._touched)
        if left <= 0 and self._told:
            self.lock()
        elif left <= WARN_S:
            # A PC that slept past the warning still warns: the time of it starts now.
            if not self._told and left < WARN_S - 2:
                self._touched = self._monotonic() - (self._lock_after - WARN_S)
                left = float(WARN_S)
            self._warn(max(1, round(left)))

    def _was_relieved(self) -> bool:
        try:
            return self.door.was_relieved(self._person, self._since)
        except BookError:
            return False  # the next save tells what is wrong with the book

    def _warn(self, seconds: int) -> None:
        if seconds != self._told:
            self._told = seconds
            self.warned.emit(seconds)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Any key or mouse event in the program counts as somebody there."""
        if event.type() in ACTIVITY:
            self.touch()
        return False

    def close(self) -> None:
        """Stop watching, before the book closes."""
        self._watch(False)
