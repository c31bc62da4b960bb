"""Writing without signing on: the way to go on logging when nobody can sign on.

Nobody is ever locked out of the log. Who cannot sign on types name and reason; everything written
then bears the name with a mark that shows wherever the name does, and stands as "to confirm"
until a supervisor has confirmed who it was. Signing, correcting and taking over still need a PIN.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import shift_at
from logbook.plant.model import Plant
from logbook.record import (
    AccessEvent,
    Book,
    HandoverCheck,
    NewAccess,
    NewEntry,
    NewHandoverCheck,
    NewRow,
    Reader,
    SavedPage,
    WriteRefused,
)
from logbook.shift.roles import Deed, NotAllowed, require

MARK = " (not signed on)"
"""Stands behind the typed name in everything that is written; no key of a person holds it."""
ENTRY_KIND = "safety"
PAGE_KIND = "unproven"
SUBJECT = "unproven:"
SOUGHT = timedelta(days=60)
"""So far back what is not confirmed is looked for."""
LONGEST_NAME = 60

ALLOWED = frozenset(
    {
        Deed.READ,
        Deed.WRITE,
        Deed.RESPOND,
        Deed.LOG,
        Deed.ITEM,
        Deed.SAMPLE,
        Deed.STOP,
        Deed.MODE,
        Deed.SAFETY,
    }
)
"""What may be written without signing on: what happens now. Nothing is signed or changed."""


@dataclass(frozen=True, slots=True)
class Unproven:
    """A time in which somebody wrote without signing on, and who has confirmed it, if anybody."""

    id: int
    person: str
    """The typed name with its mark, as it stands on the pages."""
    at: datetime
    reason: str
    confirmed_by: str = ""
    remark: str = ""

    @property
    def is_open(self) -> bool:
        """True until a supervisor has confirmed it."""
        return not self.confirmed_by


def is_unproven(person: str) -> bool:
    """True of the name on a page that nobody signed on for."""
    return person.endswith(MARK)


def may_unproven(what: Deed) -> str:
    """Empty where it may be done without signing on; else why not."""
    if what in ALLOWED:
        return ""
    return f"Without signing on nobody may {what.value}; sign on with F3."


def begin(book: Book, name: str, reason: str) -> str:
    """Begin to write without signing on; the name under which it is written.

    It stands in the log at once. Raises WriteRefused without a name or a reason, BookError.
    """
    words, why = " ".join(name.split()), " ".join(reason.split())
    if not words or not why:
        msg = "Type your name, and why you cannot sign on; a supervisor confirms it later."
        raise WriteRefused(msg)
    if len(words) > LONGEST_NAME:
        msg = f"A name has at most {LONGEST_NAME} characters; type a shorter one."
        raise WriteRefused(msg)
    person, now = f"{words}{MARK}", book.now()
    text = f"{words} writes without signing on: {why}. To be confirmed by a supervisor."
    minute = now.replace(second=0, microsecond=0)
    rows: list[NewRow] = [
        NewAccess(person, now, "signed_on", why),
        NewEntry(minute, text, ENTRY_KIND),
    ]
    book.write(person, rows, kind=PAGE_KIND)
    return person


def unproven(book: Reader, plant: Plant, start: datetime, end: datetime) -> tuple[Unproven, ...]:
    """Who wrote without signing on in [start, end), the oldest first. Raises BookError."""
    events = [
        event
        for event in book.access_events(None, start, end)
        if event.kind == "signed_on" and is_unproven(event.person)
    ]
    return tuple(_found(book, plant, event) for event in events)


def to_confirm(book: Reader, plant: Plant, now: datetime) -> tuple[Unproven, ...]:
    """What of the last 60 days no supervisor has confirmed yet."""
    found = unproven(book, plant, now - SOUGHT, now + timedelta(seconds=1))
    return tuple(one for one in found if one.is_open)


def confirm(book: Book, person: str, one: Unproven, remark: str) -> SavedPage:
    """Confirm who it was; `remark` says how one knows. Raises NotAllowed, BookError."""
    plant = book.plant_at(book.now())
    who = next((p for p in plant.people if p.key == person), None)
    if who is None:
        msg = "Only people of the plant may confirm; sign on first."
        raise NotAllowed(msg)
    require(who.role, Deed.REVIEW)
    shift = shift_at(plant.calendar, one.at)
    row = NewHandoverCheck(shift.date, shift.pattern, f"{SUBJECT}{one.id}", "accepted", remark)
    return book.write(person, [row], kind=PAGE_KIND)


def _found(book: Reader, plant: Plant, event: AccessEvent) -> Unproven:
    shift = shift_at(plant.calendar, event.at)
    checks = book.handover_checks(shift.date, shift.pattern)
    answer = next((check for check in checks if _is_about(check, event)), None)
    by, remark = (answer.person, answer.text) if answer else ("", "")
    return Unproven(event.id, event.person, event.at, event.detail, by, remark)


def _is_about(check: HandoverCheck, event: AccessEvent) -> bool:
    return check.subject == f"{SUBJECT}{event.id}"
