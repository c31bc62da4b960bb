"""Is the book as it was written? Works every seal out again and names what does not match."""

# ruff: noqa: S608 -- what is put into the SQL are names of our own tables and columns

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Any

from logbook.record.connect import BUSY_SECONDS, connect_reader, require_book, require_file
from logbook.record.errors import translated
from logbook.record.instants import from_milliseconds
from logbook.record.migrations import schema_faults
from logbook.record.numbers import SEAT_SHIFT
from logbook.record.schema import ROW_TABLES
from logbook.record.schema_v1 import JUDGEMENTS
from logbook.record.seal import Cell, canonical, first_link, seal_of, short_seal, trimmed

MOST_FAULTS = 100
"""So many faults are told; a book with more is told as such."""

SHORTEST_SEAL = 12
"""Digits of a printed seal that must be given to look for it."""

SEARCH_SINCE = 2
"""Schema version from which on a book has a search index."""

STEP = 1000
"""Pages between two calls of `progress`."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class SealFault:
    """Something that is not as it was written; `page` None where it is no single page."""

    page: int | None
    person: str | None
    written_at: datetime | None
    what: str

    def __str__(self) -> str:
        if self.page is None or self.written_at is None:
            return self.what
        when = f"{self.written_at:%Y-%m-%d %H:%M} UTC"
        return f"Page {page_name(self.page)} ({self.person}, {when}): {self.what}"


@dataclass(frozen=True, slots=True)
class Verification:
    """What `verify` has found: nothing wrong where `faults` is empty."""

    pages: int
    rows: int
    faults: tuple[SealFault, ...]
    last_seals: tuple[tuple[str, str], ...]
    """Name of each seat and the seal of its last page."""

    @property
    def is_sound(self) -> bool:
        """True where every seal and everything else is as written."""
        return not self.faults

    def __str__(self) -> str:
        if self.is_sound:
            seals = ", ".join(f"{seat}: {short_seal(seal)}" for seat, seal in self.last_seals)
            return f"All {self.pages} pages with {self.rows} rows are as written ({seals})."
        return "\n".join(str(fault) for fault in self.faults)


def verify(
    path: Path,
    *,
    known_seals: Iterable[str] = (),
    structure: bool = True,
    progress: Progress | None = None,
) -> Verification:
    """Walk the whole book and compare every page with its seal and every seal with the one before.

    `known_seals` are seals from elsewhere (a printed handover, a backup), whole or in short form;
    each must be in the book, or pages at its end were cut off or the file was put back. With
    `structure`, SQLite also compares tables with their indexes, from which the series are read.
    `progress` gets (pages done, pages in all). Nothing is written, and others may go on writing.
    A book of an older version is held against that version, and not brought up to date.
    Raises a `BookError` where the file cannot be read as a book at all.
    """
    require_file(path)
    with translated(path), closing(connect_reader(path, BUSY_SECONDS)) as connection:
        # Text that is no UTF-8 any more must show as a broken seal, not stop the walk.
        connection.text_factory = lambda raw: raw.decode("utf-8", "replace")
        version = require_book(path, connection)
        connection.execute("BEGIN")  # one unmoving view of the book
        walk = _Walk(connection)
        faults = [*_structure(connection, structure), *walk.faults(progress)]
        faults += _unknown(connection, known_seals)
        if structure and version >= SEARCH_SINCE:
            faults += _search_index(connection)
        connection.execute("ROLLBACK")
    return Verification(walk.pages, walk.rows, _capped(faults), tuple(walk.last_seals()))


def page_name(page: int) -> str:
    """A page id as people read it: seat and running number, '1-42'."""
    return f"{page >> SEAT_SHIFT}-{page & ((1 << SEAT_SHIFT) - 1)}"


@dataclass(slots=True)
class _Page:
    """The head of a page as it stands in the file."""

    id: int
    seat: int
    person: str
    written_at: int
    kind: str
    note: str
    row_count: int
    previous_seal: str
    seal: str

    def head(self) -> list[Cell]:
        return [
            "page", self.id, self.seat, self.person, self.written_at, self.kind, self.note,
            self.row_count, self.previous_seal,
        ]  # fmt: skip

    def fault(self, what: str) -> SealFault:
        return SealFault(self.id, self.person, from_milliseconds(self.written_at), what)


class _Stream:
    """The rows of one table by page, in step with a walk over the pages."""

    def __init__(self, connection: sqlite3.Connection, table: str) -> None:
        self.table = table
        rows = connection.execute(f"SELECT * FROM {table} ORDER BY page, id")
        self._groups = groupby(rows, key=itemgetter(1))
        self._page, self._rows = self._following()

    def _following(self) -> tuple[int | None, list[Sequence[Cell]]]:
        page, rows = next(self._groups, (None, iter(())))
        return page, list(rows)

    def strays(self, page: int | None) -> Iterator[tuple[int, int]]:
        """(page, rows) of pages before `page` (None: of all the rest) that do not exist."""
        while self._page is not None and (page is None or self._page < page):
            yield self._page, len(self._rows)
            self._page, self._rows = self._following()

    def of(self, page: int) -> list[Sequence[Cell]]:
        """The rows of a page; ask for the strays before it first."""
        if self._page != page:
            return []
        rows = self._rows
        self._page, self._rows = self._following()
        return rows


class _Walk:
    """One pass over all pages of all seats."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        query = "SELECT name FROM sqlite_master WHERE type = 'table'"
        there = {name for (name,) in connection.execute(query)}
        # A book of an older version has not all of them; one that lacks its own is told as such.
        self._streams = [_Stream(connection, table) for table in ROW_TABLES if table in there]
        self._seats: dict[int, tuple[Any, ...]] = {
            row[0]: row for row in connection.execute("SELECT * FROM seat")
        }
        self._book = connection.execute("SELECT * FROM book").fetchone()
        self._last: dict[int, _Page] = {}
        self.pages = 0
        self.rows = 0

    def faults(self, progress: Progress | None) -> Iterator[SealFault]:
        """Everything that is not as written, page by page."""
        total = self._connection.execute("SELECT count(*) FROM page").fetchone()[0]
        for row in self._connection.execute("SELECT * FROM page ORDER BY id"):
            page = _Page(*row)
            yield from self._strays(page.id)
            yield from self._of(page)
            self._last[page.seat] = page
            self.pages += 1
            if progress is not None and self.pages % STEP == 0:
                progress(self.pages, total)
        yield from self._strays(None)

    def last_seals(self) -> Iterator[tuple[str, str]]:
        """Name of each seat with pages, and the seal of its last."""
        for seat, page in self._last.items():
            yield str(self._seats[seat][1]) if seat in self._seats else str(seat), page.seal

    def _strays(self, page: int | None) -> Iterator[SealFault]:
        for stream in self._streams:
            for missing, count in stream.strays(page):
                what = f"{count} rows of {stream.table} belong to page {page_name(missing)}, "
                yield SealFault(None, None, None, f"{what}which is missing.")

    def _of(self, page: _Page) -> Iterator[SealFault]:
        rows = [(s.table, *trimmed(row)) for s in self._streams for row in s.of(page.id)]
        self.rows += len(rows)
        before = self._last.get(page.seat)
        expected = (page.seat << SEAT_SHIFT) + 1 if before is None else before.id + 1
        if page.id != expected:
            yield page.fault(f"the page before it, {page_name(page.id - 1)}, is missing.")
        elif page.previous_seal != self._link(page.seat, before):
            yield page.fault(_broken_link(before))
        if page.row_count != len(rows):
            yield page.fault(f"it was written with {page.row_count} rows and has {len(rows)} now.")
        elif _seal([page.head(), *rows]) != page.seal:
            yield page.fault("what it holds is not what was written.")

    def _link(self, seat: int, before: _Page | None) -> str:
        """What the next page of a seat must name as the seal before it."""
        if before is not None:
            return before.seal
        known = self._seats.get(seat)
        return "" if known is None or self._book is None else first_link(self._book, known)


def _broken_link(before: _Page | None) -> str:
    if before is None:
        return "the head of the book or the name of its seat is not what was written."
    return f"it does not follow page {page_name(before.id)} as that now stands."


def _seal(rows: Sequence[Sequence[Cell]]) -> str:
    try:
        return seal_of(canonical(rows))
    except (TypeError, UnicodeEncodeError):
        return ""  # a cell of a kind that we never write


def _structure(connection: sqlite3.Connection, thorough: bool) -> Iterator[SealFault]:  # noqa: FBT001
    for fault in schema_faults(connection):
        what = f"The rules that keep the book append-only were tampered with: {fault}."
        yield SealFault(None, None, None, what)
    if tuple(connection.execute("SELECT * FROM judgement ORDER BY code")) != JUDGEMENTS:
        yield SealFault(None, None, None, "The words for judgements are not those of this program.")
    if thorough:
        found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
        if found != "ok":
            yield SealFault(None, None, None, f"The file is damaged: {found}.")


# The index is no fact and has no seal: it must say what the sealed tables say, no less, no more.
_TEXTS = "SELECT kind, row, at, page, text FROM"
_ASTRAY = (
    f"SELECT count(*) FROM ({_TEXTS} words EXCEPT {_TEXTS} v_text)",
    f"SELECT count(*) FROM ({_TEXTS} v_text EXCEPT {_TEXTS} words)",
    "SELECT max(0, (SELECT count(*) FROM words) - (SELECT count(*) FROM v_text))",
)


def _search_index(connection: sqlite3.Connection) -> Iterator[SealFault]:
    astray = sum(connection.execute(query).fetchone()[0] for query in _ASTRAY)
    if astray:
        what = (
            f"The search index differs from the book in {astray} texts, so that searches may "
            "miss or invent some; what is written is not touched by that."
        )
        yield SealFault(None, None, None, what)


def _unknown(connection: sqlite3.Connection, known_seals: Iterable[str]) -> Iterator[SealFault]:
    query = "SELECT 1 FROM page WHERE substr(seal, 1, ?) = ?"
    for given in known_seals:
        seal = "".join(given.split()).lower()
        found = None
        if len(seal) >= SHORTEST_SEAL:
            found = connection.execute(query, (len(seal), seal)).fetchone()
        if found is None:
            what = (
                f"No page has the seal {given}: pages were cut off at the end, the file was put "
                "back to an older state, or the seal was copied wrongly."
            )
            yield SealFault(None, None, None, what)


def _capped(faults: Sequence[SealFault]) -> tuple[SealFault, ...]:
    if len(faults) <= MOST_FAULTS:
        return tuple(faults)
    more = SealFault(None, None, None, f"There are {len(faults) - MOST_FAULTS} more faults.")
    return (*faults[:MOST_FAULTS], more)
