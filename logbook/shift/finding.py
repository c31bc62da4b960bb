"""Finding what was written, in words that a screen can show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.plant.model import Plant
from logbook.record import Found, Reader
from logbook.shift.words import person_name

MOST = 200


@dataclass(frozen=True, slots=True)
class Hit:
    """Something found, with the names of where and who."""

    found: Found
    where: str
    """Name of the machine or of the area; empty for the whole plant."""
    who: str


def find(
    book: Reader,
    plant: Plant,
    text: str,
    *,
    area: str | None = None,
    equipment: str | None = None,
    person: str | None = None,
    start: datetime | None = None,
    end: datetime | None = None,
    limit: int = MOST,
) -> tuple[Hit, ...]:
    """What holds all words of `text`, in [start, end), of an area, a machine and a person.

    Any text can be searched for; see `Reader.search`. Raises BookError.
    """
    found = book.search(
        text, area=area, equipment=equipment, person=person, start=start, end=end, limit=limit
    )
    return tuple(Hit(one, _where(plant, one), person_name(plant, one.person)) for one in found)


def _where(plant: Plant, found: Found) -> str:
    if found.equipment:
        return next((e.name for e in plant.equipment if e.key == found.equipment), found.equipment)
    if found.area:
        return next((a.name for a in plant.areas if a.key == found.area), found.area)
    return ""
