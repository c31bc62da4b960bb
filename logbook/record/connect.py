"""Opening the SQLite file: one set of pragmas, one lock for all who write.

**Why WAL is safe here.** SQLite 3.7.0 to 3.51.2 can damage a book in WAL mode when one connection
runs a checkpoint while another one commits a transaction that starts the WAL file anew ("WAL-reset
bug", sqlite.org/wal.html, section 11). Whichever SQLite the computer has, that cannot happen
between our connections:

* whoever writes, checkpoints, migrates or closes a writing connection holds the lock of a file
  beside the book (`<book>.lock`, an operating-system lock that ends with the process);
* `wal_autocheckpoint` is 0, so no commit checkpoints by itself; checkpoints are explicit, under
  the lock;
* everybody else opens the book with `mode=ro`. Such a connection can neither commit nor
  checkpoint, not even when it is the last one to close.

A foreign program that writes into the book does not take this lock; SQLite's own locks still
hold it apart from us, less that bug.

**Descriptors.** On POSIX systems a process loses all its locks on a file when it closes *any*
descriptor of that file. The book is therefore never opened but through SQLite.
"""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from logbook.record import errors
from logbook.record.errors import BookMissing, NewerBook, NotABook, translated
from logbook.record.lock import FileLock, LockTimeoutError
from logbook.record.migrations import APPLICATION_ID, SCHEMA_VERSION, schema_faults, version_of
from logbook.record.network import refuse_network

BUSY_SECONDS = 10.0
"""How long a save waits for another program that is writing."""

CHECKPOINT_BYTES = 8 * 1024 * 1024
"""The WAL file is folded into the book when a save has left it longer than this."""

CACHE_KIB = 65536


class BookLock:
    """The right to write: held by one process and one connection at a time."""

    def __init__(self, path: Path, seconds: float) -> None:
        self._path = path
        self._lock = FileLock(path.with_name(path.name + ".lock"), seconds)

    @contextmanager
    def held(self) -> Iterator[None]:
        """Hold the lock inside the block. Raises BookBusy, FolderNotWritable, BookMissing."""
        if not self._path.parent.is_dir():  # the lock would make the folder
            raise BookMissing(f"The folder {self._path.parent} does not exist; choose another one.")
        try:
            self._lock.acquire()
        except LockTimeoutError:
            raise errors.busy(self._path) from None
        except OSError as error:
            raise errors.os_error(error, self._path) from error
        try:
            yield
        finally:
            self._lock.release()


def connect_writer(path: Path, seconds: float, mode: str = "rw") -> sqlite3.Connection:
    """A connection that may write; call it, use it for writing and close it under the lock.

    `mode` "rwc" makes the file; with "rw" a book that has gone is an error, not a new book.
    """
    connection = sqlite3.connect(_uri(path, mode), uri=True, timeout=seconds, isolation_level=None)
    try:
        _set_pragmas(connection)
        connection.execute("PRAGMA wal_autocheckpoint = 0")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute(f"PRAGMA cache_size = -{CACHE_KIB}")
        _require(connection, "journal_mode = WAL", "wal")
        _require(connection, "synchronous", 2)
        _require(connection, "foreign_keys", 1)
    except BaseException:
        connection.close()
        raise
    return connection


def connect_reader(path: Path, seconds: float) -> sqlite3.Connection:
    """A connection that cannot write.

    A book in WAL mode needs two files beside it even to be read. Where the folder does not take
    them and there is no WAL file, nobody can be writing, and the book is opened as immutable.
    """
    try:
        return _opened(_uri(path, "ro"), seconds)
    except sqlite3.OperationalError as error:
        refused = error.sqlite_errorcode & 0xFF in {
            sqlite3.SQLITE_CANTOPEN,
            sqlite3.SQLITE_READONLY,
        }
        if not refused or wal_size(path) > 0:
            raise
        return _opened(_uri(path, "ro&immutable=1"), seconds)


def _opened(uri: str, seconds: float) -> sqlite3.Connection:
    connection = sqlite3.connect(uri, uri=True, timeout=seconds, isolation_level=None)
    try:
        _set_pragmas(connection)
        connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except BaseException:
        connection.close()
        raise
    return connection


def _set_pragmas(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA mmap_size = 0")


def _require(connection: sqlite3.Connection, pragma: str, wanted: str | int) -> None:
    """Read a pragma back: SQLite ignores what it cannot do without a word."""
    found = connection.execute(f"PRAGMA {pragma}").fetchone()
    if found is None or found[0] != wanted:
        msg = f"PRAGMA {pragma} gave {found}, wanted {wanted}"
        raise sqlite3.OperationalError(msg)


def _uri(path: Path, mode: str) -> str:
    return f"{path.absolute().as_uri()}?mode={mode}"


def wal_size(path: Path) -> int:
    """Bytes in the WAL file, 0 where there is none."""
    try:
        return path.with_name(path.name + "-wal").stat().st_size
    except OSError:
        return 0


def checkpoint(connection: sqlite3.Connection, path: Path, known: int) -> int:
    """Fold a WAL file that has grown long into the book; only under the lock.

    SQLite begins a folded-in WAL anew but keeps its length, so that later saves overwrite it,
    which is quicker than growing it. `known` is the length it had when last folded in: only when
    it has outgrown that is it full again. Gives back the length to pass the next time.

    PASSIVE waits for nobody: what readers still need stays in the WAL. A WAL file four times too
    long is cut off as well, where no reader is in the way.
    """
    size = wal_size(path)
    if size <= max(CHECKPOINT_BYTES, known):
        return min(size, known)
    if size <= 4 * CHECKPOINT_BYTES:
        connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchall()
        return size
    waiting = connection.execute("PRAGMA busy_timeout").fetchone()[0]
    connection.execute("PRAGMA busy_timeout = 0")
    connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()
    connection.execute(f"PRAGMA busy_timeout = {waiting}")
    return wal_size(path)


def require_file(path: Path, mounts: str | None = None) -> None:
    """Refuse what is no file, an empty one, or one on a network share, before it is opened."""
    refuse_network(path, mounts)
    try:
        size = path.stat().st_size
    except FileNotFoundError:
        raise BookMissing(_missing(path)) from None
    except OSError as error:
        raise errors.os_error(error, path) from error
    if not path.is_file():
        raise errors.not_a_book(path)
    if size == 0:
        msg = (
            f"{path} is empty (0 bytes), so it is not a logbook; a copy may have been cut off: "
            "fetch it again, or go back to the latest backup."
        )
        raise NotABook(msg)


def file_identity(path: Path) -> tuple[int, int]:
    """What tells this file from another that is put in its place."""
    found = path.stat()
    return found.st_dev, found.st_ino


def require_same_file(path: Path, known: tuple[int, int]) -> None:
    """Refuse to write where the open book was moved, removed or replaced.

    On POSIX systems such a file can still be written, and all of it would be lost at closing.
    """
    try:
        if file_identity(path) == known:
            return
    except OSError:
        pass
    msg = (
        f"The book {path} was moved, removed or replaced while it was open, so nothing was saved; "
        "put it back and open it again, what you have typed is still on the screen."
    )
    raise BookMissing(msg)


def _missing(path: Path) -> str:
    return (
        f"There is no book at {path}; it may have been moved or renamed, or its disk is not "
        "connected. Choose the book again; no new one was made in its place."
    )


def require_book(path: Path, connection: sqlite3.Connection) -> int:
    """Refuse what is not a whole book of a version that we know; return its version."""
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if mark != APPLICATION_ID:
        raise errors.not_a_book(path)
    version = version_of(connection)
    if version > SCHEMA_VERSION:
        msg = (
            f"The book {path.name} was written by a newer version of this program (book version "
            f"{version}, this program knows {SCHEMA_VERSION}); install the newer version."
        )
        raise NewerBook(msg)
    _require_whole(path, connection)
    return version


def _require_whole(path: Path, connection: sqlite3.Connection) -> None:
    """Refuse a file shorter than its own page count says."""
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    size = connection.execute("PRAGMA page_size").fetchone()[0]
    there = path.stat().st_size
    if wal_size(path) == 0 and there < pages * size:
        raise errors.damaged(path, f"{there} of {pages * size} bytes are there")


def require_guards(path: Path, connection: sqlite3.Connection) -> None:
    """Refuse to write into a book whose tables or guards are not ours any more."""
    faults = schema_faults(connection)
    if faults:
        more = f" and {len(faults) - 1} more" if len(faults) > 1 else ""
        raise errors.damaged(path, f"{faults[0]}{more}; its rules may have been tampered with")


def require_writable(path: Path) -> None:
    """Raise BookReadOnly or FolderNotWritable before SQLite puts it less clearly."""
    if not os.access(path, os.W_OK):
        raise errors.read_only(path)
    if not os.access(path.parent, os.W_OK):
        raise errors.folder_not_writable(path)


def peek(path: Path, seconds: float) -> int:
    """Check that `path` is a book that we can read, and return its version."""
    with translated(path), closing(connect_reader(path, seconds)) as connection:
        return require_book(path, connection)
