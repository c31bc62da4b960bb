"""Corrections of readings and log entries: who may, and the rows that say it.

Whoever wrote what now stands may correct it until the outgoing crew has signed the shift; a
supervisor or an engineer always may. Nothing is overwritten: the new row names the one it
replaces and why.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.plant.calendar import shift_at
from logbook.plant.model import NO_LIMITS, Limits, Person, Plant, Point
from logbook.record import (
    Book,
    Entry,
    NewEntry,
    NewReading,
    Reader,
    Reading,
    SavedPage,
    WriteRefused,
    corrected,
)
from logbook.shift.answer import EMPTY, read_entry
from logbook.shift.answer import Entry as Typed
from logbook.shift.roles import Deed, NotAllowed, may
from logbook.shift.words import person_name

PAGE_KIND = "correction"
OUTGOING = "outgoing"
RELIEF_KINDS = frozenset({"relief", "relief taken", "relief withdrawn"})
"""Kinds of the entries that a relief makes, see `logbook.shift.relief`."""


def why_not(person: Person, wrote: str, *, wrote_name: str, is_signed: bool) -> str:
    """Empty where `person` may correct what `wrote` (a person's key) has written; else why not."""
    if not may(person.role, Deed.CORRECT_ANY):
        return ""
    refused = may(person.role, Deed.CORRECT_OWN)
    if refused:
        return refused
    if is_signed:
        return "The shift is signed: only a supervisor or an engineer may correct it now."
    if wrote != person.key:
        return f"{wrote_name} wrote it: only they, a supervisor or an engineer may correct it."
    return ""


def is_signed(book: Reader, plant: Plant, at: datetime) -> bool:
    """True where the outgoing crew has signed the shift in which `at` lies. Raises BookError."""
    shift = shift_at(plant.calendar, at)
    return any(s.role == OUTGOING for s in book.signatures(shift.date, shift.pattern))


def refusal(book: Book, person: str, row: Reading | Entry) -> str:
    """Why a person (by key) may not correct a row of the book; empty where they may.

    The role counts that the person has now. Raises BookError where the book cannot be read.
    """
    plant = book.plant_at(book.now())
    found = next((one for one in plant.people if one.key == person), None)
    if found is None:
        return "Only people of the plant may correct; choose who writes."
    if isinstance(row, Entry) and row.kind in RELIEF_KINDS:
        return "A relief is no text to be corrected: two people signed it. Write another entry."
    at = row.taken_at if isinstance(row, Reading) else row.at
    return why_not(
        found,
        row.person,
        wrote_name=person_name(plant, row.person),
        is_signed=is_signed(book, book.plant_at(at), at),
    )


# ---------------------------------------------------------------- readings


@dataclass(frozen=True, slots=True)
class Correcting:
    """A reading that is being corrected, and all that bears on the new value."""

    reading: Reading
    point: Point
    limits: Limits
    last: float | None
    """The value before it, which a counter does not fall below."""
    decimal_comma: bool

    def read(self, typed: str, base: Typed = EMPTY) -> Typed:
        """Read and judge what is typed as the form of a round does, by the limits then in force."""
        return read_entry(
            self.point,
            self.limits,
            typed,
            base,
            last=self.last,
            decimal_comma=self.decimal_comma,
        )


def correcting(book: Book, reading_id: int) -> Correcting:
    """Load what is needed to correct a reading. Raises BookError."""
    reading = book.reading(reading_id)
    plant = book.plant_at(reading.taken_at)
    point = next((p for p in plant.points if p.key == reading.point), None)
    if point is None:
        msg = f"The plant had no point {reading.point} then; its readings cannot be corrected."
        raise WriteRefused(msg)
    before = book.last_before([point.key], reading.taken_at).get(point.key)
    judged = point.limits_in(reading.mode) if reading.mode not in point.silent_modes else NO_LIMITS
    return Correcting(
        reading,
        point,
        judged,
        None if before is None else before.value,
        plant.settings.decimal_comma,
    )


def correction_of(old: Reading, new: Typed, why: str) -> NewReading:
    """The row that puts `new` in the place of `old`. Raises WriteRefused where it says nothing."""
    if not why.strip():
        msg = "A correction needs a reason; say why the value is changed."
        raise WriteRefused(msg)
    if not new.is_taken:
        told = new.question.sentence if new.question else "type the new value, or choose a reason."
        msg = f"The new value is not taken yet: {told}"
        raise WriteRefused(msg)
    value = None if new.reason else new.value
    text = None if new.reason else new.text
    if (value, text, new.reason) == (old.value, old.text, old.reason):
        msg = "The new value is the one that stands already; type another, or leave it as it is."
        raise WriteRefused(msg)
    return corrected(
        old, why=why.strip(), value=value, text=text, reason=new.reason, typed=new.typed.strip()
    )


def correct_reading(book: Book, person: str, old: Reading, new: Typed, why: str) -> SavedPage:
    """Write the correction of a reading. Raises NotAllowed, WriteRefused, BookError."""
    row = correction_of(old, new, why)
    return _write(book, person, old, row)


def withdraw_reading(book: Book, person: str, old: Reading, why: str) -> SavedPage:
    """Take a reading back, with nothing in its place. Raises as `correct_reading` does."""
    return _write(book, person, old, corrected(old, why=why.strip()))


# ---------------------------------------------------------------- entries


def correct_entry(
    book: Book,
    person: str,
    old: Entry,
    text: str | None,
    why: str,
    *,
    at: datetime | None = None,
    kind: str | None = None,
    area: str | None = None,
    equipment: str | None = None,
) -> SavedPage:
    """Write the correction of a log entry; `text` None withdraws it.

    What is not given stays; `area` "" and `equipment` "" take them away. Raises NotAllowed,
    WriteRefused, BookError.
    """
    row = NewEntry(
        at=old.at if at is None else at,
        text=None if text is None else text.strip(),
        kind=old.kind if kind is None else kind,
        area=old.area if area is None else area or None,
        equipment=old.equipment if equipment is None else equipment or None,
        replaces=old.id,
        why=why.strip(),
    )
    same = (row.at, row.text, row.kind, row.area, row.equipment)
    if same == (old.at, old.text, old.kind, old.area, old.equipment):
        msg = "Nothing of the entry is changed; change something, or leave it as it is."
        raise WriteRefused(msg)
    return _write(book, person, old, row)


def _write(book: Book, person: str, old: Reading | Entry, row: NewReading | NewEntry) -> SavedPage:
    """Write a correction where the person may; asked when nobody can sign the shift meanwhile."""

    def guard() -> None:
        refused = refusal(book, person, old)
        if refused:
            raise NotAllowed(refused)

    return book.write(person, [row], kind=PAGE_KIND, guard=guard)
