"""The book: making one, opening one, and saving into it."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from logbook import __version__
from logbook.plant.model import Plant
from logbook.record import drafts, errors
from logbook.record.before import keep_copy
from logbook.record.connect import (
    BUSY_SECONDS,
    BookLock,
    checkpoint,
    connect_reader,
    connect_writer,
    file_identity,
    peek,
    require_book,
    require_file,
    require_guards,
    require_same_file,
    require_writable,
)
from logbook.record.definitions import require_in_force, revision
from logbook.record.errors import BookError, BookExists, BookReadOnly, translated
from logbook.record.instants import Clock, from_seconds, seconds
from logbook.record.migrations import SCHEMA_VERSION, migrate
from logbook.record.network import refuse_network
from logbook.record.read import Reader
from logbook.record.rows import Draft, DraftField, DraftHead, NewRow, Page, SavedPage
from logbook.record.schema_v2 import FILL_WORDS

if TYPE_CHECKING:
    from logbook.record.write import PageWriter

DEFAULT_SEAT = "Control room"
"""Name of the seat where none is given."""

CHUNK = 200
"""Pages per transaction of `write_many`."""

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Written:
    """What `write_many` has put into the book."""

    pages: int
    rows: int
    last: SavedPage | None


class Book(Reader):
    """An open book. It belongs to the thread that opened it; other threads ask `reader()`."""

    def __init__(
        self,
        path: Path,
        *,
        clock: Clock,
        lock: BookLock,
        writer: sqlite3.Connection | None,
        seat: int,
        busy_seconds: float,
    ) -> None:
        self._clock = clock
        self._lock = lock
        self._writer = writer
        self._busy_seconds = busy_seconds
        self._pages: PageWriter | None = None
        self._seen_version = -1
        self._wal_size = 0
        self._is_closed = False
        self._file = file_identity(path)
        self.writable = writer is not None
        self.seat = seat
        super().__init__(path, connect_reader(path, busy_seconds))
        head = self._reading.execute(
            "SELECT uuid, created_at, plant_key, time_zone, made_with FROM book"
        )
        self.uuid, created, self.plant_key, self.time_zone, self.made_with = head.fetchone()
        self.created_at = from_seconds(created)

    def now(self) -> datetime:
        """The instant that the book's clock shows."""
        return self._clock()

    def use_clock(self, clock: Clock) -> None:
        """Go on by another clock; what is written from now on bears its time."""
        self._clock = clock

    def reader(self) -> Reader:
        """A reader with a connection of its own; call it in the thread that will use it."""
        with translated(self.path):
            return Reader(self.path, connect_reader(self.path, self._busy_seconds))

    def beside(self, at: datetime) -> Book:
        """The same book to be read only, as of an instant; call it in the thread that will use it.

        Its clock stands still at `at`, so that all that is read together is of one moment.
        """
        return Book(
            self.path,
            clock=lambda: at,
            lock=self._lock,
            writer=None,
            seat=self.seat,
            busy_seconds=self._busy_seconds,
        )

    def close(self) -> None:
        """Let go of the file. The last writer to close folds the WAL file into the book."""
        writer, self._writer, self._is_closed = self._writer, None, True
        if writer is None:
            super().close()
            return
        try:
            with self._lock.held():
                super().close()
                with suppress(sqlite3.Error):  # all is in the WAL file; the next opening reads it
                    writer.close()
        except BookError:
            # Somebody else holds the lock. While our reader is open the writer is not the last
            # connection, so closing it does not checkpoint.
            writer.close()
            super().close()

    # ---------------------------------------------------------------- saving

    def write(
        self,
        person: str,
        rows: Sequence[NewRow],
        *,
        kind: str = "round",
        note: str = "",
        drop_draft: datetime | None = None,
        guard: Callable[[], None] | None = None,
    ) -> SavedPage:
        """Save `rows` as one page, durably, and drop the draft of the round `drop_draft`.

        `guard` is asked when nobody else can write any more; what it raises refuses the save. So
        a rule that leans on what is in the book (a shift is not signed) holds to the very end.
        Returns after the disk has it. Raises WriteRefused, DiskFull, BookBusy and their like;
        then nothing of it is in the book and the draft is still there.
        """
        page = Page(person, tuple(rows), kind, note)
        with self._transaction() as connection:
            if guard is not None:
                guard()
            saved = self._page_writer(connection).put(page, self._clock())
            if drop_draft is not None:
                drafts.drop(connection, self.seat, drop_draft)
        return saved

    def write_many(self, pages: Iterable[Page], *, chunk: int = CHUNK) -> Written:
        """Save many pages with one commit per `chunk` of them, for imports and simulations.

        The clock is asked once per page, right after the page was taken from `pages`. When a
        page is refused, its whole chunk is left out and the chunks before it stay.
        """
        source = iter(pages)
        count, rows, last = 0, 0, None
        while batch := [(page, self._clock()) for page in islice(source, chunk)]:
            with self._transaction() as connection:
                writer = self._page_writer(connection)
                for page, at in batch:
                    last = writer.put(page, at)
                    rows += len(last.ids)
            count += len(batch)
        return Written(count, rows, last)

    def revise(
        self, person: str, plant: Plant, *, effective_from: datetime, reason: str
    ) -> SavedPage | None:
        """Make `plant` hold from an instant on, writing only what differs; None if nothing does."""
        with self._transaction() as connection:
            rows = revision(connection, plant, effective_from, reason)
            if not rows:
                return None
            page = Page(person, rows, "definition", reason)
            saved = self._page_writer(connection).put(page, self._clock())
            self._pages = None  # the grace time may be another from now on
            require_in_force(connection, plant, effective_from)
            return saved

    def renew_search(self) -> None:
        """Make the search index anew from what is written, where `verify` finds it astray."""
        with self._transaction() as connection:
            connection.execute("DELETE FROM words")
            connection.execute(FILL_WORDS)

    # ---------------------------------------------------------------- drafts

    def keep_draft(self, head: DraftHead, fields: Iterable[DraftField] = ()) -> None:
        """Keep the head and the given fields of a half-typed round; other fields stay.

        A field without any text is forgotten. Durable when it returns.
        """
        with self._transaction() as connection:
            drafts.keep(connection, self.seat, head, fields, self._clock())

    def load_draft(self, round_at: datetime) -> Draft | None:
        """The half-typed round of this seat, None where there is none."""
        with translated(self.path):
            return drafts.load(self._reading, self.seat, round_at)

    def drafts(self) -> list[DraftHead]:
        """All half-typed rounds of this seat, the oldest first."""
        with translated(self.path):
            return drafts.heads(self._reading, self.seat)

    def drop_draft(self, round_at: datetime) -> None:
        """Forget a half-typed round."""
        with self._transaction() as connection:
            drafts.drop(connection, self.seat, round_at)

    # ---------------------------------------------------------------- transactions

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        """One durable transaction under the book's lock; all or nothing."""
        if self._is_closed:
            msg = f"The book {self.path.name} is closed, so nothing was saved; open it again."
            raise BookError(msg)
        if not self.writable:
            raise errors.read_only(self.path)
        with self._lock.held(), translated(self.path):
            require_same_file(self.path, self._file)
            connection = self._connected()
            try:
                connection.execute("BEGIN IMMEDIATE")
                yield connection
                connection.execute("COMMIT")
            except BaseException as error:
                self._undo(connection, error)
                raise
            # The save is durable by now. A checkpoint that fails loses nothing: what it did not
            # copy stays in the WAL file, and the next save tries again.
            with suppress(sqlite3.Error):
                self._wal_size = checkpoint(connection, self.path, self._wal_size)

    def _page_writer(self, connection: sqlite3.Connection) -> PageWriter:
        """The writer of the last save with all it remembers, where nobody else wrote since.

        `data_version` changes when another connection has changed the file.
        """
        version = connection.execute("PRAGMA data_version").fetchone()[0]
        if self._pages is None or version != self._seen_version:
            from logbook.record.write import PageWriter  # not before something is written

            self._pages = PageWriter(connection, self.seat)
        self._seen_version = version
        return self._pages

    def _connected(self) -> sqlite3.Connection:
        if self._writer is None:
            self._writer = connect_writer(self.path, self._busy_seconds)
        return self._writer

    def _undo(self, connection: sqlite3.Connection, error: BaseException) -> None:
        """Roll back; after an error of the file itself, go on with a fresh connection.

        After a failed write or sync the operating system may have dropped what it could not
        write, so nothing the old connection remembers is trusted.
        """
        self._pages = None
        with suppress(sqlite3.Error):
            if connection.in_transaction:
                connection.execute("ROLLBACK")
        if isinstance(error, sqlite3.OperationalError):
            self._writer = None
            with suppress(sqlite3.Error):
                connection.close()


def create_book(
    path: Path,
    plant: Plant,
    *,
    clock: Clock,
    person: str,
    reason: str,
    seat_name: str = DEFAULT_SEAT,
    effective_from: datetime | None = None,
    made_with: str = f"logbook {__version__}",
    uuid: str | None = None,
    busy_seconds: float = BUSY_SECONDS,
) -> Book:
    """Make a book for `plant` and open it.

    The plant holds from `effective_from` on (now, where it is not given); give an earlier
    instant where older readings will be imported, so that they are judged. `uuid` names the book
    (random, where it is not given: give it to make the same seals again). The file appears under
    its name only when it is complete. Raises BookExists and other `BookError`s.
    """
    refuse_network(path)
    lock = BookLock(path, busy_seconds)
    with lock.held():
        if path.exists():
            msg = f"There is already a file {path}; choose another name, or open that book."
            raise BookExists(msg)
        draft = path.with_name(path.name + ".new")
        _remove(draft)
        try:
            with translated(path):
                head = (uuid or _new_uuid(), made_with)
                _fill(draft, plant, clock(), person, reason, seat_name, effective_from, head)
            _publish(draft, path)
        except BaseException:
            _remove(draft)
            raise
    return open_book(path, clock=clock, seat_name=seat_name, busy_seconds=busy_seconds)


def _fill(
    path: Path,
    plant: Plant,
    now: datetime,
    person: str,
    reason: str,
    seat_name: str,
    effective_from: datetime | None,
    name_and_maker: tuple[str, str],
) -> None:
    with closing(connect_writer(path, BUSY_SECONDS, "rwc")) as connection:
        migrate(connection)
        connection.execute("BEGIN IMMEDIATE")
        uuid, made_with = name_and_maker
        head = (uuid, seconds(now), plant.key, plant.time_zone, made_with)
        connection.execute("INSERT INTO book VALUES (1, ?, ?, ?, ?, ?)", head)
        seat = _seat(connection, seat_name, now)
        rows = revision(connection, plant, effective_from or now, reason)
        from logbook.record.write import PageWriter

        PageWriter(connection, seat).put(Page(person, rows, "definition", reason), now)
        connection.execute("COMMIT")


def _publish(draft: Path, path: Path) -> None:
    """Give the finished file its name, and make the name as durable as the file."""
    try:
        draft.replace(path)
        if os.name == "posix":
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    except OSError as error:
        raise errors.os_error(error, path) from error


def _new_uuid() -> str:
    from uuid import uuid4  # only a new book needs it

    return str(uuid4())


def _remove(path: Path) -> None:
    """Remove a half-made book and what SQLite has put beside it."""
    for suffix in ("", "-wal", "-shm", "-journal"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)


def open_book(
    path: Path,
    *,
    clock: Clock,
    writable: bool = True,
    seat_name: str = DEFAULT_SEAT,
    busy_seconds: float = BUSY_SECONDS,
    mounts: str | None = None,
) -> Book:
    """Open the book at `path`, brought up to the present schema where that is needed.

    Of a book of an older version a copy is kept first, beside it: `<book>.before-v2`.
    A seat that the book does not know yet is entered in it. With `writable` False nothing is
    changed, and a book on a read-only medium can be read. `mounts` stands in for /proc/mounts.
    Raises BookMissing, NotABook, NewerBook, BookDamaged, BookBusy, BookReadOnly,
    FolderNotWritable or NetworkFolder, each with one sentence for the user.
    """
    require_file(path, mounts)
    lock = BookLock(path, busy_seconds)
    if not writable:
        return _open_to_read(path, clock, lock, busy_seconds)
    require_writable(path)
    with lock.held():
        peek(path, busy_seconds)
        with translated(path):
            return _open_to_write(path, clock, lock, seat_name, busy_seconds)


def _open_to_read(path: Path, clock: Clock, lock: BookLock, busy_seconds: float) -> Book:
    version = peek(path, busy_seconds)
    if version < SCHEMA_VERSION:
        msg = (
            f"The book {path.name} is of an older version ({version}); open it once for writing, "
            "so that it is brought up to date."
        )
        raise BookReadOnly(msg)
    with translated(path):
        return Book(path, clock=clock, lock=lock, writer=None, seat=0, busy_seconds=busy_seconds)


def _open_to_write(
    path: Path, clock: Clock, lock: BookLock, seat_name: str, busy_seconds: float
) -> Book:
    writer = connect_writer(path, busy_seconds)
    try:
        version = require_book(path, writer)
        if version < SCHEMA_VERSION:
            keep_copy(writer, path, version + 1)
            migrate(writer)
        require_guards(path, writer)
        writer.execute("BEGIN IMMEDIATE")
        seat = _seat(writer, seat_name, clock())
        writer.execute("COMMIT")
        return Book(
            path, clock=clock, lock=lock, writer=writer, seat=seat, busy_seconds=busy_seconds
        )
    except BaseException:
        writer.close()
        raise


def _seat(connection: sqlite3.Connection, name: str, now: datetime) -> int:
    """Number of the seat of this name, entered in the book where it is new."""
    row = connection.execute("SELECT id FROM seat WHERE name = ?", (name,)).fetchone()
    if row is not None:
        return int(row[0])
    number = connection.execute("SELECT coalesce(max(id), 0) + 1 FROM seat").fetchone()[0]
    connection.execute("INSERT INTO seat VALUES (?, ?, ?)", (number, name, seconds(now)))
    return int(number)
