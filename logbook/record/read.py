"""Reading the book: one method per question, corrections applied.

A `Reader` has a connection of its own that cannot write. It belongs to the thread that made it.
Spans are half open: `start` is inside, `end` is not.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Self

from logbook.plant.model import NORMAL_MODE, Plant
from logbook.record import definitions, unpack
from logbook.record.asking import written_by
from logbook.record.changes import ChangesReader
from logbook.record.definitions import EDGES, point_numbers
from logbook.record.errors import BookError, translated
from logbook.record.instants import from_seconds, milliseconds, seconds
from logbook.record.numbers import ROUND_WINDOW_S
from logbook.record.read_corrections import CorrectionReader
from logbook.record.read_handover import HandoverReader
from logbook.record.read_journal import JournalReader
from logbook.record.read_rounds import RoundsReader
from logbook.record.rows import (
    Down,
    Entry,
    LimitRow,
    Lines,
    ModeChange,
    PageHead,
    Reading,
    Response,
    Revision,
    Sample,
    Series,
    Status,
)
from logbook.record.search import SearchReader

if TYPE_CHECKING:
    from logbook.record.unpack import Numbers

_CURRENT = "NOT EXISTS (SELECT 1 FROM reading n WHERE n.replaces = r.id)"
_HOLDS = "(r.value IS NOT NULL OR r.text IS NOT NULL OR r.reason IS NOT NULL)"

_SERIES = f"""
SELECT r.taken_at, r.value, r.id FROM reading r
WHERE r.point = ? AND r.taken_at >= ? AND r.taken_at < ? AND {_CURRENT} AND {_HOLDS}
ORDER BY r.taken_at"""

# The same for numbers alone: the index of the series holds all that is asked for.
_LINE = f"""
SELECT r.taken_at, r.value FROM reading r
WHERE r.point = ? AND r.taken_at >= ? AND r.taken_at < ? AND r.value IS NOT NULL AND {_CURRENT}
ORDER BY r.taken_at"""

# Ids of readings of points in spans of their own: rows of [point, from, to].
_IDS = f"""
SELECT k.key, r.id FROM json_each(?) k CROSS JOIN reading r ON r.point = k.value ->> 0
WHERE r.taken_at >= k.value ->> 1 AND r.taken_at < k.value ->> 2 AND {_CURRENT} AND {_HOLDS}
ORDER BY k.key, r.taken_at"""

_READING = """
SELECT r.id, r.page, p.key, r.taken_at, r.round_at, r.value, r.text, r.typed, r.reason, r.mode,
  r.late, r.sample, r.replaces, r.why, g.person, g.written_at"""

_READINGS = f"""{_READING}
FROM json_each(?) k CROSS JOIN reading r ON r.point = k.value
JOIN point p ON p.id = r.point JOIN page g ON g.id = r.page
WHERE r.taken_at >= ? AND r.taken_at < ? AND {_CURRENT} AND {_HOLDS}"""

_LAST = f"""{_READING}
FROM json_each(?) k CROSS JOIN reading r
JOIN point p ON p.id = r.point JOIN page g ON g.id = r.page
WHERE r.id = (
  SELECT r.id FROM reading r
  WHERE r.point = k.value AND r.taken_at < ? AND (r.value IS NOT NULL OR r.text IS NOT NULL)
    AND {_CURRENT}
  ORDER BY r.taken_at DESC LIMIT 1)"""

_ROWS_OF_IDS = f"""{_READING}
FROM json_each(?) k CROSS JOIN reading r ON r.id = k.value
JOIN point p ON p.id = r.point JOIN page g ON g.id = r.page
ORDER BY k.key"""

# UNION (not UNION ALL) so that a damaged book with a loop in a chain cannot hang us.
_CHAIN = """
WITH RECURSIVE back(id, older) AS (
  SELECT id, replaces FROM reading WHERE id = ?
  UNION SELECT r.id, r.replaces FROM back JOIN reading r ON r.id = back.older
),
chain(id) AS (
  SELECT id FROM back WHERE older IS NULL
  UNION SELECT r.id FROM chain JOIN reading r ON r.replaces = chain.id
)
SELECT id FROM chain"""


# What a plant at an instant follows from: everything there is, and how far of it is in force.
_PLANT_KEY = """
SELECT (SELECT count(*) FROM definition), (SELECT count(*) FROM limit_set),
  (SELECT max(effective_from) FROM definition WHERE effective_from <= ?1),
  (SELECT max(effective_from) FROM limit_set WHERE effective_from <= ?1)"""


class Reader(
    JournalReader, HandoverReader, ChangesReader, CorrectionReader, RoundsReader, SearchReader
):
    """Answers questions about a book. Use it as a context manager, or call `close`."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        super().__init__(path, connection)
        self._plants: dict[tuple[object, ...], Plant] = {}
        self._known: dict[str, int] = {}
        self._limits: tuple[int, dict[str, list[LimitRow]]] = (0, {})

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file; asking afterwards raises BookError."""
        self._reading.close()

    # ---------------------------------------------------------------- readings

    def series(self, keys: Iterable[str], start: datetime, end: datetime) -> dict[str, Series]:
        """Numbers of points over a span, corrections applied; an empty series for no readings.

        Raises BookError for a key that the plant never had.
        """
        first, last = seconds(start), seconds(end)
        numbers = self._numbers(keys)
        with translated(self.path):
            return {
                key: unpack.series(self._reading.execute(_SERIES, (number, first, last)))
                for key, number in numbers.items()
            }

    def numbers(self, keys: Iterable[str], start: datetime, end: datetime) -> dict[str, Numbers]:
        """As `series`, without missing readings and without ids: for years of many points.

        Times are epoch seconds as floats, exact for any instant there is.
        """
        first, last = seconds(start), seconds(end)
        found = self._numbers(keys)
        with translated(self.path):
            return {
                key: unpack.numbers(self._reading.execute(_LINE, (number, first, last)))
                for key, number in found.items()
            }

    def lines(self, keys: Iterable[str], start: datetime, end: datetime) -> Lines:
        """`series` of many points end to end, of numbers alone and without their ids.

        Raises BookError for a key that the plant never had.
        """
        first, last = seconds(start), seconds(end)
        numbers = self._numbers(keys)
        ask = self._reading.execute
        with translated(self.path):
            rows = [ask(_LINE, (number, first, last)).fetchall() for number in numbers.values()]
        return unpack.lines(tuple(numbers), rows)

    def ids_in(self, spans: Sequence[tuple[str, datetime, datetime]]) -> list[list[int]]:
        """Ids of the readings of each (point, start, end), in order of time.

        Raises BookError for a key that the plant never had.
        """
        found: list[list[int]] = [[] for _ in spans]
        if spans:
            numbers = self._numbers([key for key, _, _ in spans])
            asked = [(numbers[key], seconds(start), seconds(end)) for key, start, end in spans]
            for place, reading_id in self._ask(_IDS, json.dumps(asked)):
                found[place].append(reading_id)
        return found

    def readings(self, keys: Iterable[str] | None, start: datetime, end: datetime) -> list[Reading]:
        """Readings as they now stand, of some points or (None) of all, in order of time."""
        numbers = list(self._numbers(keys).values())
        query = f"{_READINGS} ORDER BY r.taken_at, r.id"
        rows = self._ask(query, json.dumps(numbers), seconds(start), seconds(end))
        return unpack.readings(rows)

    def withdrawn(self, start: datetime, end: datetime) -> list[Reading]:
        """Corrections in force that only take a reading of the span back, in order of time."""
        query = (
            f"{_READING} FROM reading r JOIN point p ON p.id = r.point JOIN page g ON g.id = r.page "
            f"WHERE r.replaces IS NOT NULL AND r.taken_at >= ? AND r.taken_at < ? "
            f"AND {_CURRENT} AND NOT {_HOLDS} ORDER BY r.taken_at, r.id"
        )
        return unpack.readings(self._ask(query, seconds(start), seconds(end)))

    def last_before(self, keys: Iterable[str], instant: datetime) -> dict[str, Reading]:
        """The last reading of each point that holds a value, taken before `instant`.

        Points without one are left out.
        """
        numbers = json.dumps(list(self._numbers(keys).values()))
        rows = self._ask(_LAST, numbers, seconds(instant))
        return {reading.point: reading for reading in unpack.readings(rows)}

    def of_round(self, round_at: datetime) -> dict[str, Reading]:
        """The readings of one round by point key; of a point read twice, the later one."""
        at = seconds(round_at)
        numbers = list(self._numbers(None).values())
        query = f"{_READINGS} AND r.round_at = ? ORDER BY r.taken_at, r.id"
        window = at - ROUND_WINDOW_S, at + ROUND_WINDOW_S + 1
        rows = self._ask(query, json.dumps(numbers), *window, at)
        return {reading.point: reading for reading in unpack.readings(rows)}

    def reading(self, reading_id: int) -> Reading:
        """One reading by its id. Raises BookError where there is none."""
        rows = self._ask(_ROWS_OF_IDS, json.dumps([reading_id]))
        if not rows:
            msg = f"There is no reading number {reading_id} in the book; reload and try again."
            raise BookError(msg)
        return unpack.reading(rows[0])

    def history_of(self, reading_id: int) -> list[Reading]:
        """Every version of a reading, the original first, whichever version is named."""
        ids = [row[0] for row in self._ask(_CHAIN, reading_id)]
        return unpack.readings(self._ask(_ROWS_OF_IDS, json.dumps(ids)))

    def responses(self, readings: Iterable[int]) -> dict[int, list[Response]]:
        """What was written about each reading, also about the versions it has replaced."""
        found: dict[int, list[Response]] = {}
        for wanted, *row in self._ask(_RESPONSES_OF_CHAINS, json.dumps(list(readings))):
            found.setdefault(wanted, []).append(unpack.response(tuple(row)))
        return found

    def responses_between(self, start: datetime, end: datetime) -> list[Response]:
        """Responses given in a span."""
        query = f"{_RESPONSE} WHERE x.at >= ? AND x.at < ? ORDER BY x.at, x.id"
        return [unpack.response(row) for row in self._ask(query, seconds(start), seconds(end))]

    # ---------------------------------------------------------------- events

    def entries(self, start: datetime, end: datetime) -> list[Entry]:
        """Log entries as they now stand, in order of time."""
        query = (
            f"{_ENTRY} WHERE x.at >= ? AND x.at < ? AND x.text IS NOT NULL "
            "AND NOT EXISTS (SELECT 1 FROM entry n WHERE n.replaces = x.id) ORDER BY x.at, x.id"
        )
        return [unpack.entry(row) for row in self._ask(query, seconds(start), seconds(end))]

    def history_of_entry(self, entry_id: int) -> list[Entry]:
        """Every version of a log entry, the original first."""
        ids = [row[0] for row in self._ask(_CHAIN.replace("reading", "entry"), entry_id)]
        query = f"{_ENTRY} WHERE x.id IN (SELECT value FROM json_each(?))"
        by_id = {row[0]: unpack.entry(row) for row in self._ask(query, json.dumps(ids))}
        return [by_id[i] for i in ids]

    def statuses(self, start: datetime, end: datetime) -> list[Status]:
        """Status changes in a span, in order of time."""
        query = f"{_STATUS} WHERE x.at >= ? AND x.at < ? ORDER BY x.at, g.written_at, x.id"
        return [unpack.status(row) for row in self._ask(query, seconds(start), seconds(end))]

    def down_intervals(self, start: datetime, end: datetime) -> list[Down]:
        """Spans in which the plant, an area or a machine was down, that touch the given span.

        A second "down" while down changes nothing, nor does an "up" while up.
        """
        rows = [unpack.status(r) for r in self._ask(_SINCE_LAST_UP, seconds(start), seconds(end))]
        return [
            d for d in unpack.down_spans(rows) if d.start < end and (d.end is None or d.end > start)
        ]

    def modes(self, start: datetime, end: datetime) -> list[ModeChange]:
        """Mode changes in a span, headed by the one in force at its start where there is one."""
        query = (
            f"{_MODE} WHERE x.at < ?2 AND x.at >= coalesce("
            "(SELECT max(at) FROM mode_change WHERE at <= ?1), ?1) ORDER BY x.at, g.written_at, x.id"
        )
        found = [unpack.mode(row) for row in self._ask(query, seconds(start), seconds(end))]
        earlier = [change for change in found if change.at < start]
        return earlier[-1:] + found[len(earlier) :]

    def mode_at(self, instant: datetime) -> str:
        """The mode in force at an instant; the normal one where none was ever entered."""
        query = f"{_MODE} WHERE x.at <= ? ORDER BY x.at DESC, g.written_at DESC, x.id DESC LIMIT 1"
        rows = self._ask(query, seconds(instant))
        return unpack.mode(rows[0]).mode if rows else NORMAL_MODE

    def samples(self, start: datetime, end: datetime) -> list[Sample]:
        """Samples taken in a span."""
        query = f"{_SAMPLE} WHERE x.taken_at >= ? AND x.taken_at < ? ORDER BY x.taken_at, x.id"
        return [unpack.sample(row) for row in self._ask(query, seconds(start), seconds(end))]

    def results_of(self, sample: int) -> list[Reading]:
        """Readings that belong to a sample, as they now stand."""
        query = (
            f"{_READING} FROM reading r JOIN point p ON p.id = r.point "
            f"JOIN page g ON g.id = r.page WHERE r.sample = ? AND {_CURRENT} AND {_HOLDS} "
            "ORDER BY r.id"
        )
        return unpack.readings(self._ask(query, sample))

    # ---------------------------------------------------------------- pages and definitions

    def pages(self, start: datetime, end: datetime) -> list[PageHead]:
        """Pages written in a span, in the order in which they were written."""
        query = f"{_PAGE} WHERE x.written_at >= ? AND x.written_at < ? ORDER BY x.written_at, x.id"
        rows = self._ask(query, milliseconds(start), milliseconds(end))
        return [unpack.page(row) for row in rows]

    def last_page(self) -> PageHead:
        """The page written last. Its seal in short form is what a handover prints."""
        return unpack.page(self._ask(f"{_PAGE} ORDER BY x.written_at DESC, x.id DESC LIMIT 1")[0])

    def plant_at(self, instant: datetime) -> Plant:
        """The plant as defined at an instant; before the first definition, as first defined."""
        at = seconds(instant)
        key = self._ask(_PLANT_KEY, at)[0]
        if key not in self._plants:
            with translated(self.path):
                parts = definitions.in_force(self._reading, at)
            self._plants[key] = definitions.assembled(parts)
        return self._plants[key]

    def limit_history(self, keys: Iterable[str]) -> list[LimitRow]:
        """All limits of points over time: by point, mode and the instant they took effect.

        Of several with the same instant only the one written last is given.
        """
        wanted = list(dict.fromkeys(keys))
        mark = self._ask("SELECT count(*) FROM limit_set")[0][0]
        if mark != self._limits[0]:  # nothing is ever changed or dropped, only added to
            self._limits = (mark, {})
        known = self._limits[1]
        unknown = [key for key in wanted if key not in known]
        if unknown:
            rows = self._limit_rows(unknown)
            known.update({key: [] for key in unknown})
            for row in rows:
                known[row.point].append(row)
        return [row for key in wanted for row in known[key]]

    def _limit_rows(self, keys: Iterable[str]) -> list[LimitRow]:
        query = f"""
            SELECT key, mode, effective_from, withdrawn, {", ".join(EDGES)} FROM (
              SELECT p.key, l.*, k.key AS place, row_number() OVER (
                PARTITION BY l.point, l.mode, l.effective_from
                ORDER BY g.written_at DESC, l.id DESC) AS from_last
              FROM json_each(?) k JOIN limit_set l ON l.point = k.value
              JOIN point p ON p.id = l.point JOIN page g ON g.id = l.page)
            WHERE from_last = 1 ORDER BY place, mode, effective_from"""
        rows = self._ask(query, json.dumps(list(self._numbers(keys).values())))
        return [unpack.limit_row(row) for row in rows]

    def definition_starts(self) -> list[datetime]:
        """Every instant from which on something in the plant is defined anew, in order."""
        query = (
            "SELECT effective_from FROM definition UNION "
            "SELECT effective_from FROM limit_set ORDER BY 1"
        )
        return [from_seconds(row[0]) for row in self._ask(query)]

    def definition_mark(self) -> tuple[int, int]:
        """Changes with every revision of the plant: to see whether what is known still holds."""
        # Counts, not the highest ids: those of another seat may lie above every new one.
        query = "SELECT (SELECT count(*) FROM definition), (SELECT count(*) FROM limit_set)"
        definitions_there, limits_there = self._ask(query)[0]
        return definitions_there, limits_there

    def revisions(self) -> list[Revision]:
        """Every change of the plant, oldest first."""
        query = """
            SELECT d.page, d.kind, d.key, NULL, d.effective_from, d.withdrawn, d.reason,
              g.person, g.written_at, d.id
            FROM definition d JOIN page g ON g.id = d.page
            UNION ALL
            SELECT l.page, 'limits', p.key, l.mode, l.effective_from, l.withdrawn, l.reason,
              g.person, g.written_at, l.id
            FROM limit_set l JOIN page g ON g.id = l.page JOIN point p ON p.id = l.point
            ORDER BY 9, 1, 2, 10"""
        return [unpack.revision(row) for row in self._ask(query)]

    def _numbers(self, keys: Iterable[str] | None) -> dict[str, int]:
        wanted = None if keys is None else list(keys)
        known = self._known
        # A number stands for its point for ever: only for one that is not known yet, and where
        # all are asked for, is there anything to look up.
        if wanted is None or not known.keys() >= set(wanted):
            with translated(self.path):
                known = self._known = point_numbers(self._reading)
        if wanted is None:
            return dict(known)
        try:
            return {key: known[key] for key in wanted}
        except KeyError as error:
            msg = f"The book has no point {error.args[0]}; choose one that the plant has."
            raise BookError(msg) from None


_RESPONSE = written_by("response", "id page reading at text")
_ENTRY = written_by("entry", "id page at area equipment kind text replaces why")
_RESPONSES_OF_CHAINS = """
WITH RECURSIVE back(wanted, id, older) AS (
  SELECT k.value, r.id, r.replaces FROM json_each(?) k CROSS JOIN reading r ON r.id = k.value
  UNION SELECT b.wanted, r.id, r.replaces FROM back b CROSS JOIN reading r ON r.id = b.older
),
chain(wanted, id) AS (
  SELECT wanted, id FROM back WHERE older IS NULL
  UNION SELECT c.wanted, r.id FROM chain c CROSS JOIN reading r ON r.replaces = c.id
)
SELECT c.wanted, x.id, x.page, x.reading, x.at, x.text, g.person, g.written_at
FROM chain c CROSS JOIN response x ON x.reading = c.id JOIN page g ON g.id = x.page
ORDER BY x.id"""
_STATUS = written_by("status", "id page scope target at state reason")
# From the last "up" before the span, target by target, to the first one from its end on: what came
# before cannot reach into it, and a stretch that reaches out of it ends there.
_SINCE_LAST_UP = f"""
SELECT s.* FROM ({_STATUS}) s JOIN (
  SELECT scope, target, max(CASE WHEN state = 'up' AND at < ?1 THEN at END) AS up,
    min(CASE WHEN state = 'up' AND at >= ?2 THEN at END) AS next_up
  FROM status GROUP BY scope, target
) t ON t.scope = s.scope AND t.target = s.target AND s.at >= coalesce(t.up, s.at)
WHERE s.at < ?2 OR s.at <= t.next_up ORDER BY s.at, s.written_at, s.id"""
_MODE = written_by("mode_change", "id page at mode reason")
_SAMPLE = written_by("sample", "id page taken_at sampling_point label note")
_PAGE = (
    "SELECT x.id, s.name, x.person, x.written_at, x.kind, x.note, x.row_count, x.seal "
    "FROM page x JOIN seat s ON s.id = x.seat"
)
