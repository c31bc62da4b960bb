"""How the rounds of a stretch of time stand: done, partly done, due, late, not taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from logbook.plant.calendar import shifts_between
from logbook.plant.model import Plant
from logbook.plant.rounds import Round, rounds_of
from logbook.record import Book, Reading
from logbook.shift.dues import Dues
from logbook.shift.duty import Duty

MOMENT = timedelta(seconds=1)


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
    readings = book.readings(None, rounds[0].shift.start, now + MOMENT)
    dues = Dues(plant, Duty.of(book, plant, rounds[0].at, now + MOMENT))
    return tuple(_status(dues, rnd, readings, now, is_last=rnd is rounds[-1]) for rnd in rounds)


def due_rounds(plant: Plant, start: datetime, now: datetime) -> list[Round]:
    """Rounds due in [start, now]."""
    hours = plant.settings.round_hours
    shifts = shifts_between(plant.calendar, start, now + MOMENT)
    return [r for s in shifts for r in rounds_of(s, hours) if start <= r.at <= now]


def _status(
    dues: Dues, rnd: Round, readings: Sequence[Reading], now: datetime, *, is_last: bool
) -> RoundStatus:
    start = rnd.shift.start
    before = {r.point for r in readings if start <= r.taken_at < rnd.at}
    due = dues.of_round(rnd, before)
    done = len(due & {r.point for r in readings if r.round_at == rnd.at})
    grace = timedelta(minutes=dues.plant.settings.grace_minutes)
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
