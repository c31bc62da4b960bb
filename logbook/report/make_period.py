"""Makes the report of a period from the book, for the printer and the command line."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from logbook.plant.localtime import to_local
from logbook.record import Book, open_book, short_seal
from logbook.report.period import period_pdf
from logbook.shift.balance import see_balance
from logbook.shift.balance_days import days_of_balance
from logbook.shift.period import Period


def period_report_at(path: Path, period: Period, now: datetime, paper: str) -> bytes:
    """`period_report` of the book at a path, as of an instant: for another process."""
    with open_book(path, clock=lambda: now, writable=False) as book:
        return period_report(book, period, paper=paper)


def period_report(book: Book, period: Period, *, paper: str = "a4") -> bytes:
    """The PDF/A-2b of a period, with its days and its crews side by side where it has days.

    Raises BookError, ReportError, and ValueError for a period that has not begun.
    """
    now = book.now()
    seen = see_balance(book, period, now)
    days = days_of_balance(book, period, now)
    return period_pdf(
        seen.view,
        plant=seen.plant,
        span=seen.span,
        seal=short_seal(seen.seal),
        printed_at=to_local(now, seen.time_zone),
        trends=days.trends,
        comparisons=days.comparisons,
        paper=paper,
    )
