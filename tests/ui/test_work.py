"""Long work off the GUI thread: progress, cancel, failure, and no thread left."""

from __future__ import annotations

import logging
import threading

import pytest
from PySide6.QtCore import Qt, QThread, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QProgressBar, QPushButton

from logbook.ui.work import Job, JobDialog

PATIENCE_S = 20


@pytest.fixture
def dialog_for(qtbot):
    """Make dialogs; each is told away after the test."""
    made = []

    def make(task) -> JobDialog:
        dialog = JobDialog("Counting", task, None)
        qtbot.addWidget(dialog)
        made.append(dialog)
        return dialog

    yield make
    for dialog in made:
        assert not dialog.findChild(Job).isRunning()


def test_a_task_runs_beside_the_window_and_hands_back_its_result(dialog_for, qapp):
    """It runs on another thread; what it returns is the outcome."""
    where = []

    def task(progress, cancelled):
        where.append(QThread.currentThread() is qapp.thread())
        progress(1.0, "done")
        return {"pages": 7}

    dialog = dialog_for(task)
    assert dialog.perform()
    assert where == [False]
    assert dialog.outcome == {"pages": 7}
    assert dialog.error is None


def test_progress_shows_while_the_task_works(dialog_for, qtbot):
    """Bar and words follow; an empty text leaves the words as they stand."""
    reached, go_on = threading.Event(), threading.Event()

    def task(progress, cancelled):
        progress(0.25, "writing rounds")
        progress(0.5, "")
        reached.set()
        assert go_on.wait(PATIENCE_S)

    dialog = dialog_for(task)
    seen = []

    def look():
        bar = dialog.findChild(QProgressBar)
        if reached.is_set() and bar.value() == 500:
            seen.append((bar.maximum(), dialog.findChild(QLabel).text(), dialog.isVisible()))
            timer.stop()
            go_on.set()

    timer = QTimer(dialog)
    timer.setInterval(5)
    timer.timeout.connect(look)
    timer.start()
    assert dialog.perform()
    assert seen == [(1000, "writing rounds", True)]


@pytest.mark.parametrize("by_key", [True, False], ids=["Escape", "button"])
def test_cancel_asks_the_task_to_stop_and_waits_for_it(dialog_for, by_key):
    """The dialog stays until the task has ended, so nothing is half written behind it."""
    started, ended = threading.Event(), threading.Event()
    told = []

    def task(progress, cancelled):
        started.set()
        stop = threading.Event()
        for _ in range(PATIENCE_S * 100):
            if cancelled():
                break
            stop.wait(0.01)
        progress(0.9, "still here")
        ended.set()

    dialog = dialog_for(task)

    def cancel():
        if not started.is_set():
            return
        timer.stop()
        if by_key:
            QTest.keyClick(dialog, Qt.Key.Key_Escape)
        else:
            dialog.findChild(QPushButton).click()
        told.append(dialog.findChild(QLabel).text())
        told.append(dialog.findChild(QPushButton).isEnabled())

    timer = QTimer(dialog)
    timer.setInterval(5)
    timer.timeout.connect(cancel)
    timer.start()
    assert not dialog.perform()
    assert ended.is_set()
    assert told == ["Stopping…", False]
    assert dialog.findChild(QLabel).text() == "Stopping…"
    assert dialog.error is None


def test_a_failure_is_handed_back_and_noted(dialog_for, caplog):
    """The exception itself is there to be told of; its details are in the log."""

    def task(progress, cancelled):
        raise OSError(28, "No space left on device")

    dialog = dialog_for(task)
    with caplog.at_level(logging.INFO, "logbook.ui.work"):
        assert not dialog.perform()
    assert isinstance(dialog.error, OSError)
    assert dialog.outcome is None
    assert "No space left" in caplog.text


def test_a_task_that_ends_before_it_is_shown_closes_all_the_same(dialog_for):
    """A task of no length neither hangs nor loses its result."""
    for number in range(20):
        dialog = dialog_for(lambda progress, cancelled, n=number: n)
        assert dialog.perform()
        assert dialog.outcome == number


def test_closing_the_dialog_by_its_frame_is_a_cancel(dialog_for):
    """The window's close button asks the task to stop; the thread is not left behind."""
    started = threading.Event()

    def task(progress, cancelled):
        started.set()
        stop = threading.Event()
        for _ in range(PATIENCE_S * 100):
            if cancelled():
                return "stopped"
            stop.wait(0.01)
        return "ran on"

    dialog = dialog_for(task)

    def close():
        if started.is_set():
            timer.stop()
            dialog.close()

    timer = QTimer(dialog)
    timer.setInterval(5)
    timer.timeout.connect(close)
    timer.start()
    assert not dialog.perform()
    assert dialog.outcome == "stopped"
