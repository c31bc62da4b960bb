"""Readings of a shift that were due and not taken."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.model import Point
from logbook.plant.roster import Shift
from logbook.plant.rounds import Round, rounds_of
from logbook.record import Book, Reading
from logbook.shift.asked import Asked
from logbook.shift.dues import ONCE, Dues
from logbook.shift.duty import Duty
from logbook.shift.plants import PlantHistory
from logbook.shift.round_state import grace_of

MOMENT = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class GapFound:
    """A reading that was due and not taken; `reason` is None where nobody said why."""

    point: Point
    round_at: datetime
    reason: str | None


def gaps_in(
    book: Book,
    plants: PlantHistory,
    shift: Shift,
    now: datetime,
    readings: Sequence[Reading],
    duty: Duty | None = None,
    asked: Asked | None = None,
) -> tuple[GapFound, ...]:
    """Due readings without a value, round by round, and readings with a reason instead of one.

    Nothing is missing before the book was begun, nor in a round that is still in time at `now`.
    `readings` are those of the shift; `duty`, what was down or silent in it, is read where it is
    not given.
    """
    end = min(shift.end, now + MOMENT)
    plant = plants.at(end - MOMENT)
    duty = duty or Duty.of(book, plant, shift.start, end)
    asked = asked or Asked(readings)
    found = list(_explained(plants, duty, readings))
    for rnd in rounds_of(shift, plant.settings.round_hours):
        dues = Dues(plants.at(rnd.at), duty)
        if book.created_at <= rnd.at < end and now - rnd.at > grace_of(dues.plant):
            found += _unexplained(dues, rnd, asked)
    return tuple(sorted(found, key=lambda gap: gap.round_at))


def _unexplained(dues: Dues, rnd: Round, asked: Asked) -> Iterator[GapFound]:
    left = asked.due(dues, rnd) - asked.done(dues, rnd)
    return (GapFound(point, rnd.at, None) for point in dues.plant.points if point.key in left)


def _explained(plants: PlantHistory, duty: Duty, readings: Sequence[Reading]) -> Iterator[GapFound]:
    """Readings with a reason instead of a value.

    Of what is read once a shift, only where no value came later; nothing while it was down.
    """
    valued = {r.point for r in readings if r.reason is None}
    for reading in readings:
        point = plants.point_of(reading) if reading.reason is not None else None
        if point is None or duty.why_not(point, reading.taken_at):
            continue
        if point.frequency.often in ONCE and point.key in valued:
            continue
        yield GapFound(point, reading.round_at or reading.taken_at, reading.reason)
