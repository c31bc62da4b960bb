"""How the rounds of a stretch of time stand: done, partly done, due, late, not taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from logbook.plant.calendar import shifts_between
from logbook.plant.model import Plant
from logbook.plant.rounds import Round, round_at, rounds_of
from logbook.record import Book, Reading
from logbook.shift.asked import Asked
from logbook.shift.dues import Dues
from logbook.shift.duty import Duty
from logbook.shift.plants import PlantHistory

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
    book: Book,
    plants: PlantHistory,
    start: datetime,
    now: datetime,
    *,
    until: datetime | None = None,
    readings: Sequence[Reading] | None = None,
    duty: Duty | None = None,
    asked: Asked | None = None,
) -> tuple[RoundStatus, ...]:
    """State at `now` of every round due in [start, now] and before `until`, oldest first.

    `readings` of the shifts that hold these rounds, and what was down or silent in them, are read
    where they are not given.

    Each is looked at with the plant as defined when it was due. Rounds over before the book was
    begun are left out.
    """
    plant = plants.at(now)
    # The round that was on when the book was begun is the first that can be written in it.
    first = round_at(plant.calendar, plant.settings, book.created_at).at
    rounds = due_rounds(plant, max(start, first), now)
    shown = [rnd for rnd in rounds if until is None or rnd.at < until]
    if not shown:
        return ()
    end = shown[-1].shift.end
    if readings is None:
        readings = book.readings(None, shown[0].shift.start, min(end, now + MOMENT))
    duty = duty or Duty.of(book, plant, shown[0].at, min(end, now + MOMENT))
    asked = asked or Asked(readings)
    found = []
    for rnd in shown:
        dues = Dues(plants.at(rnd.at), duty)
        found.append(_status(dues, rnd, asked, now, is_last=rnd is rounds[-1]))
    return tuple(found)


def due_rounds(plant: Plant, start: datetime, now: datetime) -> list[Round]:
    """Rounds due in [start, now]."""
    hours = plant.settings.round_hours
    shifts = shifts_between(plant.calendar, start, now + MOMENT)
    return [r for s in shifts for r in rounds_of(s, hours) if start <= r.at <= now]


def _status(dues: Dues, rnd: Round, asked: Asked, now: datetime, *, is_last: bool) -> RoundStatus:
    due, done = asked.due(dues, rnd), len(asked.done(dues, rnd))
    if not due:
        state = RoundState.NONE
    elif done == len(due):
        state = RoundState.DONE
    elif done:
        state = RoundState.PARTLY
    elif is_last:
        state = RoundState.DUE if now - rnd.at <= grace_of(dues.plant) else RoundState.LATE
    else:
        state = RoundState.MISSED
    return RoundStatus(rnd.at, rnd.shift.name, len(due), done, state)


def grace_of(plant: Plant) -> timedelta:
    """How long after its round a reading is in time."""
    return timedelta(minutes=plant.settings.grace_minutes)
