"""The one window on a book: its menu and its screens."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QMainWindow, QMessageBox

import logbook
from logbook.record import Book
from logbook.ui.round.screen import RoundScreen
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, Theme, apply_theme

SLOT = Callable[[], None]


class LogbookWindow(QMainWindow):
    """Shows one open book; asks the application for another."""

    another_wanted = Signal()
    """The person wants to open or start another book."""
    theme_chosen = Signal(str)
    """One of "system", "light", "dark"."""

    def __init__(self, book: Book, theme: Theme, theme_name: str = "system") -> None:
        """A window on `book`, which it closes with itself."""
        super().__init__()
        self._book = book
        self._theme = theme
        self.round = RoundScreen(book, theme, self)
        self.setCentralWidget(self.round)
        self.round.title_changed.connect(self._on_title)
        self.setMinimumSize(1024, 640)
        self.resize(1280, 800)
        self._build_menu(theme_name)
        self._on_title(self.round.desk.title())

    @property
    def book(self) -> Book:
        """The book shown."""
        return self._book

    def show_theme(self, theme: Theme) -> None:
        """Change the palette of the whole program."""
        self._theme = theme
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        apply_theme(app, theme)
        self.round.set_theme(theme)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Keep what is typed, then close the book."""
        self.round.leave()
        self._book.close()
        super().closeEvent(event)

    def _build_menu(self, theme_name: str) -> None:
        book = self.menuBar().addMenu("&Book")
        self._add(book.addAction("Open another or start new…"), "Ctrl+O", self.another_wanted.emit)
        self._add(book.addAction("Close"), "Ctrl+Q", self._on_close)
        rounds = self.menuBar().addMenu("&Round")
        rounds.addActions(self.round.actions())
        view = self.menuBar().addMenu("&View")
        group = QActionGroup(self)
        for name in ("system", "light", "dark"):
            action = view.addAction(f"Palette: {name}")
            action.setCheckable(True)
            action.setChecked(name == theme_name)
            action.setData(name)
            group.addAction(action)
        group.triggered.connect(self._on_theme)
        self._add(view.addAction("Light or dark"), "F9", self._on_toggle)
        told = self.menuBar().addMenu("&Help")
        self._add(told.addAction("Keys"), "F1", self._on_keys)
        self._add(told.addAction("Cautions"), "", self._on_cautions)
        self._add(told.addAction("About"), "", self._on_about)

    def _add(self, action: QAction, keys: str, slot: SLOT) -> None:
        if keys:
            action.setShortcut(QKeySequence(keys))
        action.triggered.connect(slot)

    def _on_title(self, title: str) -> None:
        self.setWindowTitle(f"{title} – Crush Plant Shift Logbook")

    def _on_close(self) -> None:
        self.close()

    def _on_theme(self, action: QAction) -> None:
        self.theme_chosen.emit(action.data())

    def _on_toggle(self) -> None:
        self.theme_chosen.emit("light" if self._theme.is_dark else "dark")

    def _on_keys(self) -> None:
        from logbook.ui import help_texts

        self._tell("Keys", help_texts.keys_text())

    def _on_cautions(self) -> None:
        from logbook.ui import help_texts

        self._tell("Cautions", help_texts.cautions_text())

    def _on_about(self) -> None:
        from logbook.ui import help_texts

        self._tell("About", help_texts.about_text(logbook.__version__, self._book))

    def _tell(self, title: str, text: str) -> None:
        box = QMessageBox(self)
        box.setWindowTitle(title)
        box.setText(text)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.open()


THEMES: dict[str, Theme] = {"light": LIGHT_THEME, "dark": DARK_THEME}
