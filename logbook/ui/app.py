"""The application: log file, unexpected errors, palette, and the way from start to window."""

from __future__ import annotations

import faulthandler
import logging
import sys
import traceback
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from logbook.clock import Clock, open_by_its_clock, utc_now
from logbook.logfile import log_path, start_logging
from logbook.record import Book, BookError, open_book
from logbook.ui.prefs import Prefs, load_prefs, save_prefs
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, Theme, apply_theme
from logbook.ui.window import LogbookWindow

if TYPE_CHECKING:
    from logbook.ui.start_dialog import Wish
    from logbook.ui.work import Progress

log = logging.getLogger(__name__)

FAULT_BOX = "unexpected-error"
"""Object name of the box that tells of an unexpected error."""


class Shell(QObject):
    """Owns the window and changes it for another."""

    def __init__(self, app: QApplication, clock: Clock | None = None) -> None:
        """A shell without a window. `clock` is for tests; each book has its own otherwise."""
        super().__init__(app)
        self._app = app
        self._clock = clock
        self.prefs = load_prefs()
        self.window: LogbookWindow | None = None
        apply_theme(app, self.theme())

    def theme(self) -> Theme:
        """The palette chosen, or the system's."""
        if self.prefs.theme == "system":
            scheme = QGuiApplication.styleHints().colorScheme()
            return DARK_THEME if scheme == Qt.ColorScheme.Dark else LIGHT_THEME
        return DARK_THEME if self.prefs.theme == "dark" else LIGHT_THEME

    def open(self, path: Path) -> str:
        """Open a window on a book. Returns what is wrong, or an empty string."""
        try:
            book = open_book(path, clock=self._clock) if self._clock else open_by_its_clock(path)
        except BookError as error:
            log.warning("book not opened: %s", error.message)
            return error.message
        self.show_book(book)
        return ""

    def show_book(self, book: Book) -> None:
        """Show an open book in a new window and close the one before."""
        before, self.window = self.window, LogbookWindow(book, self.theme(), self.prefs.theme)
        self.window.another_wanted.connect(self.ask)
        self.window.theme_chosen.connect(self._on_theme)
        self.window.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.window.show()
        self._keep(self.prefs.with_book(book.path))
        if before is not None:
            before.close()

    def ask(self, told: str = "") -> bool:
        """Show the start dialog until a book is open or the person gives up."""
        from logbook.shift.new_book import template_choices
        from logbook.ui.start_dialog import StartDialog

        while True:
            dialog = StartDialog(self.prefs.recent, template_choices(), told)
            accepted = dialog.exec() == StartDialog.DialogCode.Accepted
            wish = dialog.wish
            dialog.deleteLater()
            if not accepted or wish is None:
                return False
            told = self.fulfil(wish)
            if not told:
                return True

    def fulfil(self, wish: Wish) -> str:
        """Do what the start dialog asked for. Returns what is wrong, or an empty string."""
        from logbook.ui.start_dialog import Want

        if wish.want is Want.BOOK:
            return self.open(wish.path)
        if wish.want is Want.NEW:
            from logbook.shift.new_book import NewBookError, start_book

            try:
                path = start_book(wish.path, wish.template, wish.author, clock=utc_now)
            except (BookError, NewBookError) as error:
                return error.message
            told = self.open(path)
            if not told and self.window is not None:
                self.window.begin_secrets(wish.author)
            return told
        return self._build_sample(wish.path)

    def _build_sample(self, folder: Path) -> str:
        from logbook.ui.work import JobDialog
        from sample_db import BuildCancelledError, build_sample

        def task(progress: Progress, cancelled: Callable[[], bool]) -> Path:
            return build_sample(folder, progress=progress, cancelled=cancelled).path

        dialog = JobDialog("Building the sample book", task, self.window)
        dialog.perform()
        error, path = dialog.error, dialog.outcome
        dialog.deleteLater()
        if isinstance(path, Path):  # also where Cancel came too late to stop it
            return self.open(path)
        if isinstance(error, BuildCancelledError):
            return "The sample book was not built: it was cancelled."
        if isinstance(error, BookError):
            return error.message
        return f"The sample book could not be built: {error}. Details are in {log_path()}."

    def _on_theme(self, name: str) -> None:
        self._keep(replace(self.prefs, theme=name))
        if self.window is not None:
            self.window.show_theme(self.theme())

    def _keep(self, prefs: Prefs) -> None:
        self.prefs = prefs
        save_prefs(prefs)


def install_excepthook() -> None:
    """Tell of an unexpected error in one sentence; the details go to the log file."""

    def told(kind: type[BaseException], error: BaseException, where: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            QApplication.quit()
            return
        log.error("unexpected error\n%s", "".join(traceback.format_exception(kind, error, where)))
        # A fault at every repaint must not bury the window: one box at a time, all in the log.
        shown = [w.objectName() for w in QApplication.topLevelWidgets() if w.isVisible()]
        if FAULT_BOX not in shown:
            _show_fault()

    sys.excepthook = told


def _show_fault() -> None:
    # Without a parent Python would let go of it at once. A box just closed is active still, and
    # would take this one with it.
    active = (QApplication.activeModalWidget(), QApplication.activeWindow())
    shown = [w for w in (*active, *QApplication.topLevelWidgets()) if w and w.isVisible()]
    if not shown:
        return
    from PySide6.QtWidgets import QMessageBox

    box = QMessageBox(shown[0])
    box.setObjectName(FAULT_BOX)
    box.setIcon(QMessageBox.Icon.Warning)
    box.setWindowTitle("Something went wrong")
    box.setText(
        "Something went wrong that should not have. What you typed is kept as a draft. "
        f"Details are in {log_path()}."
    )
    box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
    box.open()


def make_application() -> QApplication:
    """The QApplication, made once."""
    found = QApplication.instance()
    if isinstance(found, QApplication):
        return found
    QApplication.setApplicationName("Crush Plant Shift Logbook")
    QApplication.setDesktopFileName("crush-plant-shift-logbook")
    return QApplication(sys.argv[:1])


def run(path: Path | None) -> int:
    """Open the window on `path`, or on what the start dialog finds. Returns the exit code."""
    start_logging()
    if sys.stderr is not None:
        faulthandler.enable()
    app = make_application()
    install_excepthook()
    shell = Shell(app)
    told = shell.open(path) if path is not None else ""
    if shell.window is None and not shell.ask(told):
        return 0
    return app.exec()
