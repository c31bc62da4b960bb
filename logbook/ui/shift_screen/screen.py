"""The Shift screen: the shift as one picture, its timeline, what is open, and the log's forms."""

from __future__ import annotations

import logging
from collections.abc import Callable

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QApplication, QWidget

from logbook.record import Book, BookError
from logbook.shift.matter_words import words_of
from logbook.shift.open_lines import Section
from logbook.shift.picture import Matter
from logbook.shift.reliefs import Relief
from logbook.shift.roles import Deed
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.timeline import resolved
from logbook.ui.loads import LoadingMark, Loads
from logbook.ui.round.foot import Tone
from logbook.ui.session import Session
from logbook.ui.shift_screen import deeds
from logbook.ui.shift_screen.look import LogSeen, ShiftSeen, finding, looking
from logbook.ui.shift_screen.matter_dialog import MatterDialog
from logbook.ui.shift_screen.search_line import Wanted
from logbook.ui.shift_screen.view import ShiftView
from logbook.ui.theme import Theme

log = logging.getLogger(__name__)

CLOCK_MS = 60_000

KEYS = {
    "Shift before": "Alt+Left",
    "Shift after": "Alt+Right",
    "Running shift": "Alt+Home",
    "Search": "Ctrl+F",
    "Next part": "F5",
    "Who is signed on": "F3",
}


class ShiftScreen(ShiftView):
    """Everything a crew needs to see and write of its shift beside the rounds."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen on `book`, at the running shift; the book is read when it is entered."""
        super().__init__(theme, parent)
        self.desk = ShiftDesk(book, session.plants)
        self.session = session
        self._follows = True
        self._wanted = Wanted()
        self._loads, self._finds = Loads(book, self), Loads(book, self)
        self.bar.show_loading(LoadingMark(self._loads))
        self.search.show_loading(LoadingMark(self._finds, "searching…"))
        self.is_shown = False
        self._connect()
        self._add_actions()
        self._clock = QTimer(self)
        self._clock.setInterval(CLOCK_MS)
        self._clock.timeout.connect(self._on_clock)
        plant = self.desk.plant
        self.search.offer(
            [(a.key, a.name) for a in plant.areas], [(p.key, p.name) for p in plant.people]
        )

    def _connect(self) -> None:
        self.bar.stepped.connect(self.step)
        self.bar.form_wanted.connect(self.write)
        self.lanes.opened.connect(self._on_opened)
        self.lanes.current_changed.connect(self._on_current)
        self.timeline.opened.connect(self.open_source)
        self.open.opened.connect(self.open_source)
        self.search.wanted.connect(self._on_wanted)
        self.search.left.connect(self._on_search_left)
        self.session.changed.connect(self._on_session)

    def _add_actions(self) -> None:
        slots: dict[str, Callable[[], object]] = {
            "Shift before": self.earlier,
            "Shift after": self.later,
            "Running shift": self.to_present,
            "Search": self.search.begin,
            "Next part": self.next_part,
            "Who is signed on": self.ask_person,
        }
        for name, slot in slots.items():
            action = QAction(name, self)
            action.setShortcut(QKeySequence(KEYS[name]))
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            action.triggered.connect(slot)
            self.addAction(action)

    # -- showing --------------------------------------------------------------------------

    def enter(self) -> None:
        """Look at the book again."""
        if self._follows:
            self.desk.to_present()
        self._clock.start()
        self.reload()

    def leave(self) -> None:
        """Stop looking at the clock, and at the book."""
        self._clock.stop()
        self._loads.stop()
        self._finds.stop()

    def step(self, by: int) -> None:
        """Show the shift before (-1), after (1), or the running one (0)."""
        if by == 0:
            self.desk.to_present()
        elif not self.desk.step(by):
            words = "There is no shift before it." if by < 0 else "It is the running shift."
            self.message.say(words)
            return
        self._follows = self.desk.is_running
        self.reload()

    def earlier(self) -> None:
        """The shift before."""
        self.step(-1)

    def later(self) -> None:
        """The shift after."""
        self.step(1)

    def to_present(self) -> None:
        """The running shift."""
        self.step(0)

    def ask_person(self) -> None:
        """Sign on, change person or sign off."""
        self.session.request()

    def reload(self, told: str = "") -> None:
        """Show the shift as it now stands in the book; what is shown stays until it is read."""
        self.message.say(told, Tone.DONE)
        try:
            self.desk.refresh()
        except BookError as error:
            self._on_failed(error.message)
            return
        read = looking(self.desk, self._wanted, self.session.person)
        self._loads.ask(read, self._on_seen, self._on_failed)

    def _on_seen(self, seen: ShiftSeen) -> None:
        self.is_shown = True
        self.bar.show_shift(seen.head, seen.span, is_running=seen.is_running)
        self.title_changed.emit(f"{self.desk.plant.name} – {seen.head}")
        self.lanes.show_picture(seen.picture)
        if seen.log.wanted == self._wanted:  # else another search is on its way
            self._show_log(seen.log)
        self.open.show_sections(seen.open)

    def _on_failed(self, why: str) -> None:
        self.message.say(why, Tone.FAULT)

    def next_part(self) -> None:
        """The keyboard goes from the picture to the timeline, to what is open, and around."""
        focus = QApplication.focusWidget()
        place = next((k for k, part in enumerate(self.parts) if part is focus), -1)
        self.parts[(place + 1) % len(self.parts)].setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _show_log(self, seen: LogSeen) -> None:
        self.search.say(seen.heading)
        self.timeline.show_sections((Section("", seen.section.lines, seen.section.none),))

    def _on_wanted(self, wanted: Wanted) -> None:
        self._wanted = wanted
        self.message.say("")
        self._finds.ask(finding(self.desk, wanted), self._show_log, self._on_failed)

    def _on_search_left(self) -> None:
        self.timeline.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_opened(self, matter: Matter) -> None:
        self.open_source(matter.source)

    def _on_current(self, matter: Matter | None) -> None:
        self.told.setText(matter.words if matter else "Nothing is out of the ordinary so far.")
        self.told.setToolTip(matter.words if matter else "")

    def _on_session(self) -> None:
        if self.isVisible():
            self.reload()

    def _on_clock(self) -> None:
        if self.isVisible():
            self.enter()

    # -- opening --------------------------------------------------------------------------

    def open_source(self, source: object) -> None:
        """Show all that is known about a matter and do what is chosen there."""
        source = resolved(self.desk, source)
        offered = deeds.offered(self.desk, source, self.session.person)
        dialog = MatterDialog(
            words_of(self.desk, source), [(d.key, d.words) for d in offered], self
        )
        dialog.exec()
        chosen = next((d for d in offered if d.key == dialog.chosen), None)
        dialog.deleteLater()
        if chosen is None:
            return
        field = deeds.field_of(source) if chosen.key == "field" else None
        if field is not None:
            self.field_wanted.emit(*field)
            return
        if isinstance(source, Relief):
            self._relieve(source)
            return
        self._write(
            chosen.what, lambda: deeds.written(self, self.desk, source, chosen, self._guard)
        )

    def _relieve(self, relief: Relief) -> None:
        from logbook.ui.relief_dialog import go_on

        self.reload(go_on(self.session, self.desk.book, relief, self))

    # -- writing --------------------------------------------------------------------------

    def write(self, form: str, area: str | None = None) -> str:
        """Open a form of the log and write what it gives; returns what was written, in words."""
        if area is None and self.lanes.current is not None and self.isVisible():
            area = self.lanes.current.area or None
        asked = deeds.FORMS[form]
        return self._write(
            asked.what, lambda: asked.ask(self.window(), self.desk, self._guard(asked.what), area)
        )

    def _guard(self, what: Deed) -> Callable[[], str]:
        """For a form that is open: somebody who may must be there when it is accepted."""
        return lambda: self.session.ensure(what)

    def _write(self, what: Deed, ask: Callable[[], deeds.Asked | None]) -> str:
        refused = self.session.ensure(what)
        if refused:
            self.message.say(refused, Tone.FAULT)
            return ""
        asked = ask()
        if asked is None:
            return ""
        try:
            if asked.by is not None:
                asked.by(self.session.person)
            else:
                self.desk.write(self.session.person, asked.rows)
        except BookError as error:
            self.message.say(f"Not written. {error.message}", Tone.FAULT)
            return ""
        if self.isVisible():
            self.reload(asked.told)
        return asked.told
