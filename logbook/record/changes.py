"""What touches a span but was written after a page: "changed since signing"."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from logbook.record.asking import Asking
from logbook.record.errors import BookError
from logbook.record.instants import milliseconds, seconds
from logbook.record.later import Later

if TYPE_CHECKING:
    from logbook.record import unpack_journal as unpack
    from logbook.record.rows_handover import Change
else:
    unpack = Later("logbook.record.unpack_journal")

# In words, as typed where it was typed; of a row that only withdraws, nothing.
_SHOWN = (
    "CASE WHEN coalesce({row}.value, {row}.text, {row}.reason) IS NULL THEN '' ELSE coalesce("
    "{row}.text, {row}.reason, nullif({row}.typed, ''), CAST({row}.value AS TEXT)) END"
)

# Every version of a reading that lies in the span, and every row that replaces one: a correction
# may have moved a reading out of it.
_READINGS = f"""
SELECT 'reading', n.id, n.page, n.taken_at,
  CASE WHEN n.replaces IS NULL THEN 'added'
    WHEN n.value IS NULL AND n.text IS NULL AND n.reason IS NULL THEN 'withdrawn'
    ELSE 'corrected' END,
  p.key, {_SHOWN.format(row="o")}, {_SHOWN.format(row="n")},
  coalesce(n.why, ''), n.late, n.replaces, g.person, g.written_at
FROM (
  SELECT r.id FROM point k CROSS JOIN reading r ON r.point = k.id
  WHERE r.taken_at >= ?1 AND r.taken_at < ?2
  UNION
  SELECT m.id FROM point k CROSS JOIN reading r ON r.point = k.id
  CROSS JOIN reading m ON m.replaces = r.id
  WHERE r.taken_at >= ?1 AND r.taken_at < ?2
) i
JOIN reading n ON n.id = i.id JOIN page g ON g.id = n.page JOIN point p ON p.id = n.point
LEFT JOIN reading o ON o.id = n.replaces"""

_ENTRIES = """
SELECT 'entry', n.id, n.page, n.at,
  CASE WHEN n.replaces IS NULL THEN 'added' WHEN n.text IS NULL THEN 'withdrawn'
    ELSE 'corrected' END,
  '', coalesce(o.text, ''), coalesce(n.text, ''), coalesce(n.why, ''), 0, n.replaces,
  g.person, g.written_at
FROM (
  SELECT e.id FROM entry e WHERE e.at >= ?1 AND e.at < ?2
  UNION SELECT m.id FROM entry e CROSS JOIN entry m ON m.replaces = e.id
  WHERE e.at >= ?1 AND e.at < ?2
) i
JOIN entry n ON n.id = i.id JOIN page g ON g.id = n.page LEFT JOIN entry o ON o.id = n.replaces"""


def _added(kind: str, table: str, at: str, subject: str, new: str, why: str = "''") -> str:
    """A query for rows of a table in which nothing is corrected."""
    return (
        f"SELECT '{kind}', x.id, x.page, x.{at}, 'added', {subject}, '', {new}, {why}, 0, NULL, "
        f"g.person, g.written_at FROM {table} x JOIN page g ON g.id = x.page "
        f"WHERE x.{at} >= ?1 AND x.{at} < ?2"
    )


def _followed(kind: str, table: str, parent: str, column: str, new: str) -> str:
    """A query for what happened to a matter of the span, or of before it, after the span."""
    return (
        f"SELECT '{kind}', x.id, x.page, x.at, 'added', '', p.{new}, x.kind || ' · ' || x.text, "
        f"'', 0, NULL, g.person, g.written_at FROM {table} x JOIN page g ON g.id = x.page "
        f"JOIN {parent} p ON p.id = x.{column} "
        f"WHERE x.at >= ?2 AND x.at < ?1 AND p.at < ?2"
    )


_FOLLOWED = (
    _followed("item event", "item_event", "open_item", "item", "text"),
    _followed("safety event", "safety_event", "safety_state", "state", "what"),
)
_POINT_OF_READING = (
    "(SELECT p.key FROM reading r JOIN point p ON p.id = r.point WHERE r.id = x.reading)"
)
# By when it was given, or by the reading that it answers.
_RESPONSES = f"""
SELECT 'response', x.id, x.page, x.at, 'added', {_POINT_OF_READING}, '', x.text, '', 0, NULL,
  g.person, g.written_at
FROM (
  SELECT a.id FROM response a WHERE a.at >= ?1 AND a.at < ?2
  UNION
  SELECT a.id FROM point k CROSS JOIN reading r ON r.point = k.id
  CROSS JOIN response a ON a.reading = r.id
  WHERE r.taken_at >= ?1 AND r.taken_at < ?2
) i
JOIN response x ON x.id = i.id JOIN page g ON g.id = x.page"""
_POINT = "(SELECT p.key FROM point p WHERE p.id = x.point)"
_QUERIES = (
    _READINGS,
    _ENTRIES,
    _RESPONSES,
    _added("downtime", "status", "at", "x.target", "x.state", "x.reason"),
    _added("mode", "mode_change", "at", "''", "x.mode", "x.reason"),
    _added("sample", "sample", "taken_at", "''", "x.label"),
    _added("open item", "open_item", "at", "''", "x.text"),
    _added("item event", "item_event", "at", "''", "x.kind || ' · ' || x.text"),
    _added("instruction", "instruction", "valid_from", "''", "x.text"),
    _added("instruction end", "instruction_end", "at", "''", "x.reason"),
    _added("safety state", "safety_state", "at", "''", "x.kind || ' · ' || x.what"),
    _added("safety event", "safety_event", "at", "''", "x.kind || ' · ' || x.text"),
    _added("limits", "limit_set", "effective_from", _POINT, "x.mode", "x.reason"),
)
_FRAME = (
    "WITH found (kind, id, page, at, how, subject, old, new, why, late, replaces, person, "
    "written_at) AS ({query}) SELECT * FROM found WHERE {after}"
)
_AFTER_PAGE = "iif(page >> 40 = ?3 >> 40, page > ?3, written_at >= ?4)"
_AFTER_INSTANT = "written_at > ?3"


class ChangesReader(Asking):
    """Questions about what was written afterwards."""

    def changed_since(self, mark: int | datetime, start: datetime, end: datetime) -> list[Change]:
        """Rows that touch a span and were written after a page (its id) or an instant.

        Of the same seat those on later pages count, whatever its clock showed; of other seats
        those written at the same millisecond or later. Ordered by when they were written. A
        response touches the span with the reading that it answers, too. A reading touches the span with the time of taking that it has or had before; limits touch
        it where they take effect in it. Raises BookError for a page that is not in the book.
        """
        return self._after(mark, _QUERIES, seconds(start), seconds(end))

    def followed_since(self, mark: int | datetime, end: datetime, until: datetime) -> list[Change]:
        """What happened in [end, until) to open items and safety states from before `end`.

        As `changed_since` it gives what was written after `mark`; `old` is what it is about.
        """
        return self._after(mark, _FOLLOWED, seconds(until), seconds(end))

    def _after(
        self, mark: int | datetime, wanted: tuple[str, ...], first: int, second: int
    ) -> list[Change]:
        span = first, second
        if isinstance(mark, datetime):
            after, values = _AFTER_INSTANT, [milliseconds(mark)]
        else:
            after, values = _AFTER_PAGE, [mark, self._written_at(mark)]
        queries = (_FRAME.format(query=query, after=after) for query in wanted)
        rows = [row for query in queries for row in self._ask(query, *span, *values)]
        return sorted(map(unpack.change, rows), key=lambda found: (found.written_at, found.page))

    def _written_at(self, page: int) -> int:
        rows = self._ask("SELECT written_at FROM page WHERE id = ?", page)
        if not rows:
            msg = f"There is no page number {page} in the book; reload and try again."
            raise BookError(msg)
        return int(rows[0][0])
