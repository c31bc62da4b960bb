"""Reading the reliefs of a shift: who handed what over to whom, and what nobody has taken."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.calendar import shift_at
from logbook.plant.model import Plant
from logbook.record import Entry, HandoverCheck, Reader

OFFERED = "relief"
TAKEN = "relief taken"
STAYED = "relief withdrawn"
"""Kinds of the log entries that a relief makes."""

SUBJECT = "relief:"
SOUGHT = timedelta(days=2)
"""So far back an offer that nobody has taken is looked for."""
MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Relief:
    """One handing over within a shift."""

    id: int
    """Number of the log entry that offers it."""
    at: datetime
    area: str | None
    """None: the whole plant."""
    outgoing: str
    text: str
    incoming: str = ""
    """Who has taken over; empty while nobody has."""
    ended_at: datetime | None = None
    was_withdrawn: bool = False

    @property
    def is_open(self) -> bool:
        """True until somebody has taken over, or it was withdrawn."""
        return self.ended_at is None


def place_words(plant: Plant, area: str | None) -> str:
    """What is handed over, in words."""
    return next((a.name for a in plant.areas if a.key == area), area or "the shift")


def reliefs(book: Reader, plant: Plant, start: datetime, end: datetime) -> tuple[Relief, ...]:
    """The reliefs that were offered in [start, end), the oldest first. Raises BookError."""
    offers = [entry for entry in book.entries(start, end) if entry.kind == OFFERED]
    return tuple(relief_of(book, plant, entry) for entry in offers)


def open_reliefs(book: Reader, plant: Plant, now: datetime) -> tuple[Relief, ...]:
    """The offers that nobody has taken yet."""
    found = reliefs(book, plant, now - SOUGHT, now + MOMENT)
    return tuple(one for one in found if one.is_open)


def relief_of(book: Reader, plant: Plant, entry: Entry) -> Relief:
    """The relief that an entry of the log offers, as it stands. Raises BookError."""
    shift = shift_at(plant.calendar, entry.at)
    checks = book.handover_checks(shift.date, shift.pattern)
    subject = f"{SUBJECT}{entry.id}"
    end = next((check for check in checks if check.subject == subject), None)
    text = entry.text or ""
    if end is None:
        return Relief(entry.id, entry.at, entry.area, entry.person, text)
    return _ended(entry, text, end)


def _ended(entry: Entry, text: str, end: HandoverCheck) -> Relief:
    stays = end.answer != "accepted"
    incoming = "" if stays else end.person
    return Relief(
        entry.id, entry.at, entry.area, entry.person, text, incoming, end.written_at, stays
    )
