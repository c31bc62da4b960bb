"""What the Shift screen reads of a shift in one go, beside the window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from logbook.record import Book
from logbook.shift.open_lines import Section, open_sections
from logbook.shift.picture import ShiftPicture
from logbook.shift.shift_desk import ShiftDesk
from logbook.shift.timeline import found_section, timeline_section
from logbook.ui.shift_screen.search_line import Wanted


@dataclass(frozen=True, slots=True)
class LogSeen:
    """The timeline of the shift, or what a search has found."""

    wanted: Wanted
    heading: str
    section: Section


@dataclass(frozen=True, slots=True)
class ShiftSeen:
    """A shift as it stood when the book was looked at."""

    head: str
    span: str
    is_running: bool
    picture: ShiftPicture
    log: LogSeen
    open: tuple[Section, ...]


def looking(desk: ShiftDesk, wanted: Wanted, person: str) -> Callable[[Book], ShiftSeen]:
    """What looks at the desk's shift in another thread."""
    beside = desk.beside()

    def read(book: Book) -> ShiftSeen:
        own = beside(book)
        head, span = own.shift_words()
        return ShiftSeen(
            head,
            span,
            own.is_running,
            own.picture(),
            _log(own, wanted),
            open_sections(own, person),
        )

    return read


def finding(desk: ShiftDesk, wanted: Wanted) -> Callable[[Book], LogSeen]:
    """What searches the book in another thread, or reads the timeline where nothing is wanted."""
    beside = desk.beside()

    def read(book: Book) -> LogSeen:
        return _log(beside(book), wanted)

    return read


def _log(desk: ShiftDesk, wanted: Wanted) -> LogSeen:
    if wanted.is_nothing:
        return LogSeen(wanted, "Timeline", timeline_section(desk))
    asked = wanted.text, wanted.area, wanted.person, wanted.since, wanted.until
    section = found_section(desk, *asked)
    return LogSeen(wanted, f"Found {len(section.lines)}", section)
