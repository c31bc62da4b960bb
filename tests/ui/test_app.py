"""From start to window: what cannot be opened is told in a sentence, what goes wrong is kept."""

from __future__ import annotations

import logging
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QMessageBox
from shiboken6 import isValid

from logbook.logfile import log_path, start_logging
from logbook.ui.app import Shell, install_excepthook
from logbook.ui.prefs import Prefs, load_prefs, save_prefs
from logbook.ui.start_dialog import Want, Wish
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, apply_theme

WITHOUT_RIGHTS = """
import os, sys
from datetime import datetime
from pathlib import Path
from PySide6.QtWidgets import QApplication
from logbook.ui.app import Shell
app = QApplication([])
now = datetime.fromisoformat(sys.argv[2])
if os.geteuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)
shell = Shell(app, lambda: now)
print(shell.open(Path(sys.argv[1])))
print(shell.window is None)
"""


@pytest.fixture
def shell(qapp, clock, values):
    """The application without a window; what it opens is closed after the test."""
    clock.set(values.round_at)
    made = Shell(qapp, clock)
    yield made
    if made.window is not None and isValid(made.window):
        made.window.close()
    made.deleteLater()
    apply_theme(qapp, LIGHT_THEME)


def is_sentence(told) -> bool:
    """One line that begins with a capital or a path and ends with a stop."""
    return bool(told) and "\n" not in told and told.endswith(".") and "Traceback" not in told


# -- opening ------------------------------------------------------------------------------


def test_a_book_opens_in_a_window_and_is_remembered(shell, book_path):
    """Nothing to tell; the book is the newest recent one at the next start."""
    assert shell.open(book_path) == ""
    assert shell.window.isVisible()
    assert shell.window.book.path == book_path
    assert load_prefs().recent == (str(book_path),)


@pytest.mark.expects_log("book not opened")
def test_a_book_that_is_not_there_is_told(shell, tmp_path):
    """The sentence names the file; no window, no new file, nothing remembered."""
    told = shell.open(tmp_path / "gone.logbook")
    assert is_sentence(told)
    assert "gone.logbook" in told
    assert shell.window is None
    assert list(tmp_path.iterdir()) == []
    assert load_prefs().recent == ()


@pytest.mark.expects_log("book not opened")
@pytest.mark.parametrize("content", [b"", b"Shift log of Monday\n" * 400])
def test_a_file_that_is_no_book_is_told(shell, tmp_path, content):
    """An empty file and a text file are left as they are."""
    path = tmp_path / "notes.logbook"
    path.write_bytes(content)
    told = shell.open(path)
    assert is_sentence(told)
    assert str(path) in told
    assert path.read_bytes() == content


@pytest.mark.expects_log("book not opened")
def test_a_book_of_a_newer_program_is_told(shell, book_path):
    """It says which version the book has, and stays shut."""
    with closing(sqlite3.connect(book_path)) as plain:
        plain.execute("PRAGMA user_version = 99")
    told = shell.open(book_path)
    assert is_sentence(told)
    assert "99" in told
    assert shell.window is None


def test_a_book_without_the_right_to_write_is_told(book_path, values):
    """Somebody without rights to file and folder gets the sentence, not a window that cannot save."""
    folder = Path(tempfile.mkdtemp())  # where everybody may look
    try:
        path = folder / "plant.logbook"
        shutil.copy(book_path, path)
        path.chmod(0o444)
        folder.chmod(0o555)
        ran = subprocess.run(
            [sys.executable, "-c", WITHOUT_RIGHTS, str(path), values.round_at.isoformat()],
            capture_output=True,
            text=True,
            timeout=60,
            check=False,
            env={**os.environ, "QT_QPA_PLATFORM": "offscreen", "HOME": str(folder)},
        )
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)
    assert ran.returncode == 0, ran.stderr
    told, no_window = ran.stdout.splitlines()
    assert is_sentence(told)
    assert "read" in told or "written" in told
    assert no_window == "True"


@pytest.mark.expects_log("book not opened")
def test_a_failed_opening_leaves_the_window_as_it_is(shell, book_path, tmp_path):
    """The book that is open stays open and can be written."""
    shell.open(book_path)
    window = shell.window
    assert shell.open(tmp_path / "gone.logbook")
    assert shell.window is window
    assert window.isVisible()
    assert window.book.last_page().id > 0


def test_another_book_takes_the_place_of_the_first(shell, book_path, tmp_path, qtbot):
    """The window before closes with its book; both are recent, the newest first."""
    other = tmp_path / "other.logbook"
    shutil.copy(book_path, other)
    shell.open(book_path)
    first = shell.window
    shell.open(other)
    assert shell.window.book.path == other
    qtbot.waitUntil(lambda: not isValid(first) or not first.isVisible())
    assert shell.prefs.recent == (str(other), str(book_path))


# -- the start dialog ---------------------------------------------------------------------


@pytest.mark.expects_log("book not opened")
def test_the_start_dialog_comes_back_with_what_went_wrong(shell, in_dialog, tmp_path, keys):
    """A recent book that is gone: the dialog shows the sentence; Escape gives up."""
    shell.prefs = Prefs(recent=(str(tmp_path / "gone.logbook"),))
    told = []

    def second(dialog):
        told.extend(label.text() for label in dialog.findChildren(QLabel) if label.isVisible())
        keys.press(Qt.Key.Key_Escape)

    def first(dialog):
        in_dialog(second)
        dialog.recent.setFocus()
        QTest.keyClick(dialog.recent, Qt.Key.Key_Return)

    in_dialog(first)
    assert not shell.ask()
    assert any("gone.logbook" in text for text in told)


def test_a_book_is_opened_from_the_start_dialog(shell, in_dialog, book_path):
    """Enter on the recent book opens its window."""
    shell.prefs = Prefs(recent=(str(book_path),))

    def choose(dialog):
        dialog.recent.setFocus()
        QTest.keyClick(dialog.recent, Qt.Key.Key_Return)

    in_dialog(choose)
    assert shell.ask()
    assert shell.window.book.path == book_path


def test_a_new_book_is_begun_and_opened(shell, tmp_path, in_dialog):
    """The template's plant, with who started it among its people; a password may be put off."""
    path = tmp_path / "new.logbook"
    in_dialog(lambda dialog: dialog.reject())
    assert shell.fulfil(Wish(Want.NEW, path, "soybean-us", "Ada North")) == ""
    book = shell.window.book
    assert book.path == path
    assert "Ada North" in {person.name for person in book.plant_at(book.now()).people}


def test_a_new_book_is_not_begun_over_a_file(shell, book_path):
    """The sentence says so, and the file stays."""
    before = book_path.read_bytes()
    told = shell.fulfil(Wish(Want.NEW, book_path, "soybean-us", "Ada North"))
    assert is_sentence(told)
    assert book_path.read_bytes() == before
    assert shell.window is None


def test_a_folder_that_cannot_be_made_is_told(shell, tmp_path):
    """A file in the place of the sample's folder: one sentence, and no window."""
    (tmp_path / "file").write_text("in the way")
    told = shell.fulfil(Wish(Want.SAMPLE, tmp_path / "file"))
    assert is_sentence(told)
    assert shell.window is None


def test_a_sample_that_is_cancelled_leaves_nothing(shell, in_dialog, tmp_path, keys):
    """Escape stops the building; the file begun is gone, and the sentence says why."""
    in_dialog(lambda dialog: keys.press(Qt.Key.Key_Escape))
    told = shell.fulfil(Wish(Want.SAMPLE, tmp_path / "sample"))
    assert told == "The sample book was not built: it was cancelled."
    assert list((tmp_path / "sample").iterdir()) == []


@pytest.mark.slow
def test_the_sample_is_built_and_opened(shell, tmp_path):
    """The whole year, in some seconds, in a window on the round that is due by its own clock."""
    shell._clock = None
    assert shell.fulfil(Wish(Want.SAMPLE, tmp_path / "sample")) == ""
    assert shell.window.book.path.parent == tmp_path / "sample"
    assert shell.window.round.form.open_keys()


# -- palette ------------------------------------------------------------------------------


def test_f9_changes_the_palette_and_it_is_remembered(shell, book_path, qapp, qtbot):
    """Light to dark by key, at once and at the next start."""
    shell.prefs = Prefs(theme="light")
    apply_theme(qapp, LIGHT_THEME)
    shell.open(book_path)
    shell.window.activateWindow()
    qtbot.waitUntil(lambda: QApplication.activeWindow() is shell.window)
    QTest.keyClick(shell.window, Qt.Key.Key_F9)
    assert shell.theme() is DARK_THEME
    assert DARK_THEME.colours.window in qapp.styleSheet()
    assert load_prefs().theme == "dark"


@pytest.mark.parametrize("name", ["light", "dark", "system"])
def test_the_palette_kept_is_the_one_at_the_start(qapp, name):
    """The system's own choice is one of the two."""
    save_prefs(Prefs(theme=name))
    shell = Shell(qapp)
    wanted = {"light": [LIGHT_THEME], "dark": [DARK_THEME], "system": [LIGHT_THEME, DARK_THEME]}
    assert shell.theme() in wanted[name]
    assert shell.theme().colours.window in qapp.styleSheet()
    shell.deleteLater()
    apply_theme(qapp, LIGHT_THEME)


# -- unexpected errors --------------------------------------------------------------------


@pytest.fixture
def hooked(monkeypatch, qapp):
    """Our hook in the place of the test runner's, with a log file; both gone after the test."""
    root = logging.getLogger()
    before, level = list(root.handlers), root.level
    monkeypatch.setattr(sys, "excepthook", sys.__excepthook__)
    start_logging()
    install_excepthook()
    yield
    for box in boxes():
        box.close()
    for handler in [h for h in root.handlers if h not in before]:
        root.removeHandler(handler)
        handler.close()
    root.setLevel(level)


def boxes() -> list[QMessageBox]:
    """The message boxes now shown."""
    found = [w for w in QApplication.topLevelWidgets() if isinstance(w, QMessageBox)]
    return [w for w in found if w.isVisible()]


class Failing(QTimer):
    """A timer whose slot has a bug."""

    def start_once(self):
        """Fail at the next turn of the event loop."""
        self.setSingleShot(True)
        self.timeout.connect(self.fail)
        self.start(0)

    def fail(self):
        """Divide by nothing."""
        raise ZeroDivisionError("a bug of ours")


@pytest.mark.expects_log("unexpected error")
def test_an_unexpected_error_is_told_in_a_sentence_and_the_program_goes_on(hooked, qtbot, window):
    """A slot fails: one box without a stack, the details in the log file, the window alive."""
    timer = Failing(window)
    timer.start_once()
    qtbot.waitUntil(lambda: len(boxes()) == 1)
    text = boxes()[0].text()
    assert "kept as a draft" in text
    assert str(log_path()) in text
    assert "ZeroDivisionError" not in text
    written = log_path().read_text(encoding="utf-8")
    assert "ZeroDivisionError: a bug of ours" in written
    assert "in fail" in written
    QTest.keyClick(boxes()[0], Qt.Key.Key_Return)
    assert boxes() == []
    window.round.next_area()
    assert window.isVisible()


@pytest.mark.expects_log("unexpected error")
def test_errors_that_come_in_a_row_are_told_once(hooked, qtbot, window):
    """A fault at every repaint must not bury the window in boxes; each is logged."""
    for _ in range(5):
        Failing(window).start_once()
    qtbot.waitUntil(
        lambda: log_path().is_file() and log_path().read_text().count("a bug of ours") >= 5
    )
    assert len(boxes()) == 1
    QTest.keyClick(boxes()[0], Qt.Key.Key_Return)
    Failing(window).start_once()
    qtbot.waitUntil(lambda: len(boxes()) == 1)


def test_a_keyboard_interrupt_ends_the_program_quietly(hooked, qapp):
    """Ctrl+C in the terminal is no fault: no box, no log record."""
    sys.excepthook(KeyboardInterrupt, KeyboardInterrupt(), None)
    assert boxes() == []
    assert not log_path().exists()


def test_a_full_log_file_is_put_aside(hooked):
    """The next start begins a new one and keeps the one before."""
    path = log_path()
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("x" * 1_000_001)
    start_logging()
    assert not path.exists() or path.stat().st_size < 1000
    assert path.with_suffix(".old.log").stat().st_size == 1_000_001
