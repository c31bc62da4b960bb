"""Writing a page: ids, checks in words, rows, and the seal.

Everything here happens inside one transaction that the caller has begun under the book's lock.
The tables hold the same rules as constraints; these checks come first to say what is wrong.
"""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from bisect import bisect_right
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from math import isfinite
from types import MappingProxyType
from typing import Any

from logbook.plant.model import Settings
from logbook.record.codec import decode
from logbook.record.definitions import EDGES
from logbook.record.errors import WriteRefused
from logbook.record.instants import (
    from_milliseconds,
    from_seconds,
    milliseconds,
    optional_seconds,
    seconds,
)
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
    Ref,
    SavedPage,
)
from logbook.record.schema_v1 import ROW_TABLES
from logbook.record.seal import Cell, canonical, first_link, seal_of, trimmed

SEAT_SHIFT = 40
"""Row ids are `seat << 40 | counter`: a million million rows per seat and table."""

FUTURE_TOLERANCE_S = 15 * 60
"""What is written cannot have happened later than this after the clock: a typing error."""

ROUND_WINDOW_S = 12 * 3600
"""A reading is taken within this of the round that it belongs to."""

Row = tuple[Cell, ...]

TABLE_OF: dict[type, str] = {
    NewReading: "reading",
    NewResponse: "response",
    NewEntry: "entry",
    NewStatus: "status",
    NewModeChange: "mode_change",
    NewSample: "sample",
    NewDefinition: "definition",
    NewLimits: "limit_set",
    NewPoint: "point",
}

WIDTHS = {
    "reading": 14,
    "response": 5,
    "entry": 9,
    "status": 7,
    "mode_change": 5,
    "sample": 6,
    "definition": 8,
    "limit_set": 7 + len(EDGES),
    "point": 3,
}
"""Number of columns of each table."""

INSERTS = {
    table: f"INSERT INTO {table} VALUES ({', '.join('?' * width)})"
    for table, width in WIDTHS.items()
}


class PageWriter:
    """Writes pages of one seat within one transaction."""

    def __init__(self, connection: sqlite3.Connection, seat: int, points: dict[str, int]) -> None:
        self._connection = connection
        self._seat = seat
        self._points = points
        self._next_ids: dict[str, int] = {}
        self._latest: dict[int, int] = {}
        self._fresh: set[tuple[int, int]] = set()
        self._graces = _graces(connection)
        self._seal = self._last_seal()
        self._now = 0
        self._page = 0
        self._rows: Sequence[NewRow] = ()
        self._ids: tuple[int, ...] = ()
        self._prepare: dict[type, Callable[[Any, int], Row]] = {
            NewReading: self._reading,
            NewResponse: self._response,
            NewEntry: self._entry,
            NewStatus: self._status,
            NewModeChange: self._mode_change,
            NewSample: self._sample,
            NewDefinition: self._definition,
            NewLimits: self._limit_set,
            NewPoint: self._new_point,
        }

    def put(self, page: Page, written_at: datetime) -> SavedPage:
        """Write one page. Raises WriteRefused; the caller then rolls the transaction back."""
        if not page.rows:
            msg = "There is nothing to save; enter something first."
            raise WriteRefused(msg)
        if not page.person.strip():
            msg = "A save needs the name of the person who writes; choose who you are."
            raise WriteRefused(msg)
        self._now = milliseconds(written_at)
        self._page = self._next("page")
        self._rows = page.rows
        self._ids = tuple(self._next(_table(row)) for row in page.rows)
        tables = self._prepared()
        seal = self._write(page, tables)
        counts = {table: len(rows) for table, rows in tables.items()}
        at = from_milliseconds(self._now)
        return SavedPage(self._page, seal, at, self._ids, MappingProxyType(counts))

    def _prepared(self) -> dict[str, list[Row]]:
        """Columns of all rows by table."""
        tables: dict[str, list[Row]] = {}
        for row, new_id in zip(self._rows, self._ids, strict=True):
            kind = type(row)
            tables.setdefault(TABLE_OF[kind], []).append(self._prepare[kind](row, new_id))
        return tables

    def _write(self, page: Page, tables: dict[str, list[Row]]) -> str:
        head: list[Cell] = [self._page, self._seat, page.person, self._now, page.kind, page.note]
        head += [len(self._ids), self._seal]
        sealed: list[Sequence[Cell]] = [["page", *head]]
        for table in ROW_TABLES:
            sealed += [(table, *trimmed(row)) for row in tables.get(table, ())]
        form = canonical(sealed)
        _require_clean(form, sealed)
        seal = seal_of(form)
        for table, rows in tables.items():
            self._connection.executemany(INSERTS[table], rows)
        self._connection.execute("INSERT INTO page VALUES (?,?,?,?,?,?,?,?,?)", (*head, seal))
        self._seal = seal
        return seal

    # ---------------------------------------------------------------- ids and links

    def _next(self, table: str) -> int:
        """The next id of this seat in `table`; point numbers alone are plain and compact."""
        known = self._next_ids.get(table)
        if known is None:
            known = self._first_free(table)
        self._next_ids[table] = known + 1
        return known

    def _first_free(self, table: str) -> int:
        low, high = self._seat << SEAT_SHIFT, (self._seat + 1) << SEAT_SHIFT
        if table == "point":
            low, high = 0, 1 << SEAT_SHIFT
        query = f"SELECT max(id) FROM {table} WHERE id > ? AND id < ?"
        last = self._connection.execute(query, (low, high)).fetchone()[0]
        return int(last) + 1 if last is not None else low + 1

    def _last_seal(self) -> str:
        """Seal of this seat's last page, or what its first page follows."""
        low, high = self._seat << SEAT_SHIFT, (self._seat + 1) << SEAT_SHIFT
        query = "SELECT seal FROM page WHERE id > ? AND id < ? ORDER BY id DESC LIMIT 1"
        row = self._connection.execute(query, (low, high)).fetchone()
        if row is not None:
            return str(row[0])
        book = self._connection.execute("SELECT * FROM book").fetchone()
        seat = self._connection.execute("SELECT * FROM seat WHERE id = ?", (self._seat,)).fetchone()
        return first_link(book, seat)

    def _linked(self, link: int | Ref, kind: type, table: str) -> int:
        """Id of the row that a link names."""
        if isinstance(link, Ref):
            inside = 0 <= link.index < len(self._rows)
            if not inside or type(self._rows[link.index]) is not kind:
                msg = f"Row {link.index} of this save is no {table}; nothing was written."
                raise WriteRefused(msg)
            return self._ids[link.index]
        self._require_there(table, link)
        return link

    def _require_there(self, table: str, wanted: int) -> None:
        query = f"SELECT 1 FROM {table} WHERE id = ?"
        if self._connection.execute(query, (wanted,)).fetchone() is None:
            msg = f"There is no {table} number {wanted} in the book; reload and try again."
            raise WriteRefused(msg)

    def _point(self, key: str) -> int:
        number = self._points.get(key)
        if number is None:
            self._points.update(self._connection.execute("SELECT key, id FROM point"))
            number = self._points.get(key)
        if number is None:
            msg = f"The plant has no point {key}; add it to the plant before it is read."
            raise WriteRefused(msg)
        return number

    def _happened(self, instant: datetime, what: str) -> int:
        """`instant` in seconds; refuses what would lie in the future."""
        at = seconds(instant)
        if at * 1000 > self._now + FUTURE_TOLERANCE_S * 1000:
            now = from_milliseconds(self._now)
            msg = (
                f"{what}: {instant:%Y-%m-%d %H:%M %Z} is in the future (it is now "
                f"{now.astimezone(instant.tzinfo):%Y-%m-%d %H:%M}); check the date and time."
            )
            raise WriteRefused(msg)
        return at

    # ---------------------------------------------------------------- readings

    def _reading(self, row: NewReading, new_id: int) -> Row:
        point = self._points.get(row.point) or self._point(row.point)
        taken = self._happened(row.taken_at, row.point)
        value = row.value
        if value is not None:
            value = _finite(value, row.point)
        if row.text is not None:
            _require_words(row.text, row.point)
        given = (value is not None) + (row.text is not None) + (row.reason is not None)
        if row.replaces is not None:
            return self._correction(row, new_id, point, taken, value, given)
        if given != 1:
            raise WriteRefused(_not_one(row.point))
        round_at = None if row.round_at is None else self._round(row.round_at, taken, row.point)
        self._require_free(row.point, point, taken, None)
        sample = None if row.sample is None else self._linked(row.sample, NewSample, "sample")
        due = taken if round_at is None else round_at
        late = 0 if sample is not None else self._is_late(due)
        return (
            new_id, self._page, point, taken, round_at, value, row.text, row.typed, row.reason,
            row.mode, late, sample, None, None,
        )  # fmt: skip

    def _correction(
        self, row: NewReading, new_id: int, point: int, taken: int, value: float | None, given: int
    ) -> Row:
        old = self._replaceable(row)
        if old["point"] != point:
            msg = (
                f"A correction must be of the same point, and reading {row.replaces} is not of "
                f"{row.point}; withdraw it there and enter the value at {row.point}."
            )
            raise WriteRefused(msg)
        if given > 1:
            raise WriteRefused(_not_one(row.point))
        round_at = optional_seconds(row.round_at)
        round_at = old["round_at"] if round_at is None else round_at
        if taken != old["taken_at"]:
            self._require_free(row.point, point, taken, row.replaces)
        sample = old["sample"]
        if row.sample is not None:
            sample = self._linked(row.sample, NewSample, "sample")
        return (
            new_id, self._page, point, taken, round_at, value, row.text, row.typed, row.reason,
            row.mode, self._late_again(old, given, sample), sample, row.replaces, row.why,
        )  # fmt: skip

    def _replaceable(self, row: NewReading) -> dict[str, Any]:
        """The row that a correction replaces; refused where it is not there or not the last."""
        if not (row.why or "").strip():
            msg = f"A correction of {row.point} needs a reason; say why the value changes."
            raise WriteRefused(msg)
        columns = ("point", "taken_at", "round_at", "value", "text", "late", "sample")
        query = f"SELECT {', '.join(columns)} FROM reading WHERE id = ?"
        found = self._connection.execute(query, (row.replaces,)).fetchone()
        if found is None:
            msg = f"There is no reading number {row.replaces} to correct; reload and try again."
            raise WriteRefused(msg)
        self._require_current("reading", row.replaces, row.point)
        return dict(zip(columns, found, strict=True))

    def _require_current(self, table: str, replaced: int | None, what: str) -> None:
        query = f"SELECT 1 FROM {table} WHERE replaces = ?"
        in_save = sum(getattr(r, "replaces", None) == replaced for r in self._same(table))
        if in_save > 1 or self._connection.execute(query, (replaced,)).fetchone() is not None:
            msg = (
                f"{what}: this {table} has been corrected already; "
                "look at the newer value and correct that one."
            )
            raise WriteRefused(msg)

    def _same(self, table: str) -> Iterable[NewRow]:
        return (row for row in self._rows if TABLE_OF[type(row)] == table)

    def _late_again(self, old: dict[str, Any], given: int, sample: int | None) -> int:
        """A late value stays late when corrected; a value where there was none is judged anew."""
        had_value = old["value"] is not None or old["text"] is not None
        if had_value or not given or sample is not None:
            return int(old["late"])
        due = old["taken_at"] if old["round_at"] is None else old["round_at"]
        return self._is_late(due)

    def _round(self, instant: datetime, taken: int, key: str) -> int:
        round_at = seconds(instant)
        if abs(round_at - taken) > ROUND_WINDOW_S:
            msg = (
                f"{key}: taken at {from_seconds(taken):%Y-%m-%d %H:%M} UTC, more than "
                f"{ROUND_WINDOW_S // 3600} hours from the round of "
                f"{from_seconds(round_at):%Y-%m-%d %H:%M} UTC; check the time of taking."
            )
            raise WriteRefused(msg)
        return round_at

    def _is_late(self, due: int) -> int:
        place = bisect_right(self._graces, due, key=lambda grace: grace[0])
        grace = self._graces[max(place - 1, 0)][1]
        return int(self._now > (due + grace) * 1000)

    def _require_free(self, key: str, point: int, taken: int, replaced: int | None) -> None:
        """Refuse a second reading of a point at one instant.

        Readings mostly come in order of time, so the last instant of a point answers mostly.
        """
        latest = self._latest.get(point)
        if latest is None:
            query = "SELECT max(taken_at) FROM reading WHERE point = ?"
            found = self._connection.execute(query, (point,)).fetchone()[0]
            latest = -(1 << 62) if found is None else int(found)
        if taken > latest:
            self._latest[point] = taken
        else:
            self._latest[point] = latest
            if (point, taken) in self._fresh or self._is_taken(point, taken, replaced):
                msg = (
                    f"{key} already has a reading taken at {from_seconds(taken):%Y-%m-%d %H:%M} "
                    "UTC; correct that one, or give the time at which this one was taken."
                )
                raise WriteRefused(msg)
        self._fresh.add((point, taken))

    def _is_taken(self, point: int, taken: int, replaced: int | None) -> bool:
        query = (
            "SELECT 1 FROM reading r WHERE point = ? AND taken_at = ? AND id IS NOT ? "
            "AND NOT EXISTS (SELECT 1 FROM reading n WHERE n.replaces = r.id)"
        )
        return self._connection.execute(query, (point, taken, replaced)).fetchone() is not None

    # ---------------------------------------------------------------- other rows

    def _response(self, row: NewResponse, new_id: int) -> Row:
        _require_words(row.text, "A response")
        reading = self._linked(row.reading, NewReading, "reading")
        return (new_id, self._page, reading, self._happened(row.at, "Response"), row.text)

    def _entry(self, row: NewEntry, new_id: int) -> Row:
        if row.replaces is None or row.text is not None:
            _require_words(row.text, "An entry")
        if row.replaces is not None:
            _require_words(row.why, "A correction")
            self._require_there("entry", row.replaces)
            self._require_current("entry", row.replaces, "Entry")
        at = self._happened(row.at, "Entry")
        return (
            new_id, self._page, at, row.area, row.equipment, row.kind, row.text, row.replaces,
            row.why,
        )  # fmt: skip

    def _status(self, row: NewStatus, new_id: int) -> Row:
        if row.state == "down":
            _require_words(row.reason, "Going down")
        at = self._happened(row.at, row.target)
        return (new_id, self._page, row.scope, row.target, at, row.state, row.reason)

    def _mode_change(self, row: NewModeChange, new_id: int) -> Row:
        return (new_id, self._page, self._happened(row.at, row.mode), row.mode, row.reason)

    def _sample(self, row: NewSample, new_id: int) -> Row:
        taken = self._happened(row.taken_at, "Sample")
        return (new_id, self._page, taken, row.sampling_point, row.label, row.note)

    def _definition(self, row: NewDefinition, new_id: int) -> Row:
        _require_words(row.reason, "A change of the plant")
        at, withdrawn = seconds(row.effective_from), int(row.body is None)
        return (new_id, self._page, row.kind, row.key, at, withdrawn, row.reason, row.body)

    def _limit_set(self, row: NewLimits, new_id: int) -> Row:
        _require_words(row.reason, "A change of limits")
        edges: list[Cell] = [None] * len(EDGES)
        if row.limits is not None:
            values = [getattr(row.limits, edge) for edge in EDGES]
            edges = [None if v is None else _finite(v, row.point) for v in values]
        at, withdrawn = seconds(row.effective_from), int(row.limits is None)
        point = self._point(row.point)
        return (new_id, self._page, point, row.mode, at, withdrawn, row.reason, *edges)

    def _new_point(self, row: NewPoint, new_id: int) -> Row:
        self._points[row.key] = new_id
        return (new_id, self._page, row.key)


def _table(row: NewRow) -> str:
    table = TABLE_OF.get(type(row))
    if table is None:
        msg = f"{type(row).__name__} is no row of the book"
        raise TypeError(msg)
    return table


def _graces(connection: sqlite3.Connection) -> list[tuple[int, int]]:
    """(effective from, grace in seconds) of the plant's settings in order of time."""
    rows = connection.execute(
        "SELECT effective_from, body FROM definition WHERE kind = 'settings' "
        "AND body IS NOT NULL ORDER BY effective_from, id"
    )
    found = [(at, decode(Settings, body).grace_minutes * 60) for at, body in rows]
    return found or [(0, Settings().grace_minutes * 60)]


def _finite(value: float, what: str) -> float:
    number = float(value) + 0.0  # negative zero is zero: SQLite does not keep the difference
    if not isfinite(number):
        msg = f"The value of {what} is not a number that can be kept; type it again."
        raise WriteRefused(msg)
    return number


def _not_one(key: str) -> str:
    return (
        f"{key} needs exactly one of: a number, an answer, or the reason why it was not taken; "
        "enter one of them."
    )


def _require_words(text: str | None, what: str) -> None:
    if not (text or "").strip():
        msg = f"{what} needs some words; say what was done or why."
        raise WriteRefused(msg)


def _require_clean(form: bytes, rows: Sequence[Sequence[Cell]]) -> None:
    """Refuse NUL characters, at which other SQLite clients cut a text off."""
    if b"\\u0000" not in form:
        return
    if any(isinstance(cell, str) and "\0" in cell for row in rows for cell in row):
        msg = "A text holds a NUL character, which cannot be stored; type it again without it."
        raise WriteRefused(msg)
