"""The one window on a book: its menu, its screens, and who is signed on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QAction, QActionGroup, QCloseEvent, QKeySequence
from PySide6.QtWidgets import (
    QApplication,
    QDialog,
    QMainWindow,
    QMenu,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

import logbook
from logbook.record import Book
from logbook.ui.nav import NavBar
from logbook.ui.round.screen import RoundScreen
from logbook.ui.screens import SCREENS, Screen, make_screen
from logbook.ui.session import Session
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, Theme, apply_theme

SLOT = Callable[[], None]

LOG_COMMANDS = (
    ("New log entry…", "Ctrl+E", "entry"),
    ("New open item…", "Ctrl+I", "item"),
    ("Safety state…", "Ctrl+H", "safety"),
    ("Sample taken…", "Ctrl+L", "sample"),
    ("Standing instruction…", "Ctrl+Shift+I", "instruction"),
)
"""What can be written into the log from any screen: words, key, which form."""


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
        self.session = Session(book, self)
        self.session.wanted.connect(self.sign_on)
        self.round = RoundScreen(book, theme, self.session, self)
        self.nav = NavBar(SCREENS, self.session, self)
        self.nav.chosen.connect(self.show_screen)
        self.nav.person_wanted.connect(self.sign_on)
        self._screens: dict[str, Screen] = {"round": self.round}
        self._stack = QStackedWidget()
        self._stack.addWidget(self.round)
        self.setCentralWidget(self._body())
        self.round.title_changed.connect(self._on_title)
        self.round.trend_wanted.connect(self.show_trend)
        self.setMinimumSize(1024, 640)
        self.resize(1280, 800)
        self._build_menu(theme_name)
        self.nav.show_current("round")
        self._on_title(self.round.desk.title())

    def _body(self) -> QWidget:
        body = QWidget()
        layout = QVBoxLayout(body)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.nav)
        layout.addWidget(self._stack, 1)
        return body

    @property
    def book(self) -> Book:
        """The book shown."""
        return self._book

    # -- screens --------------------------------------------------------------------------

    def show_screen(self, key: str) -> Screen:
        """Show a screen, made when it is first asked for."""
        screen = self.screen_of(key)
        if self._stack.currentWidget() is not screen:
            self._stack.setCurrentWidget(screen)
            screen.enter()
        self.nav.show_current(key)
        screen.setFocus()
        return screen

    def screen_of(self, key: str) -> Screen:
        """A screen without showing it."""
        if key not in self._screens:
            made = make_screen(key, self._book, self._theme, self.session, self)
            self._screens[key] = made
            self._stack.addWidget(made)
            made.title_changed.connect(self._on_title)
            made.field_wanted.connect(self.show_field)
            made.trend_wanted.connect(self.show_trend)
        return self._screens[key]

    def show_field(self, point: str, at: datetime) -> None:
        """Go to a point's field on the Round screen, in the round of an instant."""
        self.show_screen("round")
        self.round.show_field(point, at)

    def show_trend(self, point: str, at: datetime) -> None:
        """Go to a point's trend, the cursor on an instant."""
        from logbook.ui.trend.screen import TrendScreen

        screen = self.show_screen("trend")
        assert isinstance(screen, TrendScreen)
        screen.show_trend(point, at)

    def show_trend_in_use(self) -> None:
        """Go to the trend of the point that the keyboard is at; without one, to the screen."""
        shown = self._stack.currentWidget()
        found = shown.point_in_use() if isinstance(shown, Screen) else None
        if shown is self.round and self.round.sheet.current:
            found = self.round.sheet.current, self.round.form.taken_at
        if found is None:
            self.show_screen("trend")
        elif self._book.plant_at(self._book.now()).point(found[0]).kind.is_numeric:
            self.show_trend(*found)
        elif shown is self.round:
            self.round.message.say("This point is answered in words; it has no trend.")

    def show_theme(self, theme: Theme) -> None:
        """Change the palette of the whole program."""
        self._theme = theme
        app = QApplication.instance()
        assert isinstance(app, QApplication)
        apply_theme(app, theme)
        for screen in self._screens.values():
            screen.set_theme(theme)

    def closeEvent(self, event: QCloseEvent) -> None:
        """Keep what is typed, then close the book."""
        for screen in self._screens.values():
            screen.leave()
        self.session.close()
        self._book.close()
        super().closeEvent(event)

    # -- people ---------------------------------------------------------------------------

    def sign_on(self, why: str = "") -> None:
        """Ask who is there; the dialog stands over whatever asks for it."""
        from logbook.ui.sign_on import SignOnDialog

        parent = QApplication.activeModalWidget() or self
        dialog = SignOnDialog(self.session, why, parent)
        accepted = dialog.exec() == QDialog.DialogCode.Accepted
        dialog.deleteLater()
        if accepted and not why:  # not in the midst of saving something
            self.show_missed()

    def show_missed(self) -> None:
        """What happened since the person signed on was last here, where they were away."""
        if not self.session.person or not self.session.uses_secrets or self.session.is_unproven:
            return
        from logbook.ui.catch_up_dialog import show_missed

        told = show_missed(self.session, self._book, self)
        if told:
            self._tell("Since you were last here", told)

    def relieve(self) -> None:
        """Hand the watch of an area or the shift to somebody else during the shift."""
        from logbook.ui.relief_dialog import begin_relief

        told = begin_relief(self.session, self._book, self)
        current = self._stack.currentWidget()
        if told and isinstance(current, Screen):
            current.tell(told)

    def begin_secrets(self, name: str) -> None:
        """On the first start: the engineer of this name sets a password, or puts it off."""
        from logbook.ui.sign_on import SignOnDialog

        words = name.strip().casefold()
        key = next((p.key for p in self.session.people if p.name.casefold() == words), "")
        dialog = SignOnDialog(self.session, "", self, person=key)
        dialog.exec()
        dialog.deleteLater()

    def show_people(self) -> None:
        """Who there is; first PINs, forgotten ones, new people and recovery codes."""
        from logbook.ui.people_dialog import PeopleDialog

        if self.session.request_once("to see the people of the plant"):
            dialog = PeopleDialog(self.session, self)
            dialog.exec()
            dialog.deleteLater()

    def write_log(self, form: str) -> None:
        """Open one of the forms of the log over whatever screen is shown."""
        from logbook.ui.shift_screen.screen import ShiftScreen

        screen = self.screen_of("shift")
        assert isinstance(screen, ShiftScreen)
        area = self.round.area if self._stack.currentWidget() is self.round else None
        told = screen.write(form, area)
        if told and self._stack.currentWidget() is self.round:
            self.round.message.say(told)

    # -- menu -----------------------------------------------------------------------------

    def _build_menu(self, theme_name: str) -> None:
        book = self.menuBar().addMenu("&Book")
        self._add(book.addAction("Open another or start new…"), "Ctrl+O", self.another_wanted.emit)
        self._add(book.addAction("People…"), "Ctrl+Shift+P", self.show_people)
        self._add(book.addAction("Relief during the shift…"), "Ctrl+Shift+R", self.relieve)
        missed = book.addAction("Since I was last here…")
        self._add(missed, "Ctrl+Shift+L", self._on_missed)
        self._add(book.addAction("Sign off"), "", self._on_sign_off)
        self._add(book.addAction("Close"), "Ctrl+Q", self._on_close)
        self._build_screens_menu()
        rounds = self.menuBar().addMenu("&Round")
        rounds.addActions(self.round.actions())
        self._build_log_menu(self.menuBar().addMenu("&Log"))
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

    def _build_screens_menu(self) -> None:
        menu = self.menuBar().addMenu("&Go")
        for number, (key, name) in enumerate(SCREENS, 1):
            action = menu.addAction(name)
            action.setData(key)
            action.setShortcut(QKeySequence(f"Ctrl+{number}"))
        menu.triggered.connect(self._on_go)
        menu.addSeparator()
        trend = menu.addAction("Trend of the point in use")
        trend.setData("")
        self._add(trend, "Ctrl+Shift+T", self.show_trend_in_use)

    def _build_log_menu(self, menu: QMenu) -> None:
        for words, keys, form in LOG_COMMANDS:
            action = menu.addAction(words)
            action.setData(form)
            action.setShortcut(QKeySequence(keys))
        menu.triggered.connect(self._on_log)

    def _on_go(self, action: QAction) -> None:
        if action.data():
            self.show_screen(action.data())

    def _on_log(self, action: QAction) -> None:
        self.write_log(action.data())

    def _add(self, action: QAction, keys: str, slot: SLOT) -> None:
        if keys:
            action.setShortcut(QKeySequence(keys))
        action.triggered.connect(slot)

    def _on_title(self, title: str) -> None:
        self.setWindowTitle(f"{title} – Crush Plant Shift Logbook")

    def _on_missed(self) -> None:
        if self.session.request_once("to see what happened since you were last here"):
            self.show_missed()

    def _on_sign_off(self) -> None:
        told = self.session.sign_off()
        if told:
            self._tell("Sign off", told)

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
        from PySide6.QtWidgets import QMessageBox

        box = QMessageBox(self)
        box.setWindowTitle(title)
        box.setText(text)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.open()


THEMES: dict[str, Theme] = {"light": LIGHT_THEME, "dark": DARK_THEME}
