"""The Round screen: areas, form, response, draft and save, joined."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import datetime

from PySide6.QtCore import QModelIndex, Qt, QTimer
from PySide6.QtGui import QAction, QShowEvent
from PySide6.QtWidgets import QWidget

from logbook.record import Book, BookError
from logbook.shift.paste import block_of, matched, told_of_paste
from logbook.shift.roles import Deed
from logbook.shift.round_book import RoundDesk
from logbook.shift.round_form import AreaProgress, RoundForm
from logbook.shift.save_gate import Stop, what_stops
from logbook.ui.round import ask, changes
from logbook.ui.round.actions import add_actions
from logbook.ui.round.area_list import AreaLine
from logbook.ui.round.drift_watch import DriftWatch
from logbook.ui.round.foot import Tone
from logbook.ui.round.paint import full_name
from logbook.ui.round.point_text import panel_lines
from logbook.ui.round.reason_menu import open_reason_menu
from logbook.ui.round.round_strip import Chip
from logbook.ui.round.view import RoundView
from logbook.ui.session import Session
from logbook.ui.theme import Theme

log = logging.getLogger(__name__)

DRAFT_PAUSE_MS = 400
CLOCK_MS = 20_000
FIRST_MS = 60


class RoundScreen(RoundView):
    """Everything a crew needs to write a round."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen on `book`, open at the round that is due."""
        super().__init__(theme, parent)
        self.desk = RoundDesk(book, session.plants)
        self.session = session
        session.changed.connect(self._on_session)
        self._area = self._reason_key = ""
        self._draws = self._warned_unanswered = False
        self.drifts = DriftWatch(book, self)
        self._progress: dict[str, AreaProgress] = {}
        self._connect()
        self._add_actions()
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(DRAFT_PAUSE_MS)
        self._pause.timeout.connect(self._keep_current)
        self._clock = QTimer(self)
        self._clock.setInterval(CLOCK_MS)
        self._clock.timeout.connect(self._on_clock)
        self._clock.start()
        self.open_round(self.desk.round_due())
        # The fields can be typed in at once; the first sparklines wait for what draws them.
        self._first = QTimer(self)
        self._first.setSingleShot(True)
        self._first.timeout.connect(self.draw_now)

    def showEvent(self, event: QShowEvent) -> None:
        """Begin to draw once the window is up."""
        if not self._draws:
            self._first.start(FIRST_MS)
        super().showEvent(event)

    def draw_now(self) -> None:
        """Draw the rounds and sparklines, where that is still to come after the start."""
        self._first.stop()
        self._draws = True
        self._refresh_rounds()
        self.sheet.show_trends(self.desk.trends(self._area))
        self.drifts.look()

    # -- building -------------------------------------------------------------------------

    def _connect(self) -> None:
        self.drifts.changed.connect(self._on_drifts)
        self.sheet.typed.connect(self._on_typed)
        self.sheet.responded.connect(self._on_responded)
        self.sheet.confirmed.connect(self._on_confirmed)
        self.sheet.settled.connect(self._on_settled)
        self.sheet.reason_wanted.connect(self._on_reason_wanted)
        self.sheet.pasted.connect(self._on_pasted)
        self.sheet.undo_wanted.connect(self.undo)
        self.sheet.redo_wanted.connect(self.redo)
        self.sheet.correction_wanted.connect(self.correct)
        self.sheet.area_ended.connect(self._on_area_ended)
        self.sheet.current_changed.connect(self._on_current)
        self.areas.clicked.connect(self._on_area_clicked)
        self.bar.strip.chosen.connect(self._on_chip)
        self.bar.other_time.clicked.connect(self.choose_time)
        self.bar.mode_chosen.connect(self._on_mode)
        self.bar.person_chosen.connect(self._on_person)
        self.bar.save.clicked.connect(self.save)
        self.late.edited.connect(self._on_note)
        self.head.stop.clicked.connect(self.stop_or_start)

    def _add_actions(self) -> None:
        add_actions(
            self,
            {
                "Save round": self.save,
                "Next area": self.next_area,
                "Previous area": self.previous_area,
                "Next open field": self.next_open,
                "Correct a saved reading": self.correct_nearest,
                "Who writes": self.choose_person,
                "Operating mode": self.choose_mode,
                "Down or back in service": self.stop_or_start,
                "Readings at another time": self.choose_time,
                "Earlier round": self.earlier_round,
                "Later round": self.later_round,
            },
        )

    # -- round and area -------------------------------------------------------------------

    @property
    def person(self) -> str:
        """Who writes: the person signed on, or chosen where the book has no PINs yet."""
        return self.session.person

    @property
    def form(self) -> RoundForm:
        """The form now shown."""
        return self.desk.form

    @property
    def is_drawn(self) -> bool:
        """True once the sparklines and the rounds show as well."""
        return self._draws

    @property
    def area(self) -> str:
        """Key of the area now shown."""
        return self._area

    def open_round(self, at: datetime, *, is_round: bool = True, note: str = "") -> None:
        """Load the round due at `at` (or readings at any other time) with what was drafted."""
        self._keep_current()
        try:
            restored = self.desk.open(at, is_round=is_round, note=note)
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        if restored.person and not self.person:
            self.session.take(restored.person)
        self._warned_unanswered = False
        self.bar.show_modes([(m.key, m.name) for m in self.desk.plant.modes], self.form.mode)
        self._show_people()
        self._refresh_rounds()
        area = self._area or self.desk.first_open_area()
        self._area = ""
        self.show_area(area)
        if restored.count:
            self.message.say(f"{restored.count} unsaved entries of this round were brought back.")
        self._tell_late()
        self.title_changed.emit(self.desk.title())

    def show_area(self, area: str) -> None:
        """Show the form of `area`."""
        if area != self._area:
            self._keep_current()
        self._area = area
        described = self.desk.plant.area(area)
        self.head.show_area(described.name, described.caution)
        self._refresh_areas()
        self.areas.choose(area)
        self.sheet.show_area(self.form, area, self.desk.trends(area) if self._draws else {})
        self._on_current(self.sheet.current)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_field(self, key: str, at: datetime) -> None:
        """Go to a point's field in the round of `at`, where the round has it."""
        if at != self.form.taken_at:
            self.open_round(at)
        if key in self.form.fields:
            self._go_to(key)

    def enter(self) -> None:
        """Look again at what may have changed meanwhile."""
        self._on_clock()
        self.title_changed.emit(self.desk.title())

    def next_area(self) -> None:
        """The next area in process order."""
        self._step_area(1)

    def previous_area(self) -> None:
        """The area before in process order."""
        self._step_area(-1)

    def next_open(self) -> None:
        """Go to the next due field without value or reason, in whatever area it stands."""
        order = [p.key for p in self.desk.plant.points]
        waiting = self.form.unsettled() + self.form.open_keys()
        here = order.index(self.sheet.current) if self.sheet.current else -1
        ranked = sorted(waiting, key=lambda key: (order.index(key) <= here, order.index(key)))
        target = next((key for key in ranked if key != self.sheet.current), None)
        if target is None:
            self.message.say("Nothing is left open in this round.")
        else:
            self._go_to(target)

    def earlier_round(self) -> None:
        """The round before on the strip."""
        self.bar.strip.step(-1)

    def later_round(self) -> None:
        """The round after on the strip."""
        self.bar.strip.step(1)

    def _step_area(self, by: int) -> None:
        keys = [area.key for area in self.desk.plant.areas]
        place = keys.index(self._area) + by
        if 0 <= place < len(keys):
            self.show_area(keys[place])

    def _go_to(self, key: str) -> None:
        area = self.form.fields[key].point.area
        if area != self._area:
            self.show_area(area)
        self.sheet.go_to(key)

    def _refresh_areas(self, keys: Iterable[str] | None = None) -> None:
        """Show how far the areas are: those of the fields `keys`, or all."""
        areas = self.desk.plant.areas
        touched = {a.key for a in areas}
        if keys is not None:
            touched = {self.form.fields[key].point.area for key in keys}
        for area in areas:
            if area.key in touched:
                self._progress[area.key] = self.form.progress(area.key)
        lines = tuple(AreaLine(a.key, a.name, self._progress[a.key]) for a in areas)
        self.areas.areas.show_lines(lines)

    def _refresh_rounds(self) -> None:
        if not self._draws:
            return
        chips = tuple(Chip(s, *self.desk.label(s.at)) for s in self.desk.statuses())
        current = next(
            (i for i, chip in enumerate(chips) if chip.status.at == self.form.round_at), -1
        )
        self.bar.strip.show_chips(chips, current)

    # -- what the sheet tells -------------------------------------------------------------

    def _on_typed(self, key: str, text: str) -> None:
        self._warned_unanswered = False
        changed = self.form.type(key, text)
        self.sheet.refresh(changed)
        self._refresh_areas(changed)
        self._pause.start()

    def _on_responded(self, key: str, text: str) -> None:
        self.form.respond(key, text)
        self._refresh_areas([key])
        self._pause.start()

    def _on_confirmed(self, key: str) -> None:
        self.sheet.refresh(self.form.confirm(key))
        self._refresh_areas()

    def _on_settled(self, key: str) -> None:
        self.form.settle()
        self._keep([key])

    def _on_pasted(self, keys: list[list[str | None]], text: str) -> None:
        block = block_of(text)
        texts = matched(self.form, keys, block)
        self.sheet.refresh(self.form.fill(texts))
        self._refresh_areas()
        self._keep(list(texts))
        asks = any(self.form.fields[key].entry.question is not None for key in texts)
        told = told_of_paste(self.form, texts, block)
        self.message.say(told, Tone.FAULT if asks else Tone.PLAIN)

    def _on_reason_wanted(self, key: str) -> None:
        self._reason_key = key
        menu = open_reason_menu(self, self.sheet.focusProxy())
        menu.triggered.connect(self._on_reason)

    def _on_reason(self, action: QAction) -> None:
        key, reason = self._reason_key, action.data()
        if reason is None:
            changed = self.form.clear(key)
        else:
            words = reason or ask.ask_reason(
                self, "No reading", f"{full_name(self.form, key)} was not read.", "Keep the reason"
            )
            if not words:
                return
            changed = self.form.give_reason(key, words)
        self.sheet.refresh(changed)
        self._refresh_areas()
        self._keep([key])
        self.sheet.leave_for_next()

    def _on_area_ended(self) -> None:
        keys = [area.key for area in self.desk.plant.areas]
        later = keys[keys.index(self._area) + 1 :]
        target = next((k for k in later if self.desk.has_open(k)), None)
        if target is not None:
            self.show_area(target)
        elif self.form.open_keys():
            self.message.say(
                f"End of the round; {len(self.form.open_keys())} fields are still open (F8)."
            )
        else:
            self.message.say("All fields are filled. Ctrl+S saves the round.")

    def _on_current(self, key: str) -> None:
        comma, drift = self.desk.plant.settings.decimal_comma, self.drifts.found.get(key)
        self.panel.show_point(*panel_lines(self.form, key, decimal_comma=comma, drift=drift))

    def _on_drifts(self) -> None:
        self.sheet.show_drifts(self.drifts.found)
        self._on_current(self.sheet.current)

    # -- choices --------------------------------------------------------------------------

    def choose_person(self) -> None:
        """Open the list of people, or ask for a sign-on where the book has PINs."""
        if self.session.uses_secrets:
            self.session.request()
            return
        self.bar.person.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.bar.person.showPopup()

    def choose_mode(self) -> None:
        """Open the list of modes."""
        self.bar.mode.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.bar.mode.showPopup()

    def choose_time(self) -> None:
        """Ask for a time outside the rounds and open its form."""
        asked = ask.ask_time(self, self.desk.today(), self.desk.read_time)
        if asked is not None:
            self.open_round(asked.at, is_round=False, note=asked.note)

    def stop_or_start(self) -> None:
        """Record that an area or machine goes down or comes back."""
        changes.stop_or_start(self)

    def correct(self, key: str) -> None:
        """Correct the saved reading of a point."""
        changes.correct(self, key)

    def correct_nearest(self) -> None:
        """Correct a saved reading of the area; the one nearest to the field in use is offered."""
        changes.correct(self)

    def undo(self) -> None:
        """Take the last change of the form back."""
        self._follow(self.form.undo())

    def redo(self) -> None:
        """Make the last undone change again."""
        self._follow(self.form.redo())

    def _follow(self, changed: frozenset[str]) -> None:
        self.sheet.refresh(changed)
        self._refresh_areas()
        # A field of a machine that now stands is closed, yet its draft must follow.
        self._keep([key for key in changed if self.form.holds(key)])
        here = [key for key in self.sheet.keys if key in changed and self.form.is_open(key)]
        if len(here) == 1 and here[0] != self.sheet.current:
            self.sheet.go_to(here[0])

    def _on_chip(self, index: int) -> None:
        statuses = self.desk.statuses()
        if 0 <= index < len(statuses):
            self.open_round(statuses[index].at)

    def _on_person(self, key: str) -> None:
        self.session.take(key)
        self.sheet.setFocus(Qt.FocusReason.OtherFocusReason)

    def _on_session(self) -> None:
        self._show_people()
        self._keep([])
        name = self.desk.person_name(self.person)
        told = f"{name} writes." if self.person else ""
        self.message.say("Locked. What is typed stays." if self.session.is_locked else told)

    def _show_people(self) -> None:
        people = None if self.session.uses_secrets else self.desk.people(self.form.taken_at)
        self.bar.show_people(people, self.person)

    def _on_mode(self, mode: str) -> None:
        changes.change_mode(self, mode)

    def _on_area_clicked(self, index: QModelIndex) -> None:
        self.show_area(self.areas.areas.key_at(index.row()))

    def _on_note(self, text: str) -> None:
        self.form.note = text
        self._keep([])

    def reload(self, told: str) -> None:
        """Load the same round anew, what was typed with it."""
        area, key = self._area, self.sheet.current
        self.open_round(
            self.form.taken_at, is_round=self.form.round_at is not None, note=self.form.note
        )
        self.show_area(area)
        if key and key in self.form.fields and self.form.is_open(key):
            self.sheet.go_to(key)
        self.message.say(told)

    # -- drafts ---------------------------------------------------------------------------

    def _keep_current(self) -> None:
        if hasattr(self, "_pause"):
            self._pause.stop()
        if self.sheet.current:
            self._keep([self.sheet.current])

    def _keep(self, keys: list[str]) -> None:
        try:
            self.desk.keep_draft(keys, self.person)
        except BookError as error:
            log.warning("draft not kept: %s", error.message)
            self.message.say(f"What you type is not kept yet: {error.message}", Tone.FAULT)

    # -- saving ---------------------------------------------------------------------------

    def save(self) -> None:
        """Write what is filled in as one page, or say what stands in the way."""
        self._keep_current()
        if not self._may_save() or not self.may(Deed.WRITE):
            return
        try:
            told = self.desk.save(self.person)
        except BookError as error:
            self.message.say(f"Not saved. {error.message}", Tone.FAULT)
            return
        area = self._area
        self._refresh_rounds()
        self._tell_late()
        self.show_area(area)
        self.drifts.look()
        self.message.say(told, Tone.DONE)

    def _may_save(self) -> bool:
        stopped = what_stops(
            self.form,
            has_person=bool(self.person),
            needs_note=self.desk.needs_note(),
            leaves_unanswered=self._warned_unanswered,
        )
        if stopped is None:
            return True
        self._warned_unanswered = stopped.stop is Stop.UNANSWERED
        if stopped.key:
            self._go_to(stopped.key)
        tone = Tone.PLAIN if stopped.stop is Stop.NOTHING else Tone.FAULT
        self.message.say(stopped.sentence, tone)
        if stopped.stop is Stop.NO_PERSON:
            self.choose_person()
            return bool(self.person) and self._may_save()
        if stopped.stop is Stop.NO_NOTE:
            self._tell_late()
            self.late.reason.setFocus(Qt.FocusReason.OtherFocusReason)
        return False

    def may(self, what: Deed) -> bool:
        """True where somebody who may do it is there; asks for one, and says why not."""
        if not self.person:
            self.message.say("Choose who writes, then go on.", Tone.FAULT)
            self.choose_person()
        refused = self.session.may(what) if self.person else ""
        if refused:
            self.message.say(refused, Tone.FAULT)
        return bool(self.person) and not refused

    # -- time -----------------------------------------------------------------------------

    def _on_clock(self) -> None:
        self._refresh_rounds()
        self._tell_late()

    def _tell_late(self) -> None:
        self.late.tell(self.desk.late_words(), self.form.note)

    def leave(self) -> None:
        """Keep what is typed before the window closes."""
        self._clock.stop()
        self.drifts.stop()
        self._keep_current()
