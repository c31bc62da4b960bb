"""The window on a book: its menus, its boxes, how it closes, and how it looks at each size."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QMessageBox, QPushButton
from shiboken6 import isValid

from logbook.record import open_book
from logbook.ui.help_texts import CAUTIONS, KEYS, about_text
from logbook.ui.round.actions import KEYS as ROUND_KEYS

THICK = "flake_thickness.fm1.left"
SIZES = [(1024, 700), (1280, 800), (1920, 1080)]


def entries(window) -> dict[str, str]:
    """Every entry of the menus with its key."""
    found = {}
    for top in window.menuBar().actions():
        for action in top.menu().actions():
            found[action.text()] = action.shortcut().toString()
    return found


# -- menus --------------------------------------------------------------------------------


def test_the_menu_has_every_action_of_the_screen_with_its_key(window):
    """Whoever knows no key finds the command, and the key beside it."""
    shown = entries(window)
    assert ROUND_KEYS.keys() <= shown.keys()
    assert {name: shown[name] for name in ROUND_KEYS} == {
        name: QKeySequence(key).toString() for name, key in ROUND_KEYS.items()
    }
    assert [a.text() for a in window.round.actions()] == list(ROUND_KEYS)


def test_no_key_has_two_meanings(window):
    """A key that is given twice would do neither."""
    keys = [key for key in entries(window).values() if key]
    assert len(keys) == len(set(keys))


def test_the_help_names_the_key_of_every_entry(window):
    """No command has a key that the list of keys leaves out."""
    told = " ".join(keys for keys, _ in KEYS).replace("Page Down", "PgDown")
    told = told.replace("Page Up", "PgUp")
    keys = {key for key in entries(window).values() if key}
    assert {key for key in keys if key not in told} <= {"F1", "Ctrl+O", "Ctrl+Q"}


def test_the_title_names_book_and_program(window, template_plant):
    """The title bar tells which plant and which round."""
    assert template_plant.name in window.windowTitle()
    assert window.windowTitle().endswith("Crush Plant Shift Logbook")


def test_a_command_of_the_menu_does_what_its_key_does(window):
    """Next area by menu goes where Page Down goes."""
    screen = window.round
    first = screen.area
    next(a for a in screen.actions() if a.text() == "Next area").trigger()
    second = screen.area
    next(a for a in screen.actions() if a.text() == "Previous area").trigger()
    assert screen.area == first != second


def test_another_book_is_asked_for_by_key(window, qtbot):
    """Ctrl+O tells the application, which owns the start dialog."""
    with qtbot.waitSignal(window.another_wanted, timeout=1000):
        QTest.keyClick(window, Qt.Key.Key_O, Qt.KeyboardModifier.ControlModifier)


# -- boxes --------------------------------------------------------------------------------


def box_of(window) -> QMessageBox:
    """The one box that is open on the window."""
    (box,) = [b for b in window.findChildren(QMessageBox) if b.isVisible()]
    return box


@pytest.mark.parametrize("entry", ["Keys", "Cautions", "About"])
def test_a_box_of_the_help_menu_opens_and_closes(window, qtbot, entry):
    """Enter closes it, and it is gone for good."""
    help_menu = window.menuBar().actions()[-1].menu()
    next(a for a in help_menu.actions() if a.text() == entry).trigger()
    box = box_of(window)
    assert box.windowTitle() == entry
    assert len(box.text()) > 40
    QTest.keyClick(box, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: not isValid(box))


def test_about_names_the_file_and_the_last_page(window, book_path, qtbot):
    """What whoever helps will ask for: version, path, SQLite, seal."""
    window._on_about()
    box = box_of(window)
    page = window.book.last_page()
    assert str(book_path) in box.text()
    assert page.person in box.text()
    assert sqlite3.sqlite_version in box.text()
    box.close()


def test_a_book_s_name_is_no_markup(book_path, clock):
    """A file name with brackets shows as it is."""
    path = book_path.with_name("a <b>b & c.logbook")
    book_path.rename(path)
    with open_book(path, clock=clock, writable=False) as book:
        assert "a &lt;b&gt;b &amp; c.logbook" in about_text("1.0", book)


def test_cautions_are_all_shown(window):
    """Hexane, hot and turning parts, and that the book is no alarm."""
    window._on_cautions()
    box = box_of(window)
    text = box.text()
    box.close()
    assert text.count("<p>") == len(CAUTIONS)
    assert "no alarm" in text
    assert "hexane" in text.casefold()


# -- closing ------------------------------------------------------------------------------


def test_closing_keeps_what_is_typed_and_closes_the_book(window, book_path):
    """A value typed a moment ago is a draft in the file, and no file is left open beside it."""
    window.round.show_area("flaking")
    window.round.sheet.go_to(THICK)
    window.round._on_typed(THICK, "0.3")
    assert book_path.with_name(f"{book_path.name}-wal").exists()
    window.close()
    assert not book_path.with_name(f"{book_path.name}-wal").exists()
    with closing(sqlite3.connect(book_path)) as plain:
        assert plain.execute("SELECT point, typed FROM draft").fetchall() == [(THICK, "0.3")]


def test_closing_by_key_ends_the_window(window, qtbot):
    """Ctrl+Q closes it like its frame does."""
    QTest.keyClick(window, Qt.Key.Key_Q, Qt.KeyboardModifier.ControlModifier)
    assert not window.isVisible()


# -- at every size ------------------------------------------------------------------------


@pytest.fixture(params=SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
def sized(request, window, qtbot):
    """The window at a usual size of screens."""
    window.resize(*request.param)
    qtbot.waitUntil(lambda: (window.width(), window.height()) == request.param)
    return window


def test_the_window_keeps_the_size_it_is_given(sized):
    """No part of it needs more room than the smallest screen has, in any area."""
    before = sized.size()
    for area in sized.round.desk.plant.areas:
        sized.round.show_area(area.key)
        QApplication.processEvents()
        assert sized.size() == before, area.key


def test_every_field_lies_inside_the_form(sized):
    """In every area each field lies in the width of the form, its editor just on it."""
    screen = sized.round
    for area in screen.desk.plant.areas:
        screen.show_area(area.key)
        sheet = screen.sheet
        for key, cell in sheet._placed.cells.items():
            assert cell.box.left() >= 0
            assert cell.box.right() < sheet.viewport().width(), key
            assert cell.box.contains(cell.entry), key


def test_the_field_in_use_is_always_seen_whole(sized):
    """Going through all fields of the largest area, editor and cell agree and are in sight."""
    screen = sized.round
    screen.show_area("flaking")
    sheet = screen.sheet
    for key in [k for k in sheet.keys if screen.form.is_open(k)]:
        sheet.go_to(key)
        offset = sheet.verticalScrollBar().value()
        assert sheet._editor.geometry() == sheet._placed.cells[key].entry.translated(0, -offset)
        assert sheet.viewport().rect().contains(sheet._editor.geometry()), key


def test_what_is_typed_is_seen_whole_in_its_field(sized):
    """The text and a cursor fit between the edges of the editor."""
    screen = sized.round
    screen.show_area("flaking")
    sheet = screen.sheet
    for key in [k for k in sheet.keys if screen.form.is_open(k)]:
        point = screen.form.fields[key].point
        if not point.kind.is_numeric:
            continue
        sheet.go_to(key)
        editor = sheet._editor
        high = point.limits.plausible_high
        text = f"{high if high is not None else 9999:.{point.decimals}f}"
        margins = editor.textMargins()
        room = editor.width() - 16 - margins.left() - margins.right()
        assert editor.fontMetrics().horizontalAdvance(text) <= room, (key, text)


def test_the_response_line_is_seen_whole(sized):
    """The strip under a value beyond its action limit is in sight with its line."""
    screen = sized.round
    screen.show_area("flaking")
    sheet = screen.sheet
    key = [k for k in sheet.keys if screen.form.is_open(k) and "thickness" in k][-1]
    sheet.go_to(key)
    screen._on_typed(key, "0.52")
    sheet._enter_answer(key)
    assert sheet._answer.isVisible()
    assert sheet.viewport().rect().contains(sheet._answer.geometry())


def test_buttons_and_lists_show_their_words_whole(sized):
    """No button, chosen mode or chosen person is cut."""
    for button in sized.round.findChildren(QPushButton):
        if button.isVisible():
            assert button.width() >= button.minimumSizeHint().width(), button.text()
    for box in sized.round.findChildren(QComboBox):
        if box.isVisible():
            text = box.fontMetrics().horizontalAdvance(box.currentText())
            assert text + 40 <= box.width(), box.currentText()


def test_parts_of_the_screen_do_not_overlap(sized):
    """Bar, list, head, form, panel and message stand beside or under one another."""
    screen = sized.round
    parts = (screen.bar, screen.areas, screen.head, screen.sheet, screen.panel, screen.message)
    boxes = [QRect(part.mapTo(sized, QPoint()), part.size()) for part in parts]
    for k, box in enumerate(boxes):
        assert sized.rect().contains(box), type(parts[k]).__name__
        assert not any(box.intersects(other) for other in boxes[k + 1 :])


def test_cautions_of_the_areas_are_seen_whole(sized):
    """A caution is never cut: its label is as high as its words need at its width."""
    screen = sized.round
    for area in screen.desk.plant.areas:
        screen.show_area(area.key)
        QApplication.processEvents()
        label = screen.head.findChildren(QLabel)[1]
        if label.text():
            assert label.height() >= label.heightForWidth(label.width()), area.key
