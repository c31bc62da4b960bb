"""A night that has something to hand over, people with PINs, and the screens for both crews."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from logbook.record import Book, NewResponse, NewSafetyState, corrected, open_book
from logbook.shift.access import Door
from logbook.shift.codes import first_secret
from logbook.shift.signing import finish
from logbook.ui.handover.desk import HandoverDesk, NotesTyped, printed
from logbook.ui.handover.screen import HandoverScreen
from logbook.ui.review.screen import ReviewScreen
from logbook.ui.session import Session
from logbook.ui.theme import LIGHT_THEME, apply_theme

NOW = datetime.fromisoformat("2026-03-03T16:05:00+00:00")
"""10:05 local: the night from 18:00 to 06:00 is over."""
LAST_ROUND = datetime.fromisoformat("2026-03-03T10:00:00+00:00")
"""04:00 local, the last round of the night."""
ENGINEER, PASSWORD = "technical_head", "four quiet herons wade upstream"
SECRETS = {
    "operator_b": "482913",
    "operator_a": "730258",
    "lead_b": "two lanterns above the weir",
    "lead_a": "seven otters crossing the ford",
}
"""Night was crew B."""
OUT = "bean_feed_rate"


@pytest.fixture(scope="session")
def night_book(filled_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The filled book with PINs, an open action deviation, a correction and a bypass."""
    path = tmp_path_factory.mktemp("night") / "plant.logbook"
    path.write_bytes(filled_book.read_bytes())
    with open_book(path, clock=lambda: NOW - timedelta(minutes=3)) as book:
        door = Door(book)
        door.first_engineer("Technical head", PASSWORD)
        for person, secret in SECRETS.items():
            first = first_secret(door.person(person))
            door.give(ENGINEER, person, first)
            assert door.change(person, first, secret).is_right
        reading = book.of_round(LAST_ROUND)[OUT]
        row = corrected(reading, why="feeler read again", value=69.0, typed="69")
        saved = book.write("operator_b", [row], kind="correction")
        done = NewResponse(saved.ids[0], "Feed gate eased by hand", LAST_ROUND)
        bypass = NewSafetyState(
            at=LAST_ROUND,
            kind="bypass",
            what="Low level trip of the work tank",
            area="recovery",
            authorised_by="Shift lead B",
            until_at=NOW + timedelta(hours=2),
        )
        book.write("operator_b", [done, bypass])
    return path


@pytest.fixture(scope="session")
def handed_book(night_book: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same book, the night handed over by its operator."""
    path = tmp_path_factory.mktemp("handed") / "plant.logbook"
    path.write_bytes(night_book.read_bytes())
    with open_book(path, clock=lambda: NOW - timedelta(minutes=2)) as book:
        desk = HandoverDesk(book)
        desk.keep_notes("operator_b", NotesTyped(next_shift="Watch the feed gate."))
        desk.refresh()
        signing = desk.begin_outgoing(Door(book), "operator_b", SECRETS["operator_b"])
        finish(book, signing, printed(book, signing.document))
    return path


@pytest.fixture
def handed(handed_book: Path, tmp_path: Path, clock) -> Iterator[Book]:
    """A copy of the book with the night handed over, open."""
    path = tmp_path / "handed.logbook"
    path.write_bytes(handed_book.read_bytes())
    clock.set(NOW)
    book = open_book(path, clock=clock)
    yield book
    book.close()


@pytest.fixture
def night_path(night_book: Path, tmp_path: Path) -> Path:
    """A copy of the book of the night."""
    path = tmp_path / "night.logbook"
    path.write_bytes(night_book.read_bytes())
    return path


@pytest.fixture
def night(night_path: Path, clock) -> Iterator[Book]:
    """The copy, open."""
    clock.set(NOW)
    book = open_book(night_path, clock=clock)
    yield book
    book.close()


@pytest.fixture
def second(night: Book, night_path: Path, clock) -> Iterator[Book]:
    """The same book in another window."""
    book = open_book(night_path, clock=clock, seat_name="Office")
    yield book
    book.close()


@pytest.fixture
def to_front(qtbot) -> Callable[[QWidget], None]:
    """Make a screen the one that gets the keys."""

    def has_keys(screen: QWidget) -> bool:
        QApplication.processEvents()  # a window that closes gives the focus away late
        focus = QApplication.focusWidget()
        if focus is not None and screen.isAncestorOf(focus):
            return True
        screen.activateWindow()
        screen.setFocus()
        return False

    def bring(screen: QWidget) -> None:
        qtbot.waitUntil(lambda: has_keys(screen) and has_keys(screen))

    return bring


@pytest.fixture
def show(qtbot, qapp, to_front, settled) -> Iterator[Callable]:
    """Show a screen of a class on a book with somebody signed on."""
    apply_theme(qapp, LIGHT_THEME)
    sessions: list[Session] = []
    screens: list[
        QWidget
    ] = []  # a screen that only a test holds would end with it, dialogs and all

    def shown(kind: type, book: Book, person: str = "") -> QWidget:
        session = Session(book)
        sessions.append(session)
        if person:
            assert session.sign_on(person, SECRETS[person]) == ""
        screen = kind(book, LIGHT_THEME, session)
        qtbot.addWidget(screen)
        screens.append(screen)
        screen.resize(1280, 740)
        screen.show()
        qtbot.waitExposed(screen)
        to_front(screen)
        screen.enter()
        settled()
        return screen

    yield shown
    settled()
    for session in sessions:
        session.close()


@pytest.fixture
def review(show, night: Book) -> ReviewScreen:
    """The Review screen, a supervisor of the next crew at it."""
    return show(ReviewScreen, night, "lead_a")


@pytest.fixture
def handover(show, night: Book) -> HandoverScreen:
    """The Handover screen, an operator of the night at it."""
    return show(HandoverScreen, night, "operator_b")


@pytest.fixture
def sign(in_dialog, settled) -> Callable[..., list[str]]:
    """Arrange that the next dialog is signed with a secret; returns what it said last."""

    def arrange(secret: str, person: str = "") -> list[str]:
        told: list[str] = []

        def act(dialog: QWidget) -> None:
            if person:
                dialog.people.setCurrentIndex(dialog.people.findData(person))
            QTest.keyClicks(dialog.secret, secret)
            QTest.keyClick(dialog.secret, Qt.Key.Key_Return)
            settled()
            told.append("" if dialog._fault.isHidden() else dialog._fault.text())

        in_dialog(act)
        return told

    return arrange
