"""Finding what was written by its words, its area or machine, its writer and its time.

The words stand in an index (SQLite FTS5) that is filled as rows are written. A word is found
by its beginning, in upper and lower case and with or without its accents; several words must all
occur, in any order. What was corrected is found in its newest wording only.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own columns

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from logbook.record.asking import Asking
from logbook.record.instants import optional_seconds
from logbook.record.later import Later

if TYPE_CHECKING:
    from logbook.record import unpack_journal as unpack
    from logbook.record.rows_journal import Found
else:
    unpack = Later("logbook.record.unpack_journal")

MOST_FOUND = 200
"""So many findings are given where no other number is asked for."""


def _where(column: str) -> str:
    """Area or machine of a row w of the index: of a response that of its point, as last defined."""
    return (
        f"CASE w.kind WHEN 'response' THEN (SELECT p.{column} FROM response x "
        "JOIN reading r ON r.id = x.reading JOIN place p ON p.id = r.point WHERE x.id = w.row) "
        f"ELSE w.{column} END"
    )


# First which rows, then what they say: long texts are not carried through the sorting.
_FOUND = f"""
WITH last AS (
  SELECT n.id, d.body ->> '$.area' AS area, d.body ->> '$.equipment' AS equipment,
    row_number() OVER (PARTITION BY n.id ORDER BY d.effective_from DESC, d.id DESC) AS from_last
  FROM point n JOIN definition d ON d.kind = 'point' AND d.key = n.key AND NOT d.withdrawn
),
place AS MATERIALIZED (SELECT id, area, equipment FROM last WHERE from_last = 1),
hit AS MATERIALIZED (
  SELECT w.rowid AS id FROM words w WHERE {{conditions}}
  ORDER BY w.at DESC, w.rowid DESC LIMIT ?6
)
SELECT w.kind, w.row, w.at, {_where("area")}, {_where("equipment")}, g.person, w.text, w.page
FROM hit CROSS JOIN words w ON w.rowid = hit.id JOIN page g ON g.id = w.page
ORDER BY w.at DESC, w.rowid DESC"""

_NEWEST = "NOT (w.kind = 'entry' AND EXISTS (SELECT 1 FROM entry n WHERE n.replaces = w.row))"
_CONDITIONS = (
    f"{_where('area')} = ?1",
    f"{_where('equipment')} = ?2",
    "(SELECT g.person FROM page g WHERE g.id = w.page) = ?3",
    "w.at >= ?4",
    "w.at < ?5",
)


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
        given = area, equipment, person, optional_seconds(start), optional_seconds(end)
        asked = (c for c, value in zip(_CONDITIONS, given, strict=True) if value is not None)
        query = _FOUND.format(conditions=" AND ".join((*conditions, _NEWEST, *asked)))
        rows = self._ask(query, *given, max(limit, 0), *values)
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
