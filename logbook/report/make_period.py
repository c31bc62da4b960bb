"""Makes the report of a period from the book, for the printer and the command line."""

from __future__ import annotations

from logbook.plant.localtime import to_local
from logbook.record import Book, short_seal
from logbook.report.period import period_pdf
from logbook.shift.balance import see_balance
from logbook.shift.balance_days import days_of_balance
from logbook.shift.period import Period


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
