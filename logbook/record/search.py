"""Finding what was written by its words, its area or machine, its writer and its time.

The words stand in an index (SQLite FTS5) that is filled as rows are written. A word is found
by its beginning, in upper and lower case and with or without its accents; several words must all
occur, in any order. What was corrected is found in its newest wording only.
"""

from __future__ import annotations

from datetime import datetime

from logbook.record import unpack_journal as unpack
from logbook.record.asking import Asking
from logbook.record.instants import optional_seconds
from logbook.record.rows_journal import Found

MOST_FOUND = 200
"""So many findings are given where no other number is asked for."""

# Of a response, area and machine are those of its point as last defined.
_FOUND = """
WITH last AS (
  SELECT n.id, d.body ->> '$.area' AS area, d.body ->> '$.equipment' AS equipment,
    row_number() OVER (PARTITION BY n.id ORDER BY d.effective_from DESC, d.id DESC) AS from_last
  FROM point n JOIN definition d ON d.kind = 'point' AND d.key = n.key AND NOT d.withdrawn
),
place AS MATERIALIZED (SELECT id, area, equipment FROM last WHERE from_last = 1),
hit AS (
  SELECT w.kind, w.row, w.at, g.person, w.text, w.page,
    CASE WHEN r.id IS NULL THEN w.area
      ELSE (SELECT p.area FROM place p WHERE p.id = r.point) END AS area,
    CASE WHEN r.id IS NULL THEN w.equipment
      ELSE (SELECT p.equipment FROM place p WHERE p.id = r.point) END AS equipment
  FROM words w CROSS JOIN page g ON g.id = w.page
  LEFT JOIN response x ON w.kind = 'response' AND x.id = w.row
  LEFT JOIN reading r ON r.id = x.reading
  WHERE {words}
    AND NOT (w.kind = 'entry' AND EXISTS (SELECT 1 FROM entry n WHERE n.replaces = w.row))
)
SELECT kind, row, at, area, equipment, person, text, page FROM hit
WHERE (?1 IS NULL OR area = ?1) AND (?2 IS NULL OR equipment = ?2) AND (?3 IS NULL OR person = ?3)
  AND (?4 IS NULL OR at >= ?4) AND (?5 IS NULL OR at < ?5)
ORDER BY at DESC, kind, row DESC LIMIT ?6"""


class SearchReader(Asking):
    """Questions by words."""

    def search(
        self,
        text: str,
        *,
        area: str | None = None,
        equipment: str | None = None,
        person: str | None = None,
        start: datetime | None = None,
        end: datetime | None = None,
        limit: int = MOST_FOUND,
    ) -> list[Found]:
        """What holds all words of `text`, the newest first; everything, if `text` is empty.

        `start` is inside, `end` is not. Any text can be searched for: quotes, stars and brackets
        have no meaning of their own.
        """
        conditions, values = _of_words(text)
        query = _FOUND.format(words=" AND ".join(conditions) or "1")
        span = optional_seconds(start), optional_seconds(end)
        rows = self._ask(query, area, equipment, person, *span, max(limit, 0), *values)
        return [unpack.found(row) for row in rows]


def _of_words(text: str) -> tuple[list[str], list[str]]:
    """Conditions on `words w` that all words of a text occur, and their values from ?7 on."""
    given = text.replace("\0", " ").split()
    # The index knows letters and digits only; a sign or a picture must be looked for in the texts.
    indexed = [word for word in given if any(letter.isalnum() for letter in word)]
    signs = [word for word in given if word not in indexed]
    quoted = ['"' + word.replace('"', '""') + '"*' for word in indexed]
    values = [" ".join(quoted)] if quoted else []
    conditions = ["w.text MATCH ?7"] if quoted else []
    for sign in signs:
        values.append(sign)
        conditions.append(f"instr(w.text, ?{6 + len(values)}) > 0")
    return conditions, values
