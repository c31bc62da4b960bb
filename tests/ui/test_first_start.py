"""The first start: a new book, its first engineer, and the password that begins sign-on."""

from __future__ import annotations

from datetime import timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from logbook.ui.app import Shell
from logbook.ui.start_dialog import Want, Wish

PASSWORD = "seven damp owls counting"  # noqa: S105 -- of an invented person
PIN = "480517"
CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def shell(qapp, qtbot):
    """A shell whose window is closed afterwards."""
    made = Shell(qapp)
    yield made
    if made.window is not None:
        made.window.close()
    made.deleteLater()
    qtbot.wait(1)


def begin(shell, tmp_path):
    """Start a new book as the start dialog would."""
    wish = Wish(Want.NEW, tmp_path / "new.logbook", "soybean-metric", "Edda Ambertwist")
    assert shell.fulfil(wish) == ""
    return shell.window


def test_a_new_book_asks_its_first_engineer_for_a_password(shell, tmp_path, keys, in_dialog):
    """Typed twice, the engineer is signed on, and the book knows the role."""

    def act(dialog):
        keys.type(PASSWORD)
        keys.press(Qt.Key.Key_Tab)
        in_dialog(lambda code: keys.press(Qt.Key.Key_Return))
        keys.enter(PASSWORD)

    in_dialog(act)
    window = begin(shell, tmp_path)
    assert window.session.door.has_recovery_code(window.session.person)
    assert window.session.name == "Edda Ambertwist"
    assert window.session.role_word == "engineer"
    assert not window.round.bar.person.isVisible()


def test_the_password_can_be_put_off(shell, tmp_path, keys, in_dialog):
    """Left empty, the engineer is only chosen, and names stay to be chosen."""
    in_dialog(lambda dialog: keys.press(Qt.Key.Key_Return))
    window = begin(shell, tmp_path)
    assert window.session.name == "Edda Ambertwist"
    assert not window.session.uses_secrets
    assert window.round.bar.person.isVisible()


def test_a_form_that_is_open_while_it_locks_keeps_its_text_and_asks_who_it_is(
    window, screen, book, keys, in_dialog
):
    """The lock comes while an entry is half typed; accepted, the PIN is asked over the form."""
    engineer = next(p for p in window.session.people if p.role.value == "engineer")
    assert window.session.set_first(engineer.key, PASSWORD) == ""

    def act(form):
        keys.type("Belt slipped")
        window.session.lock()
        in_dialog(lambda dialog: keys.enter(PASSWORD))
        keys.chord(Qt.Key.Key_Return, CTRL)

    in_dialog(act)
    QTest.keyClick(window, Qt.Key.Key_E, CTRL)
    entry = book.entries(book.now() - timedelta(hours=1), book.now() + timedelta(seconds=1))[-1]
    assert (entry.text, entry.person) == ("Belt slipped", engineer.key)


def test_a_form_refused_at_the_door_writes_nothing_and_stays(window, book, keys, in_dialog):
    """The sign-on is given up: the form is still there with its text, the book without it."""
    engineer = next(p for p in window.session.people if p.role.value == "engineer")
    window.session.set_first(engineer.key, PASSWORD)
    seen: list[str] = []

    def act(form):
        keys.type("Belt slipped")
        window.session.lock()
        in_dialog(lambda dialog: keys.press(Qt.Key.Key_Escape))
        keys.chord(Qt.Key.Key_Return, CTRL)
        seen.extend([form._fault.text(), form.words])
        form.reject()

    in_dialog(act)
    QTest.keyClick(window, Qt.Key.Key_E, CTRL)
    assert seen == ["Nobody is signed on; sign on with F3.", "Belt slipped"]
    assert book.entries(book.created_at, book.now() + timedelta(seconds=1)) == []
