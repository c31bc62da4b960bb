"""Lines of many points judged in one pass, each reading by the limits in force when it was taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from logbook.assess.limits import Bounds, LimitSet, LimitTable, classify_array
from logbook.plant.model import Limits
from logbook.record import Lines
from logbook.shift.trend_load import Times, Values

Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class JudgedLines:
    """Lines end to end: that of point number k at `edges[k]` up to `edges[k + 1]`.

    `owners` (number of the point), `times` (epoch s), `values`, `codes` (as in
    `logbook.assess.limits`) and `bounds` have shape (n,) over all points.
    """

    edges: Places
    owners: Places
    times: Times
    values: Values
    codes: NDArray[np.int8]
    bounds: Bounds
    _limits: Sequence[Limits]
    _places: Places

    @classmethod
    def of(
        cls,
        lines: Lines,
        sets: Sequence[Sequence[LimitSet]],
        changes: Sequence[tuple[datetime, str]],
    ) -> JudgedLines:
        """Judge lines; `sets` for each point, `changes` of the operating mode for all."""
        times, values = lines.taken_at, lines.value
        lengths = np.diff(lines.edges)
        owners = np.repeat(np.arange(lengths.size), lengths)
        table = LimitTable(sets)
        places, bounds = table.judging(lengths, times, changes)
        codes = classify_array(values, bounds)
        return cls(lines.edges, owners, times, values, codes, bounds, table.limits, places)

    def limits_at(self, readings: Places) -> list[Limits]:
        """The limits in force at readings, by their places among all."""
        return [self._limits[place] for place in self._places[readings].tolist()]
