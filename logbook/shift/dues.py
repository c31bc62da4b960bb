"""Which readings a round asks for.

What is read once a shift or once a day may be read in any round; it becomes due in the last
round of the shift (of the day's first shift) where it has not been read by then, so that a crew
can spread such readings over the shift and none is forgotten.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from logbook.plant.model import Often, Plant
from logbook.plant.rounds import Round, is_due, rounds_of
from logbook.record import Reader
from logbook.shift.duty import Duty

ONCE = frozenset({Often.SHIFT, Often.DAY})


@dataclass(frozen=True, slots=True)
class Dues:
    """Asks what is due in rounds of a plant, given what was down or silent."""

    plant: Plant
    duty: Duty

    def of_round(self, rnd: Round, read: Collection[str]) -> set[str]:
        """Keys due in a round; `read` are the keys read in its shift before it."""
        once = self.once_in(rnd) - set(read) if self.is_last(rnd) else set()
        hours, first = self.plant.settings.round_hours, self._first
        asked = (
            point
            for point in self.plant.points
            if (
                point.key in once
                if point.frequency.often in ONCE
                else is_due(point, rnd, hours, first_shift_key=first)
            )
        )
        if self.duty.knows_off_times:
            asked = (point for point in asked if not self.duty.why_not(point, rnd.at))
        return {point.key for point in asked}

    def once_in(self, rnd: Round) -> set[str]:
        """Keys that the shift of a round asks for once, in whichever round."""
        asked = {Often.SHIFT}
        if rnd.shift.pattern == self._first:
            asked.add(Often.DAY)
        return {p.key for p in self.plant.points if p.frequency.often in asked and p.kind.is_typed}

    def is_last(self, rnd: Round) -> bool:
        """True for the last round of its shift."""
        return rnd.index == len(rounds_of(rnd.shift, self.plant.settings.round_hours)) - 1

    @property
    def _first(self) -> str:
        return self.plant.calendar.first_shift_key


def read_once(book: Reader, plant: Plant, rnd: Round) -> dict[str, datetime]:
    """When each once-a-shift or daily point was read in the shift of a round, before it."""
    keys = [p.key for p in plant.points if p.frequency.often in ONCE and p.kind.is_typed]
    found = book.readings(keys, rnd.shift.start, rnd.at)
    return {reading.point: reading.taken_at for reading in found}
