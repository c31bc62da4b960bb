"""Writing a page: ids, rows and the seal.

Everything here happens inside one transaction that the caller has begun under the book's lock.
The tables hold the same rules as constraints; the checks come first to say what is wrong.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any

from logbook.record.definitions import EDGES
from logbook.record.errors import WriteRefused
from logbook.record.instants import from_milliseconds, milliseconds, seconds
from logbook.record.numbers import SEAT_SHIFT
from logbook.record.readings import Readings
from logbook.record.rows import (
    NewDefinition,
    NewEntry,
    NewLimits,
    NewModeChange,
    NewPoint,
    NewReading,
    NewResponse,
    NewRow,
    NewSample,
    NewStatus,
    Page,
    SavedPage,
)
from logbook.record.saving import TABLE_OF, Row, Saving, finite, require_words
from logbook.record.schema import ROW_TABLES
from logbook.record.schema_v2 import INDEX_PAGE
from logbook.record.seal import Cell, canonical, first_link, seal_of, trimmed
from logbook.record.write_handover import HandoverRows
from logbook.record.write_journal import Journal

WIDTHS = {
    "point": 3,
    "definition": 8,
    "limit_set": 7 + len(EDGES),
    "sample": 6,
    "reading": 14,
    "response": 5,
    "entry": 9,
    "status": 7,
    "mode_change": 5,
    "credential": 5,
    "access": 6,
    "open_item": 10,
    "item_event": 6,
    "instruction": 6,
    "instruction_end": 5,
    "acknowledgement": 4,
    "safety_state": 9,
    "safety_event": 7,
    "handover_note": 6,
    "handover_check": 7,
    "document": 9,
    "signature": 9,
}
"""Number of columns of each table; a table that others refer to stands before them."""

INSERTS = {
    table: f"INSERT INTO {table} VALUES ({', '.join('?' * width)})"
    for table, width in WIDTHS.items()
}


class PageWriter:
    """Writes pages of one seat, as long as nobody else writes; after a rollback it is stale.

    It remembers what it need not ask again: the last ids, the last seal, the last reading of
    each point.
    """

    def __init__(self, connection: sqlite3.Connection, seat: int) -> None:
        self._connection = connection
        self._seat = seat
        self._next_ids: dict[str, int] = {}
        self._seal = self._last_seal()
        self._saving = Saving(connection)
        self._readings = Readings(self._saving)
        self._columns: dict[type, Callable[[Any, int], Row]] = {
            NewReading: self._readings.row,
            NewResponse: self._response,
            NewEntry: self._entry,
            NewStatus: self._status,
            NewModeChange: self._mode_change,
            NewSample: self._sample,
            NewDefinition: self._definition,
            NewLimits: self._limit_set,
            NewPoint: self._point,
            **Journal(self._saving).makers(),
            **HandoverRows(self._saving).makers(),
        }

    def put(self, page: Page, written_at: datetime) -> SavedPage:
        """Write one page. Raises WriteRefused; the caller then rolls the transaction back."""
        if not page.rows:
            msg = "There is nothing to save; enter something first."
            raise WriteRefused(msg)
        if not page.person.strip():
            msg = "A save needs the name of the person who writes; choose who you are."
            raise WriteRefused(msg)
        now, page_id = milliseconds(written_at), self._next("page")
        ids = self._allotted(page.rows)
        self._saving.begin(page_id, page.person, now, page.rows, ids)
        self._readings.begin()
        tables = self._prepared(page.rows, ids)
        seal = self._write([page_id, self._seat, page.person, now, page.kind, page.note], tables)
        counts = MappingProxyType({table: len(rows) for table, rows in tables.items()})
        return SavedPage(page_id, seal, from_milliseconds(now), tuple(ids), counts)

    def _prepared(self, rows: Sequence[NewRow], ids: Sequence[int]) -> dict[str, list[Row]]:
        """Columns of all rows by table."""
        tables: dict[str, list[Row]] = {}
        columns = self._columns
        for row, new_id in zip(rows, ids, strict=True):
            kind = type(row)
            tables.setdefault(TABLE_OF[kind], []).append(columns[kind](row, new_id))
        return tables

    def _write(self, head: list[Cell], tables: dict[str, list[Row]]) -> str:
        head += [sum(map(len, tables.values())), self._seal]
        sealed: list[Sequence[Cell]] = [["page", *head]]
        for table in ROW_TABLES:
            if table in tables:
                sealed += [(table, *trimmed(row)) for row in tables[table]]
        form = canonical(sealed)
        _require_clean(form, sealed)
        self._seal = seal_of(form)
        for table, insert in INSERTS.items():
            if table in tables:
                self._connection.executemany(insert, tables[table])
        row = (*head, self._seal)
        self._connection.execute("INSERT INTO page VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
        self._index(tables, page=row[0], note=row[5])
        return self._seal

    def _index(self, tables: Iterable[str], *, page: Cell, note: Cell) -> None:
        """Put the words of the page into the search index."""
        for table in (*tables, "page") if note else tables:
            for statement in INDEX_PAGE.get(table, ()):
                self._connection.execute(statement, (page,))

    # ---------------------------------------------------------------- ids and links

    def _allotted(self, rows: Sequence[NewRow]) -> list[int]:
        """An id for each row, rising in each table in the order of the rows."""
        if all(type(row) is NewReading for row in rows):
            first = self._next("reading", len(rows))
            return list(range(first, first + len(rows)))
        return [self._next(_table(row)) for row in rows]

    def _next(self, table: str, count: int = 1) -> int:
        """The first of the next `count` ids of this seat in `table`."""
        known = self._next_ids.get(table)
        if known is None:
            known = self._first_free(table)
        self._next_ids[table] = known + count
        return known

    def _first_free(self, table: str) -> int:
        low, high = self._span()
        if table == "point":  # point numbers alone are compact
            low, high = 0, 1 << SEAT_SHIFT
        query = f"SELECT max(id) FROM {table} WHERE id > ? AND id < ?"
        last = self._connection.execute(query, (low, high)).fetchone()[0]
        return int(last) + 1 if last is not None else low + 1

    def _span(self) -> tuple[int, int]:
        return self._seat << SEAT_SHIFT, (self._seat + 1) << SEAT_SHIFT

    def _last_seal(self) -> str:
        """Seal of this seat's last page, or what its first page follows."""
        query = "SELECT seal FROM page WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1"
        row = self._connection.execute(query, self._span()).fetchone()
        if row is not None:
            return str(row[0])
        book = self._connection.execute("SELECT * FROM book").fetchone()
        seat = self._connection.execute("SELECT * FROM seat WHERE id = ?", (self._seat,)).fetchone()
        return first_link(book, seat)

    # ---------------------------------------------------------------- rows but readings

    def _response(self, row: NewResponse, new_id: int) -> Row:
        require_words(row.text, "A response")
        reading = self._saving.linked(row.reading, NewReading)
        return (
            new_id,
            self._saving.page,
            reading,
            self._saving.happened(row.at, "Response"),
            row.text,
        )

    def _entry(self, row: NewEntry, new_id: int) -> Row:
        if row.replaces is None or row.text is not None:
            require_words(row.text, "An entry")
        if row.replaces is not None:
            require_words(row.why, "A correction")
            self._saving.require_there("entry", row.replaces)
            self._saving.require_current(NewEntry, row.replaces, "Entry")
        at = self._saving.happened(row.at, "Entry")
        return (
            new_id, self._saving.page, at, row.area, row.equipment, row.kind, row.text, row.replaces,
            row.why,
        )  # fmt: skip

    def _status(self, row: NewStatus, new_id: int) -> Row:
        if row.state == "down":
            require_words(row.reason, "Going down")
        at = self._saving.happened(row.at, row.target)
        return (new_id, self._saving.page, row.scope, row.target, at, row.state, row.reason)

    def _mode_change(self, row: NewModeChange, new_id: int) -> Row:
        return (
            new_id,
            self._saving.page,
            self._saving.happened(row.at, row.mode),
            row.mode,
            row.reason,
        )

    def _sample(self, row: NewSample, new_id: int) -> Row:
        taken = self._saving.happened(row.taken_at, "Sample")
        return (new_id, self._saving.page, taken, row.sampling_point, row.label, row.note)

    def _definition(self, row: NewDefinition, new_id: int) -> Row:
        require_words(row.reason, "A change of the plant")
        at, withdrawn = seconds(row.effective_from), int(row.body is None)
        return (new_id, self._saving.page, row.kind, row.key, at, withdrawn, row.reason, row.body)

    def _limit_set(self, row: NewLimits, new_id: int) -> Row:
        require_words(row.reason, "A change of limits")
        edges: list[Cell] = [None] * len(EDGES)
        if row.limits is not None:
            values = [getattr(row.limits, edge) for edge in EDGES]
            edges = [None if v is None else finite(v, row.point) for v in values]
        at, withdrawn = seconds(row.effective_from), int(row.limits is None)
        point = self._saving.point(row.point)
        return (new_id, self._saving.page, point, row.mode, at, withdrawn, row.reason, *edges)

    def _point(self, row: NewPoint, new_id: int) -> Row:
        self._saving.points[row.key] = new_id
        return (new_id, self._saving.page, row.key)


def _table(row: NewRow) -> str:
    table = TABLE_OF.get(type(row))
    if table is None:
        msg = f"{type(row).__name__} is no row of the book"
        raise TypeError(msg)
    return table


def _require_clean(form: bytes, rows: Sequence[Sequence[Cell]]) -> None:
    """Refuse NUL characters, at which other SQLite clients cut a text off."""
    if b"\\u0000" not in form:
        return
    if any(isinstance(cell, str) and "\0" in cell for row in rows for cell in row):
        msg = "A text holds a NUL character, which cannot be stored; type it again without it."
        raise WriteRefused(msg)
