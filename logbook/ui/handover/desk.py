"""What the Handover screen does with the book, without a widget."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from logbook.assess.limits import NOT_JUDGED
from logbook.plant.calendar import next_shift, previous_shift
from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Plant
from logbook.plant.roster import Shift
from logbook.record import Book, Change, NewHandoverNote, SafetyState, Signature
from logbook.record.rows_handover import CheckAnswer, NotePart
from logbook.shift.away import EARLY
from logbook.shift.json_words import Json
from logbook.shift.plants import PlantHistory
from logbook.shift.signed_json import unsigned_document
from logbook.shift.signed_state import SignedState, signed_state
from logbook.shift.signing import (
    Prepared,
    ToSign,
    answer_subject,
    begin_incoming,
    begin_outgoing,
    subjects_to_read,
    unsaid,
    why_not_incoming,
    why_not_outgoing,
)
from logbook.shift.words import person_name, point_name
from logbook.ui.handover.from_json import SAFETY, cards_of, risks_of
from logbook.ui.handover.look import HandoverSeen, look
from logbook.ui.handover.parts import Line, Part, ToRead

if TYPE_CHECKING:
    from logbook.shift.access import Door

FOLLOWED = frozenset({"safety event", "item event"})
"""Changes that happen to something the shift has handed on."""
DEEDS = {"clear": "cleared", "extend": "extended", "close": "closed", "reopen": "opened again"}
NOTE_PARTS: tuple[NotePart, ...] = ("remarks", "next_shift", "no_safety", "no_next")


@dataclass(frozen=True, slots=True)
class NotesTyped:
    """What the crew adds; a box that is ticked says "nothing" in so many words."""

    remarks: str = ""
    next_shift: str = ""
    no_safety: bool = False
    no_next: bool = False

    def texts(self) -> dict[NotePart, str]:
        """The text of each part; empty takes back what it said."""
        return {
            "remarks": self.remarks.strip(),
            "next_shift": self.next_shift.strip(),
            "no_safety": "No safety state is open." if self.no_safety else "",
            "no_next": "Nothing for the next shift." if self.no_next else "",
        }


class HandoverDesk:
    """The handover of one shift at a time, live until it is signed, frozen from then on."""

    def __init__(self, book: Book, *, opened: bool = True) -> None:
        """A desk with the handover that is next, where it is `opened`. Raises BookError."""
        self.book = book
        self._plants = PlantHistory(book)
        self._seen: HandoverSeen | None = None
        self._kept: NotesTyped | None = None
        if opened:
            self.take(look(book, self._plants))

    # -- which shift ----------------------------------------------------------------------

    @property
    def is_open(self) -> bool:
        """True once a shift has been looked at."""
        return self._seen is not None

    @property
    def seen(self) -> HandoverSeen:
        """What was looked at; only where it `is_open`."""
        assert self._seen is not None, "no shift was looked at yet"
        return self._seen

    @property
    def shift(self) -> Shift:
        """The shift shown."""
        return self.seen.shift

    @property
    def plant(self) -> Plant:
        """The plant as defined at the end of the shift."""
        return self.seen.plant

    @property
    def state(self) -> SignedState:
        """The signatures and answers."""
        return self.seen.state

    @property
    def prepared(self) -> Prepared | None:
        """What would be signed; None where the outgoing crew has signed."""
        return self.seen.prepared

    @property
    def content(self) -> Json:
        """What is shown."""
        return self.seen.content

    def looking(self, shift: Shift | None) -> Callable[[Book], HandoverSeen]:
        """What looks at a shift (None: the one in hand) in another thread, for `take`."""
        plants = self._plants

        def read(beside: Book) -> HandoverSeen:
            return look(beside, plants.beside(beside), shift)

        return read

    def take(self, seen: HandoverSeen) -> None:
        """Show what was looked at."""
        self._seen, self._kept = seen, None

    def open(self, shift: Shift) -> None:
        """Look at a shift here and now. Raises BookError; then the one before stays."""
        self.take(look(self.book, self._plants, shift))

    def refresh(self) -> None:
        """Look at the same shift again."""
        self.open(self.shift)

    def reload_answers(self) -> None:
        """Read the answers of the incoming anew; what was signed stays as it is."""
        now, last = self.book.now(), self.book.last_page().id
        state = signed_state(self.book, self.shift, now)
        subjects = subjects_to_read(self.book, self.shift, now)
        self._seen = replace(self.seen, state=state, subjects=subjects, last_page=last)

    def is_stale(self) -> bool:
        """True where somebody has written in the book since the shift was looked at."""
        return self.book.last_page().id != self.seen.last_page

    def is_signed_elsewhere(self) -> bool:
        """True where the book has other signatures of the shift than those shown."""
        found = signed_state(self.book, self.shift, self.book.now())
        mine = (self.state.outgoing, self.state.incoming)
        return (found.outgoing, found.incoming) != mine

    def other(self, by: int, shift: Shift | None = None) -> Shift | None:
        """The shift before (-1) or after (1) the one shown or named; None: there is none yet."""
        calendar = self.plant.calendar
        find = previous_shift if by < 0 else next_shift
        shift = find(calendar, shift or self.shift)
        outside = shift.start > self.book.now() or shift.end <= self.book.created_at
        return None if outside else shift

    # -- words ----------------------------------------------------------------------------

    @property
    def is_running(self) -> bool:
        """True while the shift is not over."""
        return self.book.now() < self.shift.end

    def when(self, at: datetime) -> str:
        """Local time of day, with the date where it lies far outside the shift."""
        zone = self.plant.time_zone
        clock = local_label(at, zone)
        near = self.shift.start <= at <= self.shift.end + timedelta(hours=2)
        return clock if near else f"{to_local(at, zone):%d %b} {clock}"

    def title(self) -> str:
        """Name, date, times and crew of the shift."""
        shift, zone = self.shift, self.plant.time_zone
        start, end = local_label(shift.start, zone), local_label(shift.end, zone)
        crews = {crew.key: crew.name for crew in self.plant.calendar.crews}
        crew = f" · {crews.get(shift.crew, shift.crew)}" if shift.crew else ""
        return f"{shift.name} of {shift.date:%A} {shift.date.isoformat()}, {start} to {end}{crew}"

    def name(self, key: str) -> str:
        """Name of a person."""
        return person_name(self.plant, key)

    def signed_words(self, signature: Signature) -> str:
        """Who signed, when, and with what meaning."""
        return f"{self.name(signature.person)}, {self.when(signature.at)}\n{signature.meaning}"

    def standing(self) -> tuple[str, str]:
        """How the handover stands in a sentence, and how loud: "", "notice" or "banner"."""
        state = self.state
        if state.outgoing is None:
            return self._unsigned()
        by = f"{self.name(state.outgoing.person)} signed at {self.when(state.outgoing.at)}"
        if state.incoming is None:
            told = f"NOT TAKEN OVER. {by}; the outgoing crew stays in charge until somebody "
            return f"{told}takes over.", "banner"
        taken = f"{self.name(state.incoming.person)} took over at {self.when(state.incoming.at)}"
        if state.changes:
            count = len(state.changes)
            words = "1 change" if count == 1 else f"{count} changes"
            return f"{by}, {taken}. {words} since signing, see the first part.", "notice"
        return f"{by}, {taken}.", ""

    def _unsigned(self) -> tuple[str, str]:
        if self.is_running:
            end, first = self.when(self.shift.end), self.when(self.shift.end - EARLY)
            told = f"The shift runs until {end}. It can be handed over from {first} on."
            return told, ""
        told = f"NOT HANDED OVER. The shift ended at {self.when(self.shift.end)}"
        return f"{told} and nobody has signed it.", "banner"

    # -- parts ----------------------------------------------------------------------------

    def parts(self) -> tuple[Part, ...]:
        """The cards: what changed since signing, why to take care, then the parts in order."""
        heads = []
        if self.state.changes:
            lines = tuple(self._change(one) for one in self.state.changes)
            heads.append(Part("Changed since signing", lines, is_loud=True))
        met = (Line(risk.text) for risk in self.seen.meeting)
        risks = (*met, *risks_of(self.content))
        if risks:
            heads.append(Part("This handover needs more care", risks, is_loud=True))
        return (*heads, *(self._as_by_now(part) for part in cards_of(self.content)))

    def _as_by_now(self, part: Part) -> Part:
        """A safety state that was ended since stays as it was handed over, and says so."""
        if part.number != SAFETY:
            return part
        states = self.seen.safety_now
        opened = [self._ended(*pair) for pair in zip(part.lines, states, strict=False)]
        still = any(state.is_open for state in states)
        lines = (*opened, *part.lines[len(opened) :])
        return replace(part, lines=lines, is_loud=part.is_loud and still)

    def _ended(self, line: Line, state: SafetyState) -> Line:
        if state.cleared_at is None:
            return line
        after = "after this shift" if state.cleared_at >= self.shift.end else "after signing"
        tag = f"{line.tag.lower()} at handover; cleared at {self.when(state.cleared_at)}, {after}"
        cleared = [event for event in state.events if event.kind == "clear"]
        by = tuple(f"{self.name(event.person)}: {event.text}" for event in cleared)
        details = (*line.details, *by)
        return replace(line, tag=tag, details=details, judgement=NOT_JUDGED)

    def _change(self, one: Change) -> Line:
        point = next((p for p in self.plant.points if p.key == one.subject), None)
        what = point_name(self.plant, point) if point else one.subject
        values = f"{one.old} → {one.new}" if one.old and one.new else one.new or one.old
        by = f"{self.name(one.person)}, {self.when(one.written_at)}"
        why = f": {one.why}" if one.why else ""
        late = ", late" if one.late else ""
        if one.kind in FOLLOWED and one.old:
            deed, _, words = one.new.partition(" · ")
            told = f"{DEEDS.get(deed, deed)}: {words}" if words else DEEDS.get(deed, deed)
            return Line(told, one.old, self.when(one.at), details=(by,))
        head = what or one.kind
        text = f"{one.kind} {one.how}{late}: {values}"
        return Line(text, head, self.when(one.at), details=(f"{by}{why}",))

    def to_read(self, person: str) -> tuple[ToRead, ...]:
        """What is read one by one, with the last answer of `person`, else of anybody."""
        found = []
        for subject in self.seen.subjects:
            checks = [check for check in self.state.checks if check.subject == subject.key]
            mine = [check for check in checks if check.person == person] or (
                [] if person and self.state.incoming is None else checks
            )
            last = mine[-1] if mine else None
            if last is None:
                found.append(ToRead(subject))
            else:
                by = f"{self.name(last.person)}, {self.when(last.written_at)}"
                found.append(ToRead(subject, last.answer, last.text, by))
        return tuple(found)

    # -- notes ----------------------------------------------------------------------------

    def notes(self) -> NotesTyped:
        """What the crew has added so far."""
        if self._kept is not None:
            return self._kept
        told: Mapping[str, Json | None] = self.content.get("notes") or {}  # type: ignore[assignment]

        def text(part: str) -> str:
            note = told.get(part)
            return str(note["text"]) if note else ""

        return NotesTyped(
            text("remarks"), text("next_shift"), bool(text("no_safety")), bool(text("no_next"))
        )

    def keep_notes(self, person: str, typed: NotesTyped) -> int:
        """Write what the crew has added or taken back. Returns how many parts. Raises BookError."""
        before, now = self.notes().texts(), typed.texts()
        rows = [
            NewHandoverNote(self.shift.date, self.shift.pattern, part, now[part])
            for part in NOTE_PARTS
            if now[part] != before[part]
        ]
        if rows:
            self.book.write(person, rows, kind="handover")
            self._kept = typed
        return len(rows)

    def unsaid(self) -> tuple[str, ...]:
        """What the outgoing crew must still say."""
        return unsaid(self.prepared.handover) if self.prepared else ()

    # -- signing --------------------------------------------------------------------------

    def why_not_outgoing(self, person: str) -> str:
        """Why somebody cannot hand the shift over now; empty where they can."""
        if self.prepared is None:
            return "The outgoing crew has signed this shift already."
        return why_not_outgoing(self.book, self.prepared.handover, person, self.book.now())

    def why_not_incoming(self, person: str) -> str:
        """Why somebody cannot take the shift over now; empty where they can."""
        return why_not_incoming(self.book, self.shift, person, self.book.now())

    def begin_outgoing(self, door: Door, person: str, secret: str) -> ToSign:
        """Prove who hands the shift over. Raises BookError with why not."""
        assert self.prepared is not None
        return begin_outgoing(self.book, door, self.prepared, person, secret)

    def begin_incoming(self, door: Door, person: str, secret: str) -> ToSign:
        """Prove who takes the shift over. Raises BookError with why not."""
        return begin_incoming(self.book, door, self.shift, person, secret)

    def answer(self, person: str, subject: str, text: str) -> None:
        """Write that a subject is accepted, or what is asked about it. Raises BookError."""
        answer: CheckAnswer = "asked" if text else "accepted"
        answer_subject(self.book, self.shift, person, subject, answer, text)

    # -- paper ----------------------------------------------------------------------------

    def pdf(self, book: Book) -> bytes:
        """The stored bytes of the last signature; made now where nobody has signed.

        `book` may be the one of another thread. Raises BookError.
        """
        signature = self.state.incoming or self.state.outgoing
        if signature is not None and signature.document is not None:
            return book.document(signature.document).pdf
        assert self.prepared is not None
        made = self.prepared
        return printed(book, unsigned_document(made.content, made.content_hash, made.seal))


def printed(book: Book, document: Json) -> bytes:
    """The printed form of a document, with the shift's picture and its readings."""
    from logbook.report.make import make_handover_pdf  # the typesetter

    return make_handover_pdf(document, book=book, printed_at=book.now())
