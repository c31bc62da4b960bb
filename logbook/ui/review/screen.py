"""The Review screen: a shift for the supervisor, exceptions first; ask, or sign."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from logbook.plant.roster import Shift
from logbook.record import Book, BookError
from logbook.shift.roles import Deed
from logbook.shift.signing import ToSign
from logbook.ui.loads import LoadingMark, Loads
from logbook.ui.review.bar import ReviewBar
from logbook.ui.review.desk import ReviewDesk, ReviewSeen, printed
from logbook.ui.review.detail import NOTHING_SHOWN, DetailPane
from logbook.ui.review.grid import ReviewGrid
from logbook.ui.review.legend import Legend
from logbook.ui.round.foot import MessageLine, Tone
from logbook.ui.screens import Screen
from logbook.ui.session import Session
from logbook.ui.show_pdf import make_pages, show_pdf
from logbook.ui.sign_dialog import SignDialog, ask_to_sign, stop_dialogs
from logbook.ui.theme import Theme

KEYS = "Arrows move · F8 next exception · Enter ask · Ctrl+F find · Ctrl+←/→ shift · F6 sign"
Then = Callable[[], None]
DETAIL_PAUSE_MS = 60
"""Holding an arrow key does not read the book for every cell passed."""


class ReviewScreen(Screen):
    """Everything a supervisor needs to review a shift."""

    item_written = Signal()
    """A question has become an open item."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen; `enter` reads the shift before the one now running. Raises BookError."""
        super().__init__(parent)
        self.session = session
        self.desk = ReviewDesk(book, opened=False)
        self._loads, self._papers = Loads(book, self), Loads(book, self)
        self._wanted: Shift | None = None
        self._then: Then | None = None
        self.bar = ReviewBar(self)
        loading = LoadingMark(self._loads)
        loading.follow(self._papers, "making the page…")
        self.bar.show_loading(loading)
        self.grid = ReviewGrid(theme, self)
        self.pane = DetailPane(theme, self)
        self.legend = Legend(theme, self)
        self.message = MessageLine(KEYS, self)
        self.setFocusProxy(self.grid)
        self._lay_out()
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(DETAIL_PAUSE_MS)
        self._pause.timeout.connect(self.show_reading)
        self._connect()
        self._show_ready()

    # -- building -------------------------------------------------------------------------

    def _lay_out(self) -> None:
        body = QHBoxLayout()
        body.setSpacing(0)
        body.addWidget(self.grid, 1)
        body.addWidget(self.pane)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        layout.addWidget(self.bar)
        layout.addLayout(body, 1)
        layout.addWidget(self.legend)
        layout.addWidget(self.message)

    def _connect(self) -> None:
        self.grid.moved.connect(self._pause.start)
        self.grid.asked.connect(self.begin_question)
        self.pane.asked.connect(self.ask)
        self.bar.narrowed.connect(self._on_narrowed)
        self.bar.earlier.clicked.connect(self.earlier)
        self.bar.later.clicked.connect(self.later)
        self.bar.crew_chosen.connect(self._on_crew)
        self.bar.sign.clicked.connect(self.sign)
        self.bar.preview.clicked.connect(self.preview)
        self.bind_keys(
            (
                ("Ctrl+Left", self.earlier),
                ("Ctrl+Right", self.later),
                ("F8", self.next_exception),
                ("F6", self.sign),
                ("Ctrl+P", self.preview),
                ("F5", self.refresh),
                ("Ctrl+F", self._find),
            )
        )

    def set_theme(self, theme: Theme) -> None:
        """Repaint in another palette."""
        self.grid.set_theme(theme)
        self.pane.set_theme(theme)
        self.legend.theme = theme
        self.legend.update()

    # -- which shift ----------------------------------------------------------------------

    def open_shift(self, shift: Shift | None, then: Then | None = None) -> None:
        """Review another shift; what is shown stays until it is read, then `then` is called."""
        self._wanted, self._then = shift, then
        self._loads.ask(self.desk.looking(shift), self._on_seen, self._on_failed)

    def _on_seen(self, seen: ReviewSeen) -> None:
        self.desk.take(seen)
        self._show_shift()
        then, self._then = self._then, None
        if then is not None:
            then()

    def _on_failed(self, why: str) -> None:
        self._wanted, self._then = None, None
        self.message.say(why, Tone.FAULT)

    def refresh(self) -> None:
        """Look the same shift through again: somebody may have written meanwhile."""
        self.open_shift(self.desk.shift if self.desk.is_open else None)

    def enter(self) -> None:
        """What was written while another screen was in front shows at once."""
        try:
            if not self.desk.is_open or self.desk.is_stale():
                self.refresh()
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
        self.grid.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Nothing here is half typed but a question; read and sign nothing more."""
        stop_dialogs(self)
        self._loads.stop()
        self._papers.stop()
        self._pause.stop()

    def earlier(self) -> None:
        """The shift before, of the crew that is chosen."""
        self._step(-1)

    def later(self) -> None:
        """The shift after, of the crew that is chosen."""
        self._step(1)

    def _step(self, by: int) -> None:
        if not self.desk.is_open:
            return
        crew = self.bar.crew.currentData() or ""
        shift = self.desk.other(by, crew, self._wanted if self._loads.is_busy else None)
        if shift is None:
            side = "earlier" if by < 0 else "later"
            whose = f" of {self.desk.crew_name(crew)}" if crew else ""
            self.message.say(f"The book has no {side} shift{whose}.")
        else:
            self.message.say("")
            self.open_shift(shift)

    def _on_crew(self) -> None:
        crew = self.bar.crew.currentData() or ""
        if crew and self.desk.is_open and self.desk.shift.crew != crew:
            self._step(-1)

    def _show_ready(self) -> None:
        """Before the first shift is read there is nothing to do."""
        self.bar.setEnabled(self.desk.is_open)
        self.pane.setEnabled(self.desk.is_open)

    def _show_shift(self) -> None:
        self._show_ready()
        plant = self.desk.plant
        crews = [(crew.key, crew.name) for crew in plant.calendar.crews]
        self.bar.show_choices(crews, [(area.key, area.name) for area in plant.areas])
        told, is_fault = self.desk.standing()
        self.bar.show_shift(self.desk.title(), told, is_fault=is_fault)
        self.bar.sign.setEnabled(not self.desk.is_signed)
        self._on_narrowed()
        self.title_changed.emit(self.desk.title())

    # -- grid and reading -----------------------------------------------------------------

    def _on_narrowed(self) -> None:
        if not self.desk.is_open:
            return
        self.desk.narrow(self.bar.wanted)
        self.desk.worst_first = self.bar.is_worst_first
        self._show_rows()

    def _show_rows(self) -> None:
        rows = self.desk.rows()
        self.grid.show_rows(self.desk.columns(), rows)
        self.legend.show_counts(self.desk.counts())
        if not rows:
            self.message.say("Nothing passes this filter.")
        self.show_reading()

    def show_reading(self) -> None:
        """Show the reading under the cursor in the pane."""
        self._pause.stop()
        if not self.desk.is_open:
            return
        point, column = self.grid.current_point, self.grid.currentIndex().column()
        try:
            shown = self.desk.shown(point, column) if point else NOTHING_SHOWN
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        self.pane.show_reading(shown)

    def point_in_use(self) -> tuple[str, datetime] | None:
        """The point under the cursor, in its round."""
        if not self.desk.is_open or not self.grid.current_point:
            return None
        rounds, column = self.desk.grid.rounds, self.grid.currentIndex().column()
        at = rounds[column].at if 0 <= column < len(rounds) else self.desk.shift.end
        return self.grid.current_point, at

    def next_exception(self) -> None:
        """Go to the next cell that wants a look."""
        self.grid.setFocus(Qt.FocusReason.ShortcutFocusReason)
        if not self.grid.next_exception():
            self.message.say("Nothing in this list wants a look.")

    def _find(self) -> None:
        self.bar.words.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.bar.words.selectAll()

    # -- asking and signing ---------------------------------------------------------------

    def begin_question(self) -> None:
        """Go to the line that takes a question about the reading."""
        self.show_reading()
        self.pane.question.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def ask(self, text: str) -> None:
        """Write the question as an open item for the crew."""
        point, column = self.grid.current_point, self.grid.currentIndex().column()
        if not self.desk.is_open:
            return
        if not text:
            self.message.say("Type the question first.", Tone.FAULT)
            return
        refused = self.session.ensure(Deed.ITEM, "to ask the crew")
        if refused:
            self.message.say(refused, Tone.FAULT)
            return
        try:
            self.desk.ask(self.session.person, point, column, text)
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        self._show_rows()
        self.grid.setFocus(Qt.FocusReason.OtherFocusReason)
        self.message.say("The question is an open item of the crew now.", Tone.DONE)
        self.item_written.emit()

    def sign(self) -> None:
        """Sign the shift as reviewed, with PIN or password."""
        if not self.desk.is_open:
            return
        person = self.session.person
        refused = self.desk.why_not_sign(person) if person else self.desk.why_nobody_signs()
        if refused:
            self.message.say(refused, Tone.FAULT)
            return
        self._look_again(self._ask_to_sign)

    def _look_again(self, then: Then) -> None:
        """What is signed is what is shown: read it again first where somebody has written."""
        try:
            if self._loads.is_busy or self.desk.is_stale():
                self.open_shift(self._wanted or self.desk.shift, then)
                return
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        then()

    def _ask_to_sign(self) -> None:
        why = f"{self.desk.title()} is signed as reviewed. What is shown now is frozen with it."
        dialog = SignDialog(
            self.session,
            why,
            self._begin,
            _print,
            self.desk.book,
            self,
            making="Making the review…",
        )
        signed = ask_to_sign(dialog)
        self.refresh()
        if signed:
            self.message.say("Signed as reviewed.", Tone.DONE)
        else:
            self.message.say("Not signed.")

    def preview(self) -> None:
        """Show the review on one page, to print or to save."""
        if self.desk.is_open:
            self._look_again(self._make_page)

    def _make_page(self) -> None:
        make_pages(self._papers, self.desk.pdf, self._show_page, self._on_failed)

    def _show_page(self, data: bytes) -> None:
        show_pdf(self, f"Review · {self.desk.title()}", data, self._on_failed)

    def _begin(self, person: str, secret: str) -> ToSign:
        return self.desk.begin(self.session.door, person, secret)


def _print(book: Book, signing: ToSign) -> bytes:
    return printed(book, signing.document)
