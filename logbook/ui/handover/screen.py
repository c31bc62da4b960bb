"""The Handover screen: composed by itself, completed by the crew, signed by both, printed."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from logbook.plant.roster import Shift
from logbook.record import Book, BookError
from logbook.shift.roles import Deed
from logbook.ui.handover.cards import PartList
from logbook.ui.handover.desk import HandoverDesk, NotesTyped
from logbook.ui.handover.steps import StepsPanel
from logbook.ui.round.foot import MessageLine, Tone
from logbook.ui.screens import Screen
from logbook.ui.session import Session
from logbook.ui.show_pdf import show_pdf
from logbook.ui.sign_dialog import ask_to_sign
from logbook.ui.theme import Theme, font

KEYS = "F6 sign · Enter accept what is read · Ctrl+S keep notes · Ctrl+P preview · Ctrl+←/→ shift"
SIGN_ON_FIRST = "Sign on as whoever takes over (F3), then read each one."
READ_ONE_BY_ONE = "Read each one: Enter accepts it, or ask."


class HandoverScreen(Screen):
    """The handover of one shift."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen on the handover that is next. Raises BookError."""
        super().__init__(parent)
        self.session = session
        self.desk = HandoverDesk(book)
        self.earlier_button, self.later_button = QPushButton("◀"), QPushButton("▶")
        self.title = QLabel()
        self.title.setFont(font("title", strong=True))
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        self.preview_button = QPushButton("Preview and print…")
        self.banner = Banner()
        self.cards = PartList(theme)
        self.steps = StepsPanel()
        self.message = MessageLine(KEYS, self)
        self.setFocusProxy(self.cards)
        self._lay_out()
        self._connect()
        self._show()

    # -- building -------------------------------------------------------------------------

    def _lay_out(self) -> None:
        bar = QFrame()
        bar.setProperty("role", "bar")
        top = QHBoxLayout(bar)
        top.setContentsMargins(12, 8, 12, 8)
        top.setSpacing(8)
        for button, name in (
            (self.earlier_button, "Earlier shift"),
            (self.later_button, "Later shift"),
        ):
            button.setFixedWidth(40)
            button.setAccessibleName(name)
            button.setProperty("role", "step")
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            top.addWidget(button)
        top.addSpacing(4)
        top.addWidget(self.title, 1)
        top.addWidget(self.preview_button)
        body = QHBoxLayout()
        body.setSpacing(0)
        body.addWidget(self.cards, 1)
        body.addWidget(self.steps)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for widget in (bar, self.banner):
            layout.addWidget(widget)
        layout.addLayout(body, 1)
        layout.addWidget(self.message)

    def _connect(self) -> None:
        self.earlier_button.clicked.connect(self.earlier)
        self.later_button.clicked.connect(self.later)
        self.preview_button.clicked.connect(self.preview)
        self.steps.prepare_body.keep.clicked.connect(self.keep_notes)
        self.steps.sign_out.clicked.connect(self.sign_outgoing)
        self.steps.sign_in.clicked.connect(self.sign_incoming)
        self.steps.subjects.answered.connect(self._on_answered)
        self.session.changed.connect(self._show_steps)
        for keys, slot in (
            ("Ctrl+Left", self.earlier),
            ("Ctrl+Right", self.later),
            ("Ctrl+S", self.keep_notes),
            ("Ctrl+P", self.preview),
            ("F5", self.refresh),
            ("F6", self.sign),
        ):
            key = QShortcut(QKeySequence(keys), self)
            key.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            key.activated.connect(slot)

    def set_theme(self, theme: Theme) -> None:
        """Show in another palette."""
        self.cards.set_theme(theme)

    # -- which shift ----------------------------------------------------------------------

    def open_shift(self, shift: Shift) -> None:
        """Show another shift's handover."""
        try:
            self.desk.open(shift)
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        self._show()

    def refresh(self) -> None:
        """Put the same handover together again; what is typed and not kept yet stays."""
        typed, kept = self.steps.prepare_body.typed, self.desk.notes()
        self.open_shift(self.desk.shift)
        if typed != kept and self.desk.prepared is not None:
            self._show_notes(typed)

    def earlier(self) -> None:
        """The shift before."""
        self._step(-1)

    def later(self) -> None:
        """The shift after."""
        self._step(1)

    def _step(self, by: int) -> None:
        self._keep_quietly()
        shift = self.desk.other(by)
        if shift is None:
            side = "earlier" if by < 0 else "later"
            self.message.say(f"The book has no {side} shift.")
        else:
            self.message.say("")
            self.open_shift(shift)

    def enter(self) -> None:
        """What was written while another screen was in front shows at once."""
        try:
            is_stale = self.desk.is_stale()
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        if is_stale or self.desk.is_running:
            self.refresh()
        self.cards.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Keep what is typed."""
        self._keep_quietly()

    # -- showing --------------------------------------------------------------------------

    def _show(self) -> None:
        self.title.setText(f"Handover · {self.desk.title()}")
        self.cards.show_parts(self.desk.parts())
        self._show_notes(self.desk.notes())
        self._show_steps()
        self.title_changed.emit(self.title.text())

    def _show_notes(self, notes: NotesTyped) -> None:
        has_safety = bool(self.desk.content.get("safety"))
        self.steps.prepare_body.show_notes(notes, has_safety=has_safety)

    def _show_steps(self) -> None:
        state, steps = self.desk.state, self.steps
        out, into = state.outgoing, state.incoming
        self.banner.tell(*self.desk.standing())
        left = "\n".join(self.desk.unsaid())
        steps.prepare_body.left.setText(left)
        steps.prepare_body.left.setVisible(bool(left))
        told = "The notes stand in the parts at the left." if out else ""
        steps.prepare.show_state(told, is_done=out is not None, has_body=out is None)
        told = self.desk.signed_words(out) if out else ""
        steps.outgoing.show_state(told, is_done=out is not None, has_body=out is None)
        self._show_reading()
        told = self.desk.signed_words(into) if into else ""
        if not told and out is None:
            told = "After the outgoing crew has signed."
        can_sign = out is not None and into is None
        steps.incoming.show_state(told, is_done=into is not None, has_body=can_sign)

    def _show_reading(self) -> None:
        state, steps = self.desk.state, self.steps
        subjects = self.desk.to_read(self.session.person)
        steps.subjects.show_subjects(subjects, may_answer=state.incoming is None)
        left = steps.subjects.open_count
        if state.outgoing is None:
            steps.reading.show_state("After the outgoing crew has signed.", is_done=False)
            return
        told = f"{len(subjects) - left} of {len(subjects)} read"
        if not subjects:
            told = "No safety state and no action deviation is open."
        elif left and state.incoming is None:
            is_other = self.session.person not in ("", state.outgoing.person)
            told += f". {READ_ONE_BY_ONE if is_other else SIGN_ON_FIRST}"
        is_done = left == 0
        steps.reading.show_state(told, is_done=is_done, has_body=bool(subjects))

    # -- what the crews do ----------------------------------------------------------------

    def keep_notes(self) -> None:
        """Write the notes in the book."""
        if self.desk.prepared is None:
            self.message.say("The handover is signed; write a log entry instead.", Tone.FAULT)
            return
        refused = self.session.ensure(Deed.HAND_OVER, "to write the notes of the handover")
        if refused:
            self.message.say(refused, Tone.FAULT)
            return
        if self._keep():
            self.message.say("The notes are kept.", Tone.DONE)

    def _keep(self) -> bool:
        """Write what was changed in the notes; False where that failed."""
        try:
            if self.desk.keep_notes(self.session.person, self.steps.prepare_body.typed):
                self.desk.refresh()
                self._show()
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return False
        return True

    def _keep_quietly(self) -> None:
        typed = self.steps.prepare_body.typed
        if self.desk.prepared is not None and typed != self.desk.notes() and self.session.person:
            self._keep()

    def sign(self) -> None:
        """Sign whichever side is next."""
        if self.desk.state.outgoing is None:
            self.sign_outgoing()
        else:
            self.sign_incoming()

    def sign_outgoing(self) -> None:
        """Hand the shift over, with PIN or password."""
        refused = self.session.ensure(Deed.HAND_OVER, "to hand the shift over")
        if not refused:
            if not self._keep():
                return
            self._look_again()
            refused = self.desk.why_not_outgoing(self.session.person)
        if refused:
            self._refuse(refused)
            return
        why = f"You hand over: {self.desk.title()}. What is shown now is frozen with it."
        signed = ask_to_sign(self.session, self, why, self._on_outgoing)
        self._after(signed, "Handed over. The crew stays in charge until somebody takes over.")

    def sign_incoming(self) -> None:
        """Take the shift over, with PIN or password."""
        refused = self.session.ensure(Deed.HAND_OVER, "to take the shift over")
        if not refused:
            self._look_again()
            refused = self.desk.why_not_incoming(self.session.person)
        if refused:
            self._refuse(refused)
            return
        why = f"You take over from: {self.desk.title()}. From now on your crew is in charge."
        signed = ask_to_sign(self.session, self, why, self._on_incoming)
        self._after(signed, "Taken over. This crew is in charge now.")
        if signed:
            self._end_outgoing()

    def _end_outgoing(self) -> None:
        """Whoever handed over is signed off, whoever took over is on."""
        out, into = self.desk.state.outgoing, self.desk.state.incoming
        told = self.session.hand_to(into.person, out.person) if out and into else ""
        if told:
            self.message.say(told, Tone.FAULT)

    def _look_again(self) -> None:
        if self.desk.is_stale():
            self.refresh()

    def _refuse(self, why: str) -> None:
        """Say why not, beside how the shift stands by now: another window may have signed."""
        if self.desk.is_signed_elsewhere():
            self.refresh()
        self.message.say(why, Tone.FAULT)

    def _after(self, signed: bool, told: str) -> None:
        self.open_shift(self.desk.shift)
        self.message.say(told if signed else "Not signed.", Tone.DONE if signed else Tone.PLAIN)

    def _on_outgoing(self, person: str, secret: str) -> str:
        return self.desk.sign_outgoing(self.session.door, person, secret)

    def _on_incoming(self, person: str, secret: str) -> str:
        return self.desk.sign_incoming(self.session.door, person, secret)

    def _on_answered(self, subject: str, text: str) -> None:
        refused = self.session.ensure(Deed.HAND_OVER, "as whoever takes the shift over")
        out, person = self.desk.state.outgoing, self.session.person
        if not refused and out is not None and out.person == person:
            refused = f"{self.desk.name(person)} handed over; sign on as whoever takes over (F3)."
        if refused:
            self.message.say(refused, Tone.FAULT)
            return
        try:
            self.desk.answer(person, subject, text)
            self.desk.reload_answers()
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return
        self._show_steps()
        self.message.say("Asked; the question stays on the record." if text else "Accepted.")

    # -- paper ----------------------------------------------------------------------------

    def preview(self) -> None:
        """Show the very pages that are printed, stored and hashed."""
        self._keep_quietly()
        fault = show_pdf(self, self.title.text(), self.desk.pdf)
        if fault:
            self.message.say(fault, Tone.FAULT)


class Banner(QFrame):
    """How the handover stands, over the whole width; loud where it must not be overlooked."""

    def __init__(self) -> None:
        """A banner that says nothing."""
        super().__init__()
        self._text = QLabel()
        self._text.setTextFormat(Qt.TextFormat.PlainText)
        self._text.setWordWrap(True)
        layout = QHBoxLayout(self)
        layout.setContentsMargins(14, 7, 14, 7)
        layout.addWidget(self._text)

    @property
    def text(self) -> str:
        """What it says."""
        return self._text.text()

    def tell(self, text: str, loudness: str) -> None:
        """Say it: "banner" is an alarm, "notice" a remark, "" plain."""
        self._text.setText(text)
        self._text.setProperty("role", {"banner": "alarm", "notice": "strong"}.get(loudness, ""))
        self.setProperty("role", loudness or "bar")
        for widget in (self, self._text):
            widget.style().unpolish(widget)
            widget.style().polish(widget)
