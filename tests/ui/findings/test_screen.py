"""The Findings screen in a real window, by keyboard."""

from datetime import UTC, datetime

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from logbook.shift.findings import FindingPage, FindingRow, FindingsSeen
from logbook.ui.findings.table import FindingModel, FindingTable

AT = datetime(2026, 3, 3, 12, tzinfo=UTC)
PAGE = FindingPage(
    "drifts",
    "Drifts",
    ("Point", "Course"),
    (
        FindingRow(("Vapour", "rising"), "Vapour rises.", "dt_vapour_temp", AT),
        FindingRow(("The round", "copied"), "The whole round.", "", AT),
    ),
    "Two points.",
    "Mind this.",
)


@pytest.fixture
def screen(window, qtbot):
    """The screen, shown, with the book looked through."""
    shown = window.show_screen("findings")
    qtbot.waitUntil(lambda: shown.seen is not None, timeout=30_000)
    return shown


def test_the_table_is_a_proper_model(qapp, qtmodeltester):
    """Qt's own checks of a table model hold."""
    model = FindingModel()
    model.show_page(PAGE)
    qtmodeltester.check(model, force_py=True)


def test_arrows_choose_and_enter_opens(qtbot):
    """The words of the row follow; Enter asks for it."""
    table = FindingTable()
    qtbot.addWidget(table)
    table.show_page(PAGE)
    assert table.row_now is PAGE.rows[0]
    QTest.keyClick(table, Qt.Key.Key_Down)
    assert table.row_now is PAGE.rows[1]
    with qtbot.waitSignal(table.opened) as opened:
        QTest.keyClick(table, Qt.Key.Key_Return)
    assert opened.args == [PAGE.rows[1]]


def test_every_page_is_reached_by_its_key(screen):
    """Alt+1 to Alt+6, each saying what was looked at."""
    for number, page in enumerate(screen.seen.pages):
        QTest.keyClick(screen, Qt.Key(Qt.Key.Key_1 + number), Qt.KeyboardModifier.AltModifier)
        assert screen.page is page
        assert screen.told.text() == page.told


def test_enter_goes_to_the_trend_of_the_point(screen, qtbot):
    """A finding about a point opens its trend; one about a whole round says where to look."""
    screen._on_seen(FindingsSeen((PAGE,), "today", screen.seen.seal))
    with qtbot.waitSignal(screen.trend_wanted) as wanted:
        QTest.keyClick(screen.table, Qt.Key.Key_Return)
    assert wanted.args == ["dt_vapour_temp", AT]
    screen.table.selectRow(1)
    QTest.keyClick(screen.table, Qt.Key.Key_Return)
    assert "Review" in screen.message.text


def test_another_span_is_looked_through_again(screen, qtbot):
    """The days in the title follow."""
    before = screen.told_span.text()
    screen.span.setCurrentIndex(0)
    screen.span.activated.emit(0)
    qtbot.waitUntil(lambda: screen.told_span.text() != before, timeout=30_000)


def test_a_window_closed_while_looking_leaves_nothing_running(window, qtbot):
    """The thread that looks ends with the window."""
    shown = window.show_screen("findings")
    window.close()
    assert not shown._loads.is_busy
