"""What each round of a shift asks for and what of it was taken, worked out once for all."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from itertools import groupby
from operator import attrgetter

from logbook.plant.rounds import Round
from logbook.record import Reading
from logbook.shift.dues import Dues

_ROUND_AND_TIME = attrgetter("round_at", "taken_at")


class Asked:
    """Remembers what is due and what is done in the rounds of one shift, given its readings."""

    def __init__(self, readings: Iterable[Reading]) -> None:
        self._in_round: dict[datetime | None, set[str]] = {}
        self._taken: dict[datetime, set[str]] = {}
        # Those of a round mostly follow one another.
        for (round_at, taken_at), group in groupby(readings, key=_ROUND_AND_TIME):
            keys = {reading.point for reading in group}
            self._in_round.setdefault(round_at, set()).update(keys)
            self._taken.setdefault(taken_at, set()).update(keys)
        self._due: dict[datetime, frozenset[str]] = {}
        self._done: dict[datetime, frozenset[str]] = {}

    def due(self, dues: Dues, rnd: Round) -> frozenset[str]:
        """Keys due in a round; what is read once may have been read before it in its shift."""
        if rnd.at not in self._due:
            before = self._taken_in(rnd.shift.start, rnd.at) if dues.is_last(rnd) else set()
            self._due[rnd.at] = frozenset(dues.of_round(rnd, before))
        return self._due[rnd.at]

    def done(self, dues: Dues, rnd: Round) -> frozenset[str]:
        """Which of those due have a value or a reason in a round.

        What is read once a shift may also have been read after the round, outside the rounds.
        """
        if rnd.at not in self._done:
            once = dues.once_in(rnd)
            later = self._taken_in(rnd.at, rnd.shift.end) & once if once else set()
            self._done[rnd.at] = self.due(dues, rnd) & (self._in_round.get(rnd.at, set()) | later)
        return self._done[rnd.at]

    def _taken_in(self, start: datetime, end: datetime) -> set[str]:
        """Keys read in [start, end)."""
        return set().union(*(keys for at, keys in self._taken.items() if start <= at < end))
