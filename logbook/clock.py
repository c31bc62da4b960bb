"""The clock of the program. Everything below the window and the command line is given one."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

Clock = Callable[[], datetime]

SAMPLE_MARK = "sample plant"
"""How a book made by the simulator says so in `made_with`."""


def utc_now() -> datetime:
    """Now, aware, in UTC."""
    return datetime.now(UTC)


def clock_for(path: Path) -> Clock:
    """Find the clock for a book.

    It is the real one, but for the sample plant's book one that starts where its story ends, so
    that its last shifts are always the ones just worked.
    Raises BookError where the file cannot be opened as a book.
    """
    from logbook.record import open_book

    with open_book(path, clock=utc_now, writable=False) as book:
        if not book.made_with.startswith(SAMPLE_MARK):
            return utc_now
        end = book.last_page().written_at
    started = time.monotonic()

    def story_clock() -> datetime:
        return end + timedelta(seconds=time.monotonic() - started)

    return story_clock
