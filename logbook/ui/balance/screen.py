"""The Balance screen: where beans, oil, water and solvent went in a period, and which meter errs."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QStackedWidget, QVBoxLayout, QWidget

from logbook.plant.calendar import ShiftCalendar
from logbook.record import Book
from logbook.report.period_aside import period_report_at
from logbook.shift.balance_aside import balance_at, days_at, tried
from logbook.shift.balance_view import BalanceSeen, Days
from logbook.shift.period import Period, PeriodKind, next_period, period_at, previous_period
from logbook.shift.period_text import PeriodError, parse_period
from logbook.shift.what_if import Outcome
from logbook.ui.aside import Aside
from logbook.ui.balance.bar import BalanceBar
from logbook.ui.balance.pages import (
    AccountsPage,
    ComparePage,
    FlowPage,
    MetersPage,
    TrendsPage,
)
from logbook.ui.balance.what_if_page import WhatIfPage
from logbook.ui.loads import LoadingMark, Loads
from logbook.ui.round.foot import MessageLine, Tone
from logbook.ui.screens import Screen
from logbook.ui.session import Session
from logbook.ui.show_pdf import make_pages, show_pdf
from logbook.ui.theme import Theme

PAGES = (
    ("flow", "Flow"),
    ("accounts", "Accounts"),
    ("meters", "Meters"),
    ("trends", "Day by day"),
    ("compare", "Side by side"),
    ("what-if", "What if"),
)
KEYS = "Ctrl+←/→ period · Ctrl+G any period · Alt+1…6 page · arrows choose · Ctrl+P report"
BY_DAYS = frozenset({"trends", "compare"})
"""Pages that are read day by day, only when they are looked at."""


class BalanceScreen(Screen):
    """A period's accounts from all sides."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen; `enter` reads the month that now runs. Raises BookError."""
        super().__init__(parent)
        self.session = session
        self._book = book
        self._loads, self._day_loads = Loads(book, self), Loads(book, self)
        self._papers = Loads(book, self)
        self._aside = Aside()
        self.seen: BalanceSeen | None = None
        self._days_of: Period | None = None
        self._tried_of: Period | None = None
        self._tries: dict[str, Loads] = {}
        self._period = self._first_period()
        self.bar = BalanceBar(PAGES, self)
        self.bar.add_marks(
            LoadingMark(self._loads),
            LoadingMark(self._day_loads, "reading day by day…"),
            LoadingMark(self._papers, "making the report…"),
        )
        self.flow, self.accounts = FlowPage(theme), AccountsPage(theme)
        self.meters, self.trends = MetersPage(theme), TrendsPage(theme)
        self.compare, self.what_if = ComparePage(theme), WhatIfPage()
        self._stack = QStackedWidget()
        self._pages: dict[str, QWidget] = dict(
            zip(
                (key for key, _ in PAGES),
                (self.flow, self.accounts, self.meters, self.trends, self.compare, self.what_if),
                strict=True,
            )
        )
        for page in self._pages.values():
            self._stack.addWidget(page)
        self.message = MessageLine(KEYS, self)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for widget in (self.bar, self._stack, self.message):
            layout.addWidget(widget)
        layout.setStretch(1, 1)
        self._connect()
        self.show_page("flow")

    def _connect(self) -> None:
        self.bar.kind_chosen.connect(self._on_kind)
        self.bar.typed.connect(self.go_to)
        self.bar.page_chosen.connect(self.show_page)
        self.bar.earlier.clicked.connect(self.earlier)
        self.bar.later.clicked.connect(self.later)
        self.bar.report.clicked.connect(self.report)
        self.flow.view.opened.connect(self._on_stream)
        self.what_if.wanted.connect(self._try_out)
        self.bind_keys(
            [
                ("Ctrl+Left", self.earlier),
                ("Ctrl+Right", self.later),
                ("Ctrl+G", self._find),
                ("Ctrl+P", self.report),
                ("F5", self.refresh),
            ]
        )
        self.bind_pages([page for page, _ in PAGES], self._on_page_key)

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        for page in (self.flow, self.accounts, self.meters, self.trends, self.compare):
            page.set_theme(theme)

    # -- which period ---------------------------------------------------------------------

    @property
    def period(self) -> Period:
        """The period that is wanted; shown as soon as it is read."""
        return self._period

    def enter(self) -> None:
        """Read the period again where something was written meanwhile."""
        if self.seen is None or self._book.last_page().seal != self.seen.seal:
            self.refresh()
        self._pages[self.page].setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Wait for what is still read."""
        asked = (self._loads, self._day_loads, self._papers, *self._tries.values())
        for loads in asked:
            loads.drop()
        self._aside.close()
        for loads in asked:
            loads.stop()

    def refresh(self) -> None:
        """Read the same period again."""
        self.show_period(self._period)

    def show_period(self, period: Period) -> None:
        """Show another period; what is shown stays until it is read."""
        self._period = period
        self._loads.ask(_seeing(self._aside, period), self._on_seen, self._on_failed)

    def earlier(self) -> None:
        """The period before."""
        self.show_period(previous_period(self._calendar, self._period))

    def later(self) -> None:
        """The period after, where it has begun."""
        after = next_period(self._calendar, self._period)
        if after.start >= self._now():
            self.message.say(f"{self._period.name} is the last that has begun.")
            return
        self.show_period(after)

    def go_to(self, text: str) -> None:
        """Show a period as typed; a text that names none is told and stays."""
        try:
            period = parse_period(text, self._calendar, self._now())
        except PeriodError as problem:
            self.message.say(f"{str(problem)[:1].upper()}{str(problem)[1:]}.", Tone.FAULT)
            return
        if period.start >= self._now():
            self.message.say(f"{period.name} has not begun yet.", Tone.FAULT)
            return
        self.bar.any.clear()
        self.show_period(period)
        self._pages[self.page].setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_kind(self, kind: PeriodKind) -> None:
        inside = min(self._period.end, self._now()) - self._now().resolution
        self.show_period(period_at(self._calendar, kind, inside))

    def _find(self) -> None:
        self.bar.any.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.bar.any.selectAll()

    def _first_period(self) -> Period:
        return period_at(self._calendar, PeriodKind.MONTH, self._now())

    @property
    def _calendar(self) -> ShiftCalendar:
        return self._book.plant_at(self._now()).calendar

    def _now(self) -> datetime:
        return self._book.now()

    # -- what is shown --------------------------------------------------------------------

    def _on_seen(self, seen: BalanceSeen) -> None:
        self.seen = seen
        self._period = seen.period
        self.message.say("")
        told = seen.span
        self.bar.show_period(seen.period.kind, seen.view.period.name, told)
        self.flow.show_view(seen.view)
        self.accounts.show_view(seen.view)
        self.meters.show_view(seen.view)
        self.what_if.show_sections(seen.sections)
        self._tried_of = None
        self.title_changed.emit(f"Balance, {seen.view.period.name}")
        self._ask_more()

    def _on_failed(self, why: str) -> None:
        self.message.say(why, Tone.FAULT)

    def _try_out(self, key: str, values: Mapping[str, float]) -> None:
        """Work a section of the what-if out; results come a moment later."""
        if self.seen is None:
            return
        figures, aside, page = self.seen.figures, self._aside, self.what_if

        def read(_beside: Book) -> Outcome:
            return aside.run(tried, key, figures, values)

        def show(outcome: Outcome) -> None:
            page.show_outcome(key, outcome)

        self._tries.setdefault(key, Loads(self._book, self)).ask(read, show, self._on_failed)

    def _ask_more(self) -> None:
        """Read what the page that is looked at shows over and above the period."""
        if self.page == "what-if" and self.seen is not None and self._tried_of != self._period:
            self._tried_of = self._period
            self.what_if.work_out_all()
        if self.page not in BY_DAYS or self.seen is None or self._days_of == self._period:
            return
        self._days_of = self._period
        self._day_loads.ask(_seeing_days(self._aside, self._period), self._on_days, self._on_failed)

    def _on_days(self, days: Days) -> None:
        self.trends.show_lines(days.trends)
        self.compare.show_comparisons(days.comparisons)

    @property
    def page(self) -> str:
        """Key of the page now shown."""
        return PAGES[self._stack.currentIndex()][0]

    def show_page(self, key: str) -> None:
        """Show a side of the period."""
        self._stack.setCurrentWidget(self._pages[key])
        self.bar.show_page(key)
        self.setFocusProxy(self._pages[key])
        self._pages[key].setFocus(Qt.FocusReason.OtherFocusReason)
        self._ask_more()

    def _on_page_key(self) -> None:
        self.show_page(self.sender().property("page"))

    def _on_stream(self, key: str) -> None:
        """From a stream to its meter, where it has one."""
        self.show_page("meters")
        self.meters.choose(key)

    # -- paper ----------------------------------------------------------------------------

    def report(self) -> None:
        """Preview the report of the period, to print or to save."""
        period, aside = self._period, self._aside

        def make(beside: Book) -> bytes:
            return aside.run(period_report_at, beside.path, period, beside.now(), "a4")

        make_pages(self._papers, make, self._on_pages, self._on_failed)

    def _on_pages(self, pages: bytes) -> None:
        show_pdf(self, f"Balance · {self._period.name}", pages, self._on_failed)


def _seeing(aside: Aside, period: Period) -> Callable[[Book], BalanceSeen]:
    def read(beside: Book) -> BalanceSeen:
        return aside.run(balance_at, beside.path, period, beside.now())

    return read


def _seeing_days(aside: Aside, period: Period) -> Callable[[Book], Days]:
    def read(beside: Book) -> Days:
        return aside.run(days_at, beside.path, period, beside.now())

    return read
