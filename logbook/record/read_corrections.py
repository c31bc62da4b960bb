"""Reading what was corrected: the old value beside the new one."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from logbook.record.asking import Asking
from logbook.record.instants import from_milliseconds, from_seconds, seconds
from logbook.record.unpack import Row

# Corrections are few and readings many: the index of those that replace one is walked.
_CORRECTIONS = """
SELECT p.key, n.id, o.id, o.taken_at, n.taken_at, o.value, n.value,
  coalesce(o.text, o.reason), coalesce(n.text, n.reason), n.why, g.person, g.written_at
FROM reading n INDEXED BY reading_replaces
JOIN reading o ON o.id = n.replaces JOIN point p ON p.id = n.point JOIN page g ON g.id = n.page
WHERE n.replaces IS NOT NULL AND p.key IN (SELECT value FROM json_each(?1))
  AND ((n.taken_at >= ?2 AND n.taken_at < ?3) OR (o.taken_at >= ?2 AND o.taken_at < ?3))
ORDER BY n.taken_at, n.id"""


@dataclass(frozen=True, slots=True)
class Correction:
    """A row that replaced another: what stood there, what stands there now, who and why.

    `old_value` and `new_value` are None where there was or is no number; then the text or the
    reason says what. Both new ones are None where the reading was only withdrawn.
    """

    point: str
    reading: int
    replaced: int
    old_taken_at: datetime
    taken_at: datetime
    old_value: float | None
    new_value: float | None
    old_text: str | None
    new_text: str | None
    why: str
    person: str
    written_at: datetime

    @property
    def is_withdrawn(self) -> bool:
        """True where nothing stands in the place of the old reading."""
        return self.new_value is None and self.new_text is None


class CorrectionReader(Asking):
    """Questions about corrections."""

    def corrections(self, keys: Iterable[str], start: datetime, end: datetime) -> list[Correction]:
        """Corrections of points whose old or new time of taking lies in [start, end).

        Every step of a chain is given, in order of the new time of taking.
        """
        rows = self._ask(_CORRECTIONS, json.dumps(list(keys)), seconds(start), seconds(end))
        return [_correction(row) for row in rows]


def _correction(row: Row) -> Correction:
    taken, written = (from_seconds(row[3]), from_seconds(row[4])), from_milliseconds(row[11])
    return Correction(*(*row[:3], *taken, *row[5:9], row[9] or "", row[10], written))
