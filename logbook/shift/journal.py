"""The journal of a shift: its moments in one line, and what is open in it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.model import Person, Plant
from logbook.plant.roster import Shift
from logbook.record import Book, Instruction, OpenItem, Reader, SafetyState
from logbook.shift.downtime import Downtime, downtime_of
from logbook.shift.moments import Moment, in_order
from logbook.shift.moments_events import (
    entry_moments,
    mode_moments,
    status_moments,
)
from logbook.shift.moments_matters import instruction_moments, item_moments, safety_moments
from logbook.shift.moments_readings import correction_moments, response_moments, sample_moments
from logbook.shift.plants import PlantHistory
from logbook.shift.responses_due import CheckDue, responses_due
from logbook.shift.samples import WaitingSample, samples_waiting

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Journal:
    """A shift as it stands at an instant: what happened in it, and what is open at its end."""

    shift: Shift
    moments: tuple[Moment, ...]
    downtimes: tuple[Downtime, ...]
    safety: tuple[SafetyState, ...]
    """Open ones."""
    items: tuple[OpenItem, ...]
    """Open ones, the overdue first."""
    instructions: tuple[Instruction, ...]
    """In force."""
    samples: tuple[WaitingSample, ...]
    checks: tuple[CheckDue, ...]


def journal_of(book: Book, shift: Shift, now: datetime) -> Journal:
    """The journal of a shift up to its end, or up to `now` where it is still running.

    Raises BookError where the book cannot be read.
    """
    end = min(shift.end, now + MOMENT)
    last = end - MOMENT
    plants = PlantHistory(book)
    plant = plants.at(last)
    return Journal(
        shift=shift,
        moments=timeline(book, plants, shift.start, end),
        downtimes=downtime_of(book, plant, shift.start, end),
        safety=tuple(book.safety_states(last)),
        items=by_urgency(book.open_items(last), last),
        instructions=tuple(book.instructions(last)),
        samples=samples_waiting(book, plant, last),
        checks=responses_due(book, plant, last),
    )


def timeline(
    book: Reader, plants: PlantHistory, start: datetime, end: datetime
) -> tuple[Moment, ...]:
    """Everything that happened in [start, end), in order of time. Raises BookError."""
    plant = plants.at(end - MOMENT)
    return in_order(
        [
            *entry_moments(book, plant, start, end),
            *status_moments(book, plant, start, end),
            *mode_moments(book, plant, start, end),
            *item_moments(book, plant, start, end),
            *instruction_moments(book, start, end),
            *safety_moments(book, plant, start, end),
            *response_moments(book, plants, start, end),
            *sample_moments(book, plants, start, end),
            *correction_moments(book, plants, start, end),
        ]
    )


def by_urgency(items: Iterable[OpenItem], now: datetime) -> tuple[OpenItem, ...]:
    """The overdue first, then by when they are due, last those without a time; then by age."""
    return tuple(
        sorted(
            items,
            key=lambda item: (
                not is_overdue(item, now),
                item.due_at is None,
                item.due_at or item.at,
                item.at,
            ),
        )
    )


def is_overdue(item: OpenItem, now: datetime) -> bool:
    """True where an item is still open after it was due."""
    return item.is_open and item.due_at is not None and now > item.due_at


# ---------------------------------------------------------------- standing instructions


def readers_of(plant: Plant) -> tuple[Person, ...]:
    """Who has to read standing instructions: everybody who belongs to a crew."""
    return tuple(person for person in plant.people if person.crew is not None)


def not_read_by(plant: Plant, instruction: Instruction) -> tuple[Person, ...]:
    """Who has not acknowledged an instruction; its author need not."""
    read = {*instruction.acknowledged_by, instruction.person}
    return tuple(person for person in readers_of(plant) if person.key not in read)


def to_read(book: Reader, plant: Plant, person: str, now: datetime) -> tuple[Instruction, ...]:
    """Instructions in force that a person still has to acknowledge, the oldest first."""
    if all(person != reader.key for reader in readers_of(plant)):
        return ()
    found = book.instructions(now)
    return tuple(i for i in found if person not in {*i.acknowledged_by, i.person})
