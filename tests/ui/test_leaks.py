"""Windows that are closed are gone: their objects die, and nothing of theirs goes on."""

from __future__ import annotations

import gc
import weakref

import pytest
from PySide6.QtCore import QEvent, Qt, QThread, QTimer
from PySide6.QtWidgets import QApplication
from shiboken6 import isValid

from logbook.record import open_book
from logbook.ui.theme import LIGHT_THEME
from logbook.ui.window import LogbookWindow

ROUNDS = 5


def living(*kinds) -> list:
    """Python objects of some Qt classes whose C++ side still exists."""
    found = [o for o in gc.get_objects() if issubclass(type(o), kinds)]
    return [o for o in found if isValid(o)]


def clear(app) -> None:
    """Let everything go that only waits to be collected or deleted."""
    for _ in range(3):
        app.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        app.processEvents()
        gc.collect()


def used_window(book, qtbot) -> LogbookWindow:
    """A window that was worked with, as the shell shows it."""
    window = LogbookWindow(book, LIGHT_THEME)
    window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    window.show()
    qtbot.waitUntil(lambda: window.round.is_drawn)
    screen = window.round
    screen.show_area("flaking")
    screen.sheet.go_to("flake_thickness.fm1.left")
    screen._on_typed("flake_thickness.fm1.left", "0.52")
    screen.undo()
    screen.next_area()
    screen._on_clock()
    return window


@pytest.fixture
def closed(book_path, clock, values, qtbot, qapp):
    """Open, use and close a window several times; gives weak references to all of it."""
    clock.set(values.round_at)
    references = []
    for _ in range(ROUNDS):
        book = open_book(book_path, clock=clock)
        window = used_window(book, qtbot)
        parts = (window, window.round, window.round.sheet, window.round.areas, window.round.desk)
        references.append([weakref.ref(part) for part in (*parts, book)])
        window.close()
        del window, parts, book
    clear(qapp)
    return references


def test_closed_windows_die(closed):
    """Window, screen, form, list, desk and book: no reference keeps one of them."""
    alive = [type(ref()).__name__ for refs in closed for ref in refs if ref() is not None]
    assert alive == []
    assert living(LogbookWindow) == []


def test_closed_windows_leave_no_timer_and_no_thread(closed, qapp):
    """Nothing ticks on, and no worker is left."""
    assert [t for t in living(QTimer) if t.isActive()] == []
    assert [t for t in living(QThread) if t.isRunning() and t != qapp.thread()] == []


def test_closed_windows_leave_no_widget(closed):
    """No menu, no dialog, no box of a closed window is left on top."""
    assert [repr(w) for w in QApplication.topLevelWidgets()] == []


def test_a_window_with_an_open_menu_and_box_dies_too(book_path, clock, values, qtbot, qapp, keys):
    """What is open on it when it is closed goes with it."""
    clock.set(values.round_at)
    window = used_window(open_book(book_path, clock=clock), qtbot)
    window._on_about()
    window.round._on_reason_wanted("flake_thickness.fm1.left")
    reference = weakref.ref(window)
    window.close()
    del window
    clear(qapp)
    assert reference() is None
    assert [repr(w) for w in QApplication.topLevelWidgets()] == []
