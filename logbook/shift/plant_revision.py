"""Which revision of the round sheet is in force: its number, since when, by whom and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.plant.localtime import to_local
from logbook.plant.model import Plant
from logbook.record import Reader
from logbook.shift.words import person_name

NOT_THE_SHEET = frozenset({"person", "order", "calendar"})
"""Kinds of definitions that change nothing on a round sheet."""


@dataclass(frozen=True, slots=True)
class PlantRevision:
    """The last change of points, limits, modes or settings in force at an instant."""

    number: int
    """1 for the book as it was begun."""
    since: datetime
    person: str
    """Who entered it, and thereby approved it: only engineers can."""
    reason: str


def plant_revision(book: Reader, at: datetime) -> PlantRevision | None:
    """The revision in force at an instant; None before the first. Raises BookError."""
    pages = {
        one.page: one
        for one in book.revisions()
        if one.effective_from <= at and one.kind not in NOT_THE_SHEET
    }
    if not pages:
        return None
    last = max(pages.values(), key=lambda one: (one.effective_from, one.written_at, one.page))
    return PlantRevision(len(pages), last.effective_from, last.person, last.reason)


def revision_words(book: Reader, plant: Plant, at: datetime) -> str:
    """Such as "revision 3 of 2026-03-02, Technical head"; empty before the first."""
    found = plant_revision(book, at)
    if found is None:
        return ""
    day = to_local(found.since, plant.time_zone).date().isoformat()
    return f"revision {found.number} of {day}, {person_name(plant, found.person)}"
