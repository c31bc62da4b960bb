"""Writing a PDF to a file: the whole of it or nothing."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from pathlib import Path

from logbook.report.errors import ReportError


def check_place(path: Path) -> None:
    """Say at once what is wrong with a file's name, before a PDF is made. Raises ReportError."""
    if path.is_dir():
        raise ReportError(f"{path} is a folder; name a file in it.")
    if not path.parent.is_dir():
        raise ReportError(f"The folder {path.parent} does not exist; make it, or name another.")


def write_pdf(path: Path, pdf: bytes) -> None:
    """Put `pdf` in the place of `path` at once; what was there stays where that fails.

    Raises ReportError.
    """
    check_place(path)
    try:
        number, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".part")
    except OSError as error:
        raise _told(path, error) from error
    try:
        with os.fdopen(number, "wb") as file:
            file.write(pdf)
            file.flush()
            os.fsync(file.fileno())
        _as_others(name)
        Path(name).replace(path)
    except OSError as error:
        with contextlib.suppress(OSError):
            Path(name).unlink()
        raise _told(path, error) from error


def _as_others(name: str) -> None:
    """A temporary file is private; the finished one may be read like any other."""
    mask = os.umask(0)
    os.umask(mask)
    Path(name).chmod(0o666 & ~mask)


def _told(path: Path, error: OSError) -> ReportError:
    if error.errno in {errno.ENOSPC, getattr(errno, "EDQUOT", errno.ENOSPC), errno.EFBIG}:
        return ReportError(f"The disk is full: {path} was not written; free space and try again.")
    if error.errno in {errno.EACCES, errno.EPERM, errno.EROFS}:
        return ReportError(f"{path} cannot be written there; close it elsewhere or name another.")
    return ReportError(f"{path} was not written: {error.strerror or error}; try again.")
