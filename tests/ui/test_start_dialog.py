"""The first window: three ways in, driven by keyboard."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog, QLabel, QPushButton

from logbook.shift.new_book import template_choices
from logbook.ui import start_dialog
from logbook.ui.start_dialog import StartDialog, Want, Wish, choose_book, choose_new_book

RECENT = ("/books/north.logbook", "/books/south.logbook")


@pytest.fixture
def dialog(qtbot) -> StartDialog:
    """The dialog with two recent books and the shipped templates, shown."""
    return shown(qtbot, StartDialog(RECENT, template_choices()))


def shown(qtbot, made) -> StartDialog:
    """The dialog on the screen, told away after the test."""
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    return made


def press(dialog, words) -> None:
    """Press the button whose text has these words."""
    button = next(b for b in dialog.findChildren(QPushButton) if words in b.text())
    button.setFocus()
    QTest.keyClick(button, Qt.Key.Key_Space)


def texts(dialog) -> list[str]:
    """Every text the dialog shows."""
    return [label.text() for label in dialog.findChildren(QLabel) if label.isVisible()]


def test_the_newest_book_opens_with_enter(dialog):
    """The recent list has the focus's first row chosen; Enter takes it."""
    dialog.recent.setFocus()
    QTest.keyClick(dialog.recent, Qt.Key.Key_Return)
    assert dialog.wish == Wish(Want.BOOK, Path(RECENT[0]))
    assert not dialog.isVisible()
    assert dialog.result() == StartDialog.DialogCode.Accepted


def test_another_recent_book_is_chosen_by_arrow(dialog):
    """Down and Enter take the second."""
    dialog.recent.setFocus()
    QTest.keyClick(dialog.recent, Qt.Key.Key_Down)
    QTest.keyClick(dialog.recent, Qt.Key.Key_Return)
    assert dialog.wish == Wish(Want.BOOK, Path(RECENT[1]))


def test_recent_books_are_told_by_name_and_folder(dialog):
    """Two books of the same name in other folders can be told apart."""
    assert [dialog.recent.item(k).text().split() for k in range(2)] == [
        ["north", str(Path("/books"))],
        ["south", str(Path("/books"))],
    ]


def test_the_first_start_shows_no_empty_list(qtbot):
    """Without recent books the list is not there at all."""
    assert not shown(qtbot, StartDialog((), template_choices())).recent.isVisible()


def test_a_book_is_chosen_from_a_file(dialog, monkeypatch, tmp_path):
    """What the file dialog returns is the wish."""
    monkeypatch.setattr(start_dialog, "choose_book", lambda parent: tmp_path / "b.logbook")
    press(dialog, "Choose a file")
    assert dialog.wish == Wish(Want.BOOK, tmp_path / "b.logbook")


def test_a_new_book_has_its_template_and_author(dialog, monkeypatch, tmp_path):
    """Template, place and the name without blanks around it."""
    monkeypatch.setattr(start_dialog, "choose_new_book", lambda parent: tmp_path / "n.logbook")
    dialog.template.setCurrentIndex(1)
    QTest.keyClicks(dialog.author, "  Ada North ")
    press(dialog, "Choose where")
    template = template_choices()[1][0]
    assert dialog.wish == Wish(Want.NEW, tmp_path / "n.logbook", template, "Ada North")


@pytest.mark.parametrize("author", ["", "   ", "\t"])
def test_a_new_book_needs_somebody_who_starts_it(dialog, monkeypatch, author):
    """A blank name is refused with a sentence before any file is asked for."""
    monkeypatch.setattr(start_dialog, "choose_new_book", lambda parent: pytest.fail("asked"))
    dialog.author.setText(author)
    press(dialog, "Choose where")
    assert dialog.wish is None
    assert dialog.isVisible()
    assert "Write who starts the book." in texts(dialog)
    assert dialog.author.hasFocus()


def test_the_sample_has_a_folder(dialog, monkeypatch, tmp_path):
    """What the folder dialog returns is the wish."""
    monkeypatch.setattr(start_dialog, "choose_folder", lambda parent, title: tmp_path)
    press(dialog, "Choose a folder")
    assert dialog.wish == Wish(Want.SAMPLE, tmp_path)


@pytest.mark.parametrize("words", ["Choose a file", "Choose where", "Choose a folder"])
def test_a_file_dialog_that_is_left_leaves_all_as_it_was(dialog, monkeypatch, words):
    """No wish is made, and the dialog stays."""
    for name in ("choose_book", "choose_new_book", "choose_folder"):
        monkeypatch.setattr(start_dialog, name, lambda *told: None)
    dialog.author.setText("Ada North")
    press(dialog, words)
    assert dialog.wish is None
    assert dialog.isVisible()


def test_escape_gives_up(dialog):
    """Without a wish, and rejected."""
    QTest.keyClick(dialog, Qt.Key.Key_Escape)
    assert dialog.wish is None
    assert dialog.result() == StartDialog.DialogCode.Rejected


def test_what_went_wrong_before_is_told_on_top(qtbot):
    """The sentence shows; without one there is no empty line for it."""
    told = "The file is not a logbook; choose another."
    assert told in texts(shown(qtbot, StartDialog((), (), told)))
    assert "" not in texts(shown(qtbot, StartDialog((), ())))[:2]


@pytest.mark.parametrize(
    ("answer", "path"),
    [
        ("/b/plant", Path("/b/plant.logbook")),
        ("/b/plant.logbook", Path("/b/plant.logbook")),
        ("/b/plant.db", Path("/b/plant.db")),
        ("/b/plant v1.2", Path("/b/plant v1.2.logbook")),
        ("", None),
    ],
)
def test_the_ending_of_a_new_book_is_added_where_it_is_left_out(dialog, monkeypatch, answer, path):
    """A name with an ending keeps it; a version number at the end is none."""
    monkeypatch.setattr(QFileDialog, "getSaveFileName", lambda *told: (answer, ""))
    assert choose_new_book(dialog) == path


def test_an_existing_book_is_taken_as_it_is_named(dialog, monkeypatch):
    """Nothing is added to the name of a file that exists."""
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *told: ("/b/plant", ""))
    assert choose_book(dialog) == Path("/b/plant")
