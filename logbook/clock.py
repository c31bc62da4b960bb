"""The clock of the program. Everything below the window and the command line is given one."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logbook.record import Book

Clock = Callable[[], datetime]

SAMPLE_MARK = "sample plant"
"""How a book made by the simulator says so in `made_with`."""


def utc_now() -> datetime:
    """Now, aware, in UTC."""
    return datetime.now(UTC)


def open_by_its_clock(path: Path, *, writable: bool = True) -> Book:
    """Open a book with the clock that belongs to it.

    It is the real one, but for the sample plant's book one that starts where its story ends: a
    few minutes into the first round not yet written, so that there is always one to write.
    Raises BookError where the file cannot be opened as a book.
    """
    from logbook.record import open_book

    book = open_book(path, clock=utc_now, writable=writable)
    if book.made_with.startswith(SAMPLE_MARK):
        start, begun = _next_round(book), time.monotonic()
        book.use_clock(lambda: start + timedelta(seconds=time.monotonic() - begun))
    return book


def _next_round(book: Book) -> datetime:
    """Five minutes into the first round after the last page was written."""
    from logbook.plant.rounds import round_at

    last = book.last_page().written_at
    plant = book.plant_at(last)
    hours = timedelta(hours=plant.settings.round_hours)
    return round_at(plant.calendar, plant.settings, last + hours).at + timedelta(minutes=5)
