"""A copy of the book as it was, before it is brought to a newer schema."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from logbook.record import errors


def keep_copy(connection: sqlite3.Connection, path: Path, version: int) -> Path:
    """Copy the open book to `<book>.before-v<version>` beside it, and return where it is.

    A copy that is there already, of an earlier try, is kept: the new one gets a number. Call it
    under the book's lock. The copy has its name only when it is complete; it is a whole book that
    the older program opens. Raises DiskFull and other `BookError`s: then the book is as it was.
    """
    target = _free(path.with_name(f"{path.name}.before-v{version}"))
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        with errors.translated(part), closing(sqlite3.connect(part)) as copy:
            connection.backup(copy)
        part.replace(target)
    except BaseException as error:
        _remove(part)
        if isinstance(error, OSError):
            raise errors.os_error(error, path) from error
        raise
    return target


def _free(wanted: Path) -> Path:
    """`wanted`, or where that is taken the same name with the next number."""
    number, name = 1, wanted
    while name.exists():
        number += 1
        name = wanted.with_name(f"{wanted.name}-{number}")
    return name


def _remove(part: Path) -> None:
    for suffix in ("", "-journal", "-wal", "-shm"):
        part.with_name(part.name + suffix).unlink(missing_ok=True)
