"""The Handover screen: composed by itself, completed by the crew, signed by both, printed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from PySide6.QtCore import Qt
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
from logbook.shift.signing import ToSign
from logbook.ui.handover.cards import PartList
from logbook.ui.handover.desk import HandoverDesk, NotesTyped, printed
from logbook.ui.handover.look import HandoverSeen
from logbook.ui.handover.steps import StepsPanel
from logbook.ui.loads import LoadingMark, Loads
from logbook.ui.round.foot import MessageLine, Tone
from logbook.ui.screens import Screen
from logbook.ui.session import Session
from logbook.ui.show_pdf import make_pages, show_pdf
from logbook.ui.sign_dialog import Begin, SignDialog, ask_to_sign, stop_dialogs
from logbook.ui.theme import Theme, font

KEYS = "F6 sign · Enter accept what is read · Ctrl+S keep notes · Ctrl+P preview · Ctrl+←/→ shift"
SIGN_ON_FIRST = "Sign on as whoever takes over (F3), then read each one."
READ_ONE_BY_ONE = "Read each one: Enter accepts it, or ask."

Then = Callable[[], None]
"""What is done once a shift is shown."""


class HandoverScreen(Screen):
    """The handover of one shift."""

    def __init__(
        self, book: Book, theme: Theme, session: Session, parent: QWidget | None = None
    ) -> None:
        """The screen; `enter` reads the handover that is next. Raises BookError."""
        super().__init__(parent)
        self.session = session
        self.desk = HandoverDesk(book, opened=False)
        self._loads, self._papers = Loads(book, self), Loads(book, self)
        self._wanted: Shift | None = None
        self._then: Then | None = None
        self._unkept: dict[tuple[date, str], NotesTyped] = {}
        self.earlier_button, self.later_button = QPushButton("◀"), QPushButton("▶")
        self.title = QLabel()
        self.title.setFont(font("title", strong=True))
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        self.preview_button = QPushButton("Preview and print…")
        self.banner = Banner()
        self.cards = PartList(theme)
        self.steps = StepsPanel()
        self.loading = LoadingMark(self._loads)
        self.loading.follow(self._papers, "making the pages…")
        self.message = MessageLine(KEYS, self)
        self.setFocusProxy(self.cards)
        self._lay_out()
        self._connect()
        self._show_ready()

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
        top.addWidget(self.title)
        top.addSpacing(8)
        top.addWidget(self.loading)
        top.addStretch(1)
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
        self.bind_keys(
            (
                ("Ctrl+Left", self.earlier),
                ("Ctrl+Right", self.later),
                ("Ctrl+S", self.keep_notes),
                ("Ctrl+P", self.preview),
                ("F5", self.refresh),
                ("F6", self.sign),
            )
        )

    def set_theme(self, theme: Theme) -> None:
        """Show in another palette."""
        self.cards.set_theme(theme)

    # -- which shift ----------------------------------------------------------------------

    def open_shift(self, shift: Shift | None, then: Then | None = None) -> None:
        """Show a shift's handover (None: the one in hand); what is shown stays until it is read.

        `then` is called once it is shown; not where another is asked for before.
        """
        self._wanted, self._then = shift, then
        self._loads.ask(self.desk.looking(shift), self._on_seen, self._on_failed)

    def _on_seen(self, seen: HandoverSeen) -> None:
        typed = self.steps.prepare_body.typed
        before = self.desk.seen if self.desk.is_open else None
        is_same = before is not None and _key(before.shift) == _key(seen.shift)
        unkept = before is not None and before.prepared is not None and typed != self.desk.notes()
        if unkept and not is_same:
            self._keep_quietly()
        self.desk.take(seen)
        self._show(typed if unkept and is_same else self._unkept.pop(_key(seen.shift), None))
        then, self._then = self._then, None
        if then is not None:
            then()

    def _on_failed(self, why: str) -> None:
        self._wanted, self._then = None, None
        self.message.say(why, Tone.FAULT)

    def refresh(self) -> None:
        """Put the same handover together again; what is typed and not kept yet stays."""
        self.open_shift(self.desk.shift if self.desk.is_open else None)

    def earlier(self) -> None:
        """The shift before."""
        self._step(-1)

    def later(self) -> None:
        """The shift after."""
        self._step(1)

    def _step(self, by: int) -> None:
        if not self.desk.is_open:
            return
        self._keep_quietly()
        wanted = self._wanted if self._loads.is_busy else None
        shift = self.desk.other(by, wanted)
        if shift is None:
            side = "earlier" if by < 0 else "later"
            self.message.say(f"The book has no {side} shift.")
        else:
            self.message.say("")
            self.open_shift(shift)

    def enter(self) -> None:
        """What was written while another screen was in front shows at once."""
        try:
            if not self.desk.is_open or self.desk.is_stale() or self.desk.is_running:
                self.refresh()
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
        self.cards.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave(self) -> None:
        """Keep what is typed; read and sign nothing more."""
        stop_dialogs(self)
        self._loads.stop()
        self._papers.stop()
        self._keep_quietly()

    # -- showing --------------------------------------------------------------------------

    def _show_ready(self) -> None:
        """Before the first shift is read there is nothing to do."""
        is_open = self.desk.is_open
        for part in (self.steps, self.preview_button, self.earlier_button, self.later_button):
            part.setEnabled(is_open)
        if not is_open:
            self.title.setText("Handover")
        self.banner.setVisible(is_open)

    def _show(self, unkept: NotesTyped | None) -> None:
        self._show_ready()
        self.title.setText(f"Handover · {self.desk.title()}")
        self.cards.show_parts(self.desk.parts())
        is_signed = self.desk.prepared is None
        self._show_notes(self.desk.notes() if unkept is None or is_signed else unkept)
        self._show_steps()
        self.title_changed.emit(self.title.text())

    def _show_notes(self, notes: NotesTyped) -> None:
        has_safety = bool(self.desk.content.get("safety"))
        self.steps.prepare_body.show_notes(notes, has_safety=has_safety)

    def _show_steps(self) -> None:
        if not self.desk.is_open:
            return
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
        if not self.desk.is_open:
            return
        if self.desk.prepared is None:
            self.message.say("The handover is signed; write a log entry instead.", Tone.FAULT)
            return
        refused = self.session.ensure(Deed.HAND_OVER, "to write the notes of the handover")
        if refused:
            self.message.say(refused, Tone.FAULT)
            return
        if self._keep():
            self.refresh()
            self.message.say("The notes are kept.", Tone.DONE)

    def _keep(self) -> bool:
        """Write what was changed in the notes; False where that failed."""
        try:
            self.desk.keep_notes(self.session.person, self.steps.prepare_body.typed)
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
            return False
        return True

    def _keep_quietly(self) -> None:
        """Write the notes where somebody is signed on; else hold them until they come back."""
        if not self.desk.is_open or self.desk.prepared is None:
            return
        typed = self.steps.prepare_body.typed
        if typed == self.desk.notes():
            return
        try:
            if self.session.person:
                self.desk.keep_notes(self.session.person, typed)
                return
        except BookError as error:
            self.message.say(error.message, Tone.FAULT)
        self._unkept[_key(self.desk.shift)] = typed

    def sign(self) -> None:
        """Sign whichever side is next."""
        if self.desk.is_open and self.desk.state.outgoing is None:
            self.sign_outgoing()
        elif self.desk.is_open:
            self.sign_incoming()

    def sign_outgoing(self) -> None:
        """Hand the shift over, with PIN or password."""
        refused = self.session.ensure(Deed.HAND_OVER, "to hand the shift over")
        if refused:
            self._refuse(refused)
        elif self._keep():
            self._look_again(self._ask_outgoing)

    def _ask_outgoing(self) -> None:
        refused = self.desk.why_not_outgoing(self.session.person)
        if refused:
            self._refuse(refused)
            return
        why = f"You hand over: {self.desk.title()}. What is shown now is frozen with it."
        if self._ask(why, self._begin_outgoing):
            told = "Handed over. The crew stays in charge until somebody takes over."
            self.message.say(told, Tone.DONE)

    def sign_incoming(self) -> None:
        """Take the shift over, with PIN or password."""
        refused = self.session.ensure(Deed.HAND_OVER, "to take the shift over")
        if refused:
            self._refuse(refused)
        else:
            self._look_again(self._ask_incoming)

    def _ask_incoming(self) -> None:
        refused = self.desk.why_not_incoming(self.session.person)
        if refused:
            self._refuse(refused)
            return
        why = f"You take over from: {self.desk.title()}. From now on your crew is in charge."
        if self._ask(why, self._begin_incoming, self._end_outgoing):
            self.message.say("Taken over. This crew is in charge now.", Tone.DONE)

    def _end_outgoing(self) -> None:
        """Whoever handed over is signed off, whoever took over is on."""
        out, into = self.desk.state.outgoing, self.desk.state.incoming
        told = self.session.hand_to(into.person, out.person) if out and into else ""
        if told:
            self.message.say(told, Tone.FAULT)

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

    def _refuse(self, why: str) -> None:
        """Say why not, beside how the shift stands by now: another window may have signed."""
        if self.desk.is_signed_elsewhere():
            self.refresh()
        self.message.say(why, Tone.FAULT)

    def _ask(self, why: str, begin: Begin, then: Then | None = None) -> bool:
        """Ask for the signature; then look again, and go on with `then` where it was given."""
        session, book = self.session, self.desk.book
        signed = ask_to_sign(SignDialog(session, why, begin, _print, book, self))
        self.open_shift(self.desk.shift, then if signed else None)
        if not signed:
            self.message.say("Not signed.")
        return signed

    def _begin_outgoing(self, person: str, secret: str) -> ToSign:
        return self.desk.begin_outgoing(self.session.door, person, secret)

    def _begin_incoming(self, person: str, secret: str) -> ToSign:
        return self.desk.begin_incoming(self.session.door, person, secret)

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
        if self.desk.is_open:
            self._keep_quietly()
            self._look_again(self._make_pages)

    def _make_pages(self) -> None:
        make_pages(self._papers, self.desk.pdf, self._show_pages, self._on_failed)

    def _show_pages(self, data: bytes) -> None:
        show_pdf(self, self.title.text(), data, self._on_failed)


def _print(book: Book, signing: ToSign) -> bytes:
    return printed(book, signing.document)


def _key(shift: Shift) -> tuple[date, str]:
    return shift.date, shift.pattern


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
