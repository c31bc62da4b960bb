"""The Balance screen in a real window on a real book, driven by keys."""

import os

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from logbook.shift.period import PeriodKind
from logbook.ui.aside import Aside, EndedError
from logbook.ui.pdf_view import PdfDialog

PATIENCE_MS = 60_000
"""The second process loads what it needs before its first answer."""


@pytest.fixture
def screen(window, qtbot):
    """The screen, shown, with the month of the book read."""
    shown = window.show_screen("balance")
    qtbot.waitUntil(lambda: shown.seen is not None, timeout=PATIENCE_MS)
    return shown


def test_the_running_month_is_shown_with_what_is_missing(screen):
    """Two days of rounds: the month so far, and in words what could not be told."""
    assert screen.bar.title.text() == "March 2026, so far"
    assert "06:00" in screen.bar.told.text()
    assert screen.flow.verdict.text()
    assert screen.seen.view.accounts
    assert screen.seen.view.lacks


def test_any_period_is_read_as_typed_and_a_wrong_one_is_told(screen, qtbot):
    """What names no period stays in its field with a sentence; a day is read and shown."""
    QTest.keyClick(screen, Qt.Key.Key_G, Qt.KeyboardModifier.ControlModifier)
    assert QApplication.focusWidget() is screen.bar.any
    QTest.keyClicks(screen.bar.any, "2026-13")
    QTest.keyClick(screen.bar.any, Qt.Key.Key_Return)
    assert "no month 13" in screen.message.text
    assert screen.bar.any.text() == "2026-13"
    screen.bar.any.clear()
    QTest.keyClicks(screen.bar.any, "2027-01")
    QTest.keyClick(screen.bar.any, Qt.Key.Key_Return)
    assert "has not begun" in screen.message.text
    screen.bar.any.clear()
    QTest.keyClicks(screen.bar.any, "2026-03-02")
    QTest.keyClick(screen.bar.any, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: screen.bar.title.text() == "2 March 2026", timeout=PATIENCE_MS)
    assert screen.bar.any.text() == ""


def test_keys_go_from_period_to_period_and_not_into_the_future(screen, qtbot):
    """Ctrl+Right beyond the running month says that there is nothing."""
    QTest.keyClick(screen, Qt.Key.Key_Right, Qt.KeyboardModifier.ControlModifier)
    assert "last that has begun" in screen.message.text
    QTest.keyClick(screen, Qt.Key.Key_Left, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: screen.bar.title.text() == "February 2026", timeout=PATIENCE_MS)
    assert "Too little is known" in screen.flow.verdict.text()
    screen.bar.kind.setCurrentIndex(screen.bar.kind.findData(PeriodKind.DAY))
    screen.bar.kind.activated.emit(screen.bar.kind.currentIndex())
    qtbot.waitUntil(lambda: screen.bar.title.text() == "28 February 2026", timeout=PATIENCE_MS)


def test_every_page_is_reached_by_its_key(screen, qtbot):
    """Alt+1 to Alt+6; what is read day by day comes when its page is looked at."""
    pages = ["flow", "accounts", "meters", "trends", "compare", "what-if"]
    for number, page in enumerate(pages, 1):
        key = Qt.Key(Qt.Key.Key_0 + number)
        QTest.keyClick(screen, key, Qt.KeyboardModifier.AltModifier)
        assert screen.page == page
    qtbot.waitUntil(lambda: not screen._day_loads.is_busy, timeout=PATIENCE_MS)
    screen.show_page("trends")
    assert screen.trends.chart.at >= 0
    box = screen.what_if.boxes["extractor"]
    assert "does not tell" in box._told.text() or box.spins


def test_the_report_is_previewed(screen, window, qtbot):
    """Ctrl+P makes the PDF beside the window and shows its pages."""
    QTest.keyClick(screen, Qt.Key.Key_P, Qt.KeyboardModifier.ControlModifier)

    def dialog():
        return window.findChild(PdfDialog) or screen.findChild(PdfDialog)

    qtbot.waitUntil(lambda: dialog() is not None, timeout=PATIENCE_MS)
    dialog().close()
    qtbot.waitUntil(lambda: dialog() is None)


def test_a_window_closed_while_reading_ends_its_second_process(window, qtbot):
    """Nothing is left running, nothing is shown any more."""
    shown = window.show_screen("balance")
    qtbot.waitUntil(lambda: shown._aside._pool is not None)
    window.close()
    assert not shown._loads.is_busy
    with pytest.raises(EndedError):
        shown._aside.run(os.getpid)


def test_a_second_process_that_dies_is_started_again():
    """The next question is answered as if nothing had been."""
    aside = Aside()
    try:
        first = aside.run(os.getpid)
        assert first != os.getpid()
        with pytest.raises(EndedError):
            aside.run(os.abort)
        assert aside.run(os.getpid) != first
    finally:
        aside.close()
