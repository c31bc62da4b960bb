"""The report of a period for another process; what it needs is loaded when it is called."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from logbook.record import open_book
from logbook.shift.period import Period


def period_report_at(path: Path, period: Period, now: datetime, paper: str) -> bytes:
    """The PDF/A-2b of a period of the book at a path, as of an instant.

    Raises BookError, ReportError, and ValueError for a period that has not begun.
    """
    from logbook.report.make_period import period_report

    with open_book(path, clock=lambda: now, writable=False) as book:
        return period_report(book, period, paper=paper)
