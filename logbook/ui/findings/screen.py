"""The Findings screen: what the readings of the last weeks give to look at, page by page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QButtonGroup,
    QComboBox,
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.model import Role
from logbook.record import Book
from logbook.shift.findings import FindingPage, FindingRow, FindingsSeen
from logbook.ui.balance.pages import foot_of, words_label
from logbook.ui.findings.table import FindingTable
from logbook.ui.loads import LoadingMark, Loads
from logbook.ui.round.foot import MessageLine, Tone
from logbook.ui.screens import Screen
from logbook.ui.session import Session
from logbook.ui.theme import Theme, font

KEYS = "Up and Down choose · Enter opens the trend · Alt+1… page · F5 look again"
SPANS = ((7, "Last 7 days"), (30, "Last 30 days"), (90, "Last 90 days"), (365, "Last year"))
PAGE = "page"
"""Property of a button or a shortcut: number of the page it leads to."""
MOST_PAGES = 6


class FindingsScreen(Screen):
    """One table after another, each with what was looked at and what to mind."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen; `enter` looks through the last 30 days."""
        super().__init__(parent)
        self.session = session
        self._book = book
        self._loads = Loads(book, self)
        self.seen: FindingsSeen | None = None
        self._seen_for: tuple[int, Role | None] | None = None
        self._at = 0
        self.span = QComboBox()
        self.span.setAccessibleName("How far back")
        for days, name in SPANS:
            self.span.addItem(name, days)
        self.span.setCurrentIndex(1)
        self.title = QLabel("Findings")
        self.title.setFont(font("title", strong=True))
        self.told_span = QLabel()
        self.told_span.setProperty("role", "muted")
        self._buttons = QButtonGroup(self)
        self._row = QHBoxLayout()
        self.table = FindingTable()
        self.told = words_label("What was looked at")
        self.told.setFont(font("body", medium=True))
        self.words = words_label("The chosen finding")
        self.caution = words_label()
        self.caution.setProperty("role", "caution")
        self.message = MessageLine(KEYS, self)
        self._lay_out()
        self._connect()
        self.setFocusProxy(self.table)

    def _lay_out(self) -> None:
        bar = QFrame()
        bar.setProperty("role", "bar")
        top = QHBoxLayout()
        top.setSpacing(8)
        top.addWidget(self.title)
        top.addWidget(self.told_span, 1)
        top.addWidget(LoadingMark(self._loads, "looking…"))
        top.addWidget(self.span)
        self._row.setSpacing(2)
        inside = QVBoxLayout(bar)
        inside.setContentsMargins(12, 8, 12, 0)
        inside.setSpacing(4)
        inside.addLayout(top)
        inside.addLayout(self._row)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(bar)
        layout.addWidget(self.table, 1)
        layout.addWidget(foot_of(self.told, self.words, self.caution))
        layout.addWidget(self.message)

    def _connect(self) -> None:
        self.span.activated.connect(self.refresh)
        self._buttons.buttonClicked.connect(self._on_button)
        self.table.chosen.connect(self._on_row)
        self.table.opened.connect(self._on_opened)
        self.bind_pages(range(MOST_PAGES), self._on_key)
        self.bind_keys([("F5", self.refresh)])

    def set_theme(self, theme: Theme) -> None:
        """The palette of the application is enough: nothing here is painted by hand."""

    # -- reading --------------------------------------------------------------------------

    def enter(self) -> None:
        """Look again where somebody else is signed on, or something was written meanwhile."""
        stale = self.seen is None or self._book.last_page().seal != self.seen.seal
        if stale or self._seen_for != self._wanted:
            self.refresh()

    def leave(self) -> None:
        """Wait for what is still read."""
        self._loads.stop()

    def refresh(self) -> None:
        """Look through the book again."""
        self._seen_for = self._wanted
        self._loads.ask(_looking(*self._wanted), self._on_seen, self._on_failed)

    @property
    def _wanted(self) -> tuple[int, Role | None]:
        """How far back, and for whom: names are for a supervisor who is signed on."""
        session = self.session
        role = session.role if session.person and not session.is_unproven else None
        return int(self.span.currentData()), role

    def point_in_use(self) -> tuple[str, datetime] | None:
        """The point of the chosen finding."""
        row = self.table.row_now
        if row is None or not row.point:
            return None
        return row.point, row.at or self._book.now()

    def _on_seen(self, seen: FindingsSeen) -> None:
        self.seen = seen
        self.told_span.setText(seen.span)
        self._offer(seen.pages)
        self.message.say("")
        self.title_changed.emit(f"Findings, {seen.span}")
        self.show_page(min(self._at, len(seen.pages) - 1))

    def _on_failed(self, why: str) -> None:
        self.message.say(why, Tone.FAULT)

    # -- pages ----------------------------------------------------------------------------

    def _offer(self, pages: tuple[FindingPage, ...]) -> None:
        wanted = [f"{page.title}  {len(page.rows)}" for page in pages]
        buttons = self._buttons.buttons()
        if len(buttons) != len(wanted):
            for number in range(len(buttons), len(wanted)):
                button = QPushButton()
                button.setCheckable(True)
                button.setProperty("role", "nav")
                button.setProperty(PAGE, number)
                button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
                button.setToolTip(f"Alt+{number + 1}")
                self._buttons.addButton(button, number)
                self._row.addWidget(button)
            self._row.addStretch(1)
        for number, text in enumerate(wanted):
            self._buttons.button(number).setText(text)

    def show_page(self, number: int) -> None:
        """Show one of the tables."""
        if self.seen is None or not 0 <= number < len(self.seen.pages):
            return
        self._at = number
        page = self.seen.pages[number]
        self._buttons.button(number).setChecked(True)
        self.told.setText(page.told)
        self.caution.setText(page.caution)
        self.caution.setVisible(bool(page.caution))
        self.table.show_page(page)

    @property
    def page(self) -> FindingPage | None:
        """The table now shown."""
        return self.seen.pages[self._at] if self.seen is not None else None

    def _on_button(self, button: QAbstractButton) -> None:
        self.show_page(button.property(PAGE))
        self.table.setFocus()

    def _on_key(self) -> None:
        self.show_page(self.sender().property(PAGE))

    def _on_row(self, row: FindingRow | None) -> None:
        self.words.setText(row.words if row is not None else "Nothing to look at here.")

    def _on_opened(self, row: FindingRow) -> None:
        if row.point:
            self.trend_wanted.emit(row.point, row.at or self._book.now())
        else:
            self.message.say("This is about a whole round: open it on the Review screen.")


def _looking(days: int, role: Role | None) -> Callable[[Book], FindingsSeen]:
    def read(beside: Book) -> FindingsSeen:
        from logbook.shift.findings import findings_of

        return findings_of(beside, beside.now(), days, role)

    return read
