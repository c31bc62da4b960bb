"""A lock between processes: an advisory lock of the operating system on a file beside the book.

The system gives it back by itself when a process dies, however it dies. A lock library would do
the same, but takes longer to load than all of the record package.
"""

from __future__ import annotations

import os
import sys
import time
from pathlib import Path
from typing import Self

POLL_SECONDS = 0.02


class LockTimeoutError(Exception):
    """Another process, or another lock of this one, held the lock for too long."""


class FileLock:
    """Held by one object at a time, in whatever process; may be taken again while held."""

    def __init__(self, path: Path, timeout: float) -> None:
        self._path = path
        self._timeout = timeout
        self._file = -1
        self._depth = 0

    def __enter__(self) -> Self:
        self.acquire()
        return self

    def __exit__(self, *_: object) -> None:
        self.release()

    def acquire(self) -> None:
        """Wait for the lock. Raises LockTimeoutError, and OSError where the file cannot be made."""
        if self._depth == 0:
            self._file = self._wait()
        self._depth += 1

    def release(self) -> None:
        """Give the lock back, once for each `acquire`."""
        self._depth -= 1
        if self._depth == 0:
            file, self._file = self._file, -1
            try:
                _unlock(file)
            finally:
                os.close(file)

    def _wait(self) -> int:
        file = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            taken = _poll(file, time.monotonic() + self._timeout)
        except BaseException:
            os.close(file)
            raise
        if taken:
            return file
        os.close(file)
        raise LockTimeoutError


def _poll(file: int, until: float) -> bool:
    """Try until it is ours or the time is up."""
    while not _try_lock(file):
        if time.monotonic() >= until:
            return False
        time.sleep(POLL_SECONDS)
    return True


if sys.platform == "win32":
    import msvcrt

    def _try_lock(file: int) -> bool:
        try:
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlock(file: int) -> None:
        os.lseek(file, 0, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _try_lock(file: int) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True

    def _unlock(file: int) -> None:
        fcntl.flock(file, fcntl.LOCK_UN)
