"""What can go wrong with a report, in one sentence for the person who asked for it."""

from __future__ import annotations

from logbook.record import BookError


class ReportError(BookError):
    """A report could not be made or written; `message` says what is wrong and what to do."""
