"""How the rounds of a stretch of time stand: done, partly done, due, late, not taken."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from logbook.plant.calendar import shifts_between
from logbook.plant.model import Plant
from logbook.plant.rounds import Round, is_due, rounds_of
from logbook.record import Book
from logbook.shift.duty import Duty


class RoundState(StrEnum):
    """How a round stands."""

    DONE = "done"
    PARTLY = "partly"
    DUE = "due"
    LATE = "late"
    MISSED = "missed"
    NONE = "none"
    """Nothing was due: everything down."""


@dataclass(frozen=True, slots=True)
class RoundStatus:
    """A round and how far it is: readings due and those with a value or a reason."""

    at: datetime
    shift_name: str
    due: int
    done: int
    state: RoundState


def round_statuses(
    book: Book, plant: Plant, start: datetime, now: datetime
) -> tuple[RoundStatus, ...]:
    """State of every round due in [start, now], oldest first.

    Rounds before the book was begun are left out.
    """
    rounds = due_rounds(plant, max(start, book.created_at), now)
    if not rounds:
        return ()
    found: dict[datetime, set[str]] = {}
    for reading in book.readings(None, rounds[0].at, now + timedelta(seconds=1)):
        if reading.round_at is not None:
            found.setdefault(reading.round_at, set()).add(reading.point)
    duty = Duty.of(book, plant, rounds[0].at, now + timedelta(seconds=1))
    return tuple(
        _status(plant, rnd, duty, found.get(rnd.at, set()), now, is_last=rnd is rounds[-1])
        for rnd in rounds
    )


def due_rounds(plant: Plant, start: datetime, now: datetime) -> list[Round]:
    """Rounds due in [start, now]."""
    hours = plant.settings.round_hours
    shifts = shifts_between(plant.calendar, start, now + timedelta(seconds=1))
    return [r for s in shifts for r in rounds_of(s, hours) if start <= r.at <= now]


def _status(
    plant: Plant, rnd: Round, duty: Duty, taken: set[str], now: datetime, *, is_last: bool
) -> RoundStatus:
    due = set(due_points(plant, rnd, duty))
    done = len(due & taken)
    grace = timedelta(minutes=plant.settings.grace_minutes)
    if not due:
        state = RoundState.NONE
    elif done == len(due):
        state = RoundState.DONE
    elif done:
        state = RoundState.PARTLY
    elif is_last:
        state = RoundState.DUE if now - rnd.at <= grace else RoundState.LATE
    else:
        state = RoundState.MISSED
    return RoundStatus(rnd.at, rnd.shift.name, len(due), done, state)


def due_points(plant: Plant, rnd: Round, duty: Duty) -> Iterable[str]:
    """Keys of the points due in a round by frequency, mode and what was down."""
    hours, first = plant.settings.round_hours, plant.calendar.shifts[0].key
    for point in plant.points:
        due = is_due(point, rnd, hours, first_shift_key=first)
        if due and not duty.why_not(point, rnd.at):
            yield point.key
