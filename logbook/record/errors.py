"""What can go wrong with a book, each kind in one sentence that says what to do.

No `sqlite3` exception leaves `logbook.record`: `translated` turns every one of them into
a `BookError`. The kinds describe the world outside (a full disk, a locked file), not bugs.
"""

# ruff: noqa: N818 -- named for the situation, as callers speak of it; all are BookErrors

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class BookError(Exception):
    """Something is wrong with a book; the message says what and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class BookMissing(BookError):
    """There is no file where the book should be."""


class BookExists(BookError):
    """A new book would overwrite a file that is already there."""


class NotABook(BookError):
    """The file is something else."""


class NewerBook(BookError):
    """The book was written by a newer version of the program."""


class BookBusy(BookError):
    """Another program holds the book for longer than we wait."""


class BookReadOnly(BookError):
    """The book can be read but not written."""


class FolderNotWritable(BookError):
    """The folder refuses the files that must stand beside the book while it is written."""


class NetworkFolder(BookError):
    """The book lies on a network share, where file locks cannot be relied on."""


class BookDamaged(BookError):
    """The file is a book, but parts of it cannot be read."""


class DiskFull(BookError):
    """The disk would not take the save."""


class WriteRefused(BookError):
    """What was to be written breaks a rule of the book; nothing of it was written."""


FULL_CODES = frozenset(
    {sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_FSYNC}
    | {sqlite3.SQLITE_IOERR_TRUNCATE, sqlite3.SQLITE_IOERR_SHMSIZE}
)
"""Extended result codes of a disk that is full, at its limit, or no longer takes writes."""


def book_error(error: sqlite3.Error, path: Path) -> BookError:
    """The `BookError` that says in words what `error` means for the book at `path`."""
    extended = getattr(error, "sqlite_errorcode", None)
    name = path.name
    if extended in FULL_CODES:
        return DiskFull(
            f"The disk would not take the save to {name}: it is full or at its size limit. "
            "Nothing of this save was kept in the book; free some space and save again."
        )
    primary = extended & 0xFF if extended is not None else None
    if primary in {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}:
        return busy(path)
    if primary == sqlite3.SQLITE_READONLY:
        return read_only(path)
    if primary == sqlite3.SQLITE_CANTOPEN:
        return cannot_open(path)
    if primary == sqlite3.SQLITE_NOTADB:
        return not_a_book(path)
    if primary in {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_IOERR}:
        return damaged(path, str(error))
    if primary == sqlite3.SQLITE_CONSTRAINT:
        return WriteRefused(f"The book refused the row: {error}. Nothing of this save was written.")
    return BookError(f"The book {name} could not be used ({error}); close it and open it again.")


def busy(path: Path) -> BookBusy:
    """Another program holds the lock."""
    return BookBusy(
        f"Another program is writing to {path.name} and has not finished; "
        "wait a moment and try again, or close the other program."
    )


def read_only(path: Path) -> BookReadOnly:
    """The file may not be written."""
    return BookReadOnly(
        f"The book {path} may only be read here; ask for the right to write the file, "
        "or open it for reading."
    )


def folder_not_writable(path: Path) -> FolderNotWritable:
    """The folder may not be written."""
    return FolderNotWritable(
        f"The folder {path.parent} cannot be written, and the book needs to keep files beside "
        "itself; ask for the right to write in the folder, or move the book to another one."
    )


def cannot_open(path: Path) -> BookError:
    """The file or its companions cannot be opened."""
    return BookReadOnly(
        f"The book {path} cannot be opened: you may not have the right to read it, or its folder "
        "may not be written; ask for these rights, or copy the book to a folder of your own."
    )


def damaged(path: Path, detail: str) -> BookDamaged:
    """The file cannot be read whole."""
    return BookDamaged(
        f"The book {path} is damaged or the disk cannot be read ({detail}); keep the file as it "
        "is, and go on with the latest backup."
    )


def not_a_book(path: Path) -> NotABook:
    """The file is something else."""
    return NotABook(f"{path} is not a logbook; choose a file that this program has made.")


def os_error(error: OSError, path: Path) -> BookError:
    """The `BookError` for a failed file operation beside the book."""
    if error.errno in {errno.ENOSPC, errno.EFBIG, errno.EDQUOT}:
        return DiskFull(f"The disk of {path.parent} is full; free some space and try again.")
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return folder_not_writable(path)
    if error.errno in {errno.ENOENT, errno.ENOTDIR}:
        return BookMissing(f"The folder {path.parent} does not exist; choose another one.")
    return BookError(f"{path} cannot be used: {error.strerror}; choose another place.")


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn every SQLite and text-encoding error inside into a `BookError` about `path`."""
    try:
        yield
    except sqlite3.Error as error:
        raise book_error(error, path) from error
    except UnicodeEncodeError as error:
        msg = "A text holds characters that cannot be stored; type it again without them."
        raise WriteRefused(msg) from error
