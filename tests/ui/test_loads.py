"""Reading beside the window: the newest answer alone, faults told, and nobody left reading."""

from __future__ import annotations

import threading

import pytest
from PySide6.QtCore import QThread

from logbook.record import BookMissing
from logbook.ui.loads import LOADING, LoadingMark, Loads

PATIENCE_S = 20


@pytest.fixture
def loads(qtbot, window, book) -> Loads:
    """What reads `book` for a window that is shown."""
    return Loads(book, window)


@pytest.fixture
def told() -> list[object]:
    """What was shown and what was refused, in order."""
    return []


def test_it_reads_on_another_thread_as_of_the_moment_of_asking(loads, told, book, qapp, settled):
    """The book that the question gets is its own, read only, and its clock stands still."""

    def read(beside):
        own = QThread.currentThread() is not qapp.thread()
        return own, beside is not book, beside.writable, beside.now() == book.now()

    loads.ask(read, told.append, told.append)
    assert loads.is_busy
    settled()
    assert told == [(True, True, False, True)]


def test_only_the_newest_answer_is_shown(loads, told, settled):
    """Questions that were overtaken are never answered, whatever they would have found."""
    go_on = threading.Event()

    def slow(_):
        assert go_on.wait(PATIENCE_S)
        return "first"

    loads.ask(slow, told.append, told.append)
    loads.ask(lambda _: "second", told.append, told.append)
    loads.ask(lambda _: "third", told.append, told.append)
    go_on.set()
    settled()
    assert told == ["third"]


def test_a_fault_of_the_book_is_told_in_its_sentence(loads, told, settled):
    """Nothing is shown; what was on the screen stays."""

    def read(_):
        raise BookMissing("The book is gone; put it back.")

    loads.ask(read, lambda found: told.append(("shown", found)), told.append)
    settled()
    assert told == ["The book is gone; put it back."]


@pytest.mark.expects_log("a fault beside the window")
def test_any_other_fault_is_told_and_logged(loads, told, settled):
    """A fault of ours neither hangs the screen nor goes by unseen."""
    loads.ask(lambda _: 1 // 0, told.append, told.append)
    settled()
    assert "ZeroDivisionError" in told[0]
    assert not loads.is_busy


def test_what_is_dropped_is_never_shown(loads, told, qtbot):
    """Cancel: the thread ends by itself, and its answer goes nowhere."""
    go_on, ended = threading.Event(), threading.Event()

    def read(_):
        assert go_on.wait(PATIENCE_S)
        ended.set()

    loads.ask(read, told.append, told.append)
    loads.drop()
    assert not loads.is_busy
    go_on.set()
    qtbot.waitUntil(ended.is_set)
    loads.stop()
    assert told == []


def test_after_a_drop_the_next_question_is_answered(loads, told, settled):
    """Asked while the dropped one still runs, it waits for its turn."""
    go_on = threading.Event()
    loads.ask(lambda _: go_on.wait(PATIENCE_S), told.append, told.append)
    loads.drop()
    loads.ask(lambda _: "next", told.append, told.append)
    go_on.set()
    settled()
    assert told == ["next"]


def test_stopping_waits_until_nobody_reads(loads, told):
    """The book can be closed afterwards."""
    ended = []

    def read(beside):
        ended.append(beside.last_page().id)

    loads.ask(read, told.append, told.append)
    loads.stop()
    assert len(ended) == 1
    assert told == []


def test_the_mark_shows_only_what_takes_long(loads, told, qtbot, settled):
    """A quick answer changes nothing but the answer; a slow one is told quietly."""
    mark = LoadingMark(loads, parent=loads.parent())
    loads.ask(lambda _: "quick", told.append, told.append)
    settled()
    assert mark.isHidden()
    go_on = threading.Event()
    loads.ask(lambda _: go_on.wait(PATIENCE_S), told.append, told.append)
    qtbot.waitUntil(mark.isVisible)
    assert mark.text() == LOADING
    go_on.set()
    settled()
    assert mark.isHidden()
