"""The window's screens: what each can be asked for, and how it is made on its first use."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import datetime

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QWidget

from logbook.record import Book
from logbook.ui.session import Session
from logbook.ui.theme import Theme

SCREENS = (
    ("round", "Round"),
    ("shift", "Shift"),
    ("review", "Review"),
    ("handover", "Handover"),
    ("balance", "Balance"),
    ("trend", "Trend"),
    ("findings", "Findings"),
)
"""Key and name of each screen, in the order of Ctrl+1 and on."""


class Screen(QWidget):
    """What the window asks of a screen."""

    title_changed = Signal(str)
    """What the window's title says while the screen is shown."""
    field_wanted = Signal(str, datetime)
    """A point's field on the Round screen is wanted, in the round of an instant."""
    trend_wanted = Signal(str, datetime)
    """A point's trend is wanted, with the cursor on an instant."""

    def bind_keys(self, keys: Iterable[tuple[str, Callable[[], None]]]) -> None:
        """Call each slot by its keys, wherever on the screen the keyboard is."""
        for text, slot in keys:
            self._key(text).activated.connect(slot)

    def bind_pages(self, pages: Iterable[object], slot: Callable[[], None]) -> None:
        """Alt+1 and on lead to `pages`: the slot finds its own in the sender's property "page"."""
        for number, page in enumerate(pages, 1):
            key = self._key(f"Alt+{number}")
            key.setProperty("page", page)
            key.activated.connect(slot)

    def _key(self, text: str) -> QShortcut:
        key = QShortcut(QKeySequence(text), self)
        key.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        return key

    def point_in_use(self) -> tuple[str, datetime] | None:
        """The point that the keyboard is at, and of when; None where there is none."""
        return None

    def enter(self) -> None:
        """Called each time the screen is shown: look at the book again."""

    def leave(self) -> None:
        """Called before the window closes: keep what is half typed, stop timers."""

    def tell(self, text: str) -> None:
        """Say on the line at the foot what was done from outside the screen."""
        from logbook.ui.round.foot import MessageLine

        line = self.findChild(MessageLine)
        if line is not None:
            line.say(text)

    def set_theme(self, theme: Theme) -> None:
        """Show in another palette."""


def make_screen(key: str, book: Book, theme: Theme, session: Session, parent: QWidget) -> Screen:
    """A screen with its modules, loaded only now so that the window is up quickly."""
    if key == "shift":
        from logbook.ui.shift_screen.screen import ShiftScreen

        return ShiftScreen(book, theme, session, parent)
    if key == "review":
        from logbook.ui.review.screen import ReviewScreen

        return ReviewScreen(book, theme, session, parent)
    if key == "findings":
        from logbook.ui.findings.screen import FindingsScreen

        return FindingsScreen(book, theme, session, parent)
    if key == "balance":
        from logbook.ui.balance.screen import BalanceScreen

        return BalanceScreen(book, theme, session, parent)
    if key == "trend":
        from logbook.ui.trend.screen import TrendScreen

        return TrendScreen(book, theme, session, parent)
    from logbook.ui.handover.screen import HandoverScreen

    return HandoverScreen(book, theme, session, parent)
