"""Reading the numbers of many rounds at once, with the page each was written on.

For looking at how rounds were entered, not only at what they say: whole months, as arrays.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from logbook.record.asking import Asking
from logbook.record.definitions import point_numbers
from logbook.record.errors import translated
from logbook.record.instants import seconds

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_ROUND_NUMBERS = """
SELECT r.round_at, r.value, r.page FROM reading r
WHERE r.point = ? AND r.taken_at >= ? AND r.taken_at < ? AND r.value IS NOT NULL
  AND r.round_at IS NOT NULL AND NOT EXISTS (SELECT 1 FROM reading n WHERE n.replaces = r.id)
ORDER BY r.taken_at"""
_PAGES = "SELECT id, person, written_at FROM page WHERE id IN (SELECT value FROM json_each(?))"


@dataclass(frozen=True, slots=True)
class RoundNumbers:
    """The numbers of one point's rounds in order of time, as they now stand; shape (n,) each.

    `round_at` in epoch seconds, `value` in the point's unit, `page` the id of the page on which
    the number stands: of a corrected one, that of the correction.
    """

    round_at: NDArray[np.int64]
    value: NDArray[np.float64]
    page: NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class WrittenPage:
    """Who wrote a page, and when (epoch milliseconds)."""

    id: int
    person: str
    written_ms: int


class RoundsReader(Asking):
    """Questions about whole rounds."""

    def round_numbers(
        self, keys: Sequence[str], start: datetime, end: datetime
    ) -> dict[str, RoundNumbers]:
        """The numbers of points in the rounds whose readings were taken in [start, end).

        A key that the plant never had is left out. Raises BookError.
        """
        import numpy as np

        first, last = seconds(start), seconds(end)
        with translated(self.path):
            known = point_numbers(self._reading)
            found = {}
            for key in keys:
                if key in known:
                    rows = self._reading.execute(_ROUND_NUMBERS, (known[key], first, last))
                    columns = np.dtype(
                        [("at", np.int64), ("value", np.float64), ("page", np.int64)]
                    )
                    table = np.fromiter(rows, dtype=columns)
                    found[key] = RoundNumbers(*(table[name].copy() for name in columns.names or ()))
        return found

    def written_pages(self, ids: Sequence[int]) -> dict[int, WrittenPage]:
        """Who wrote some pages and when, by page id."""
        rows = self._ask(_PAGES, json.dumps([int(i) for i in ids]))
        return {row[0]: WrittenPage(row[0], row[1], row[2]) for row in rows}
