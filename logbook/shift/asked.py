"""What each round of a shift asks for, worked out once for all who want to know."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from logbook.plant.rounds import Round
from logbook.record import Reading
from logbook.shift.dues import Dues


class Asked:
    """Remembers what is due in the rounds of one shift, given the readings of that shift."""

    def __init__(self) -> None:
        self._due: dict[datetime, frozenset[str]] = {}

    def of(self, dues: Dues, rnd: Round, readings: Iterable[Reading]) -> set[str]:
        """Keys due in a round; what is read once may have been read before it in its shift."""
        if rnd.at not in self._due:
            start = rnd.shift.start
            before = {r.point for r in readings if start <= r.taken_at < rnd.at}
            self._due[rnd.at] = frozenset(dues.of_round(rnd, before))
        return set(self._due[rnd.at])
