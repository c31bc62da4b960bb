"""A period's balance for another process: each function gets the path of a book and an instant.

The arithmetic is loaded when a function is called, not when this module is: the window that asks
for it never loads it.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from logbook.process.quantity import Quantity
from logbook.record import open_book
from logbook.shift.balance_view import BalanceSeen, Days
from logbook.shift.period import Period
from logbook.shift.what_if import Outcome, try_out


def balance_at(path: Path, period: Period, now: datetime) -> BalanceSeen:
    """The balance of a period, as far as it has passed by `now`.

    Raises BookError, and ValueError for a period that has not begun.
    """
    from logbook.shift.balance import see_balance

    with open_book(path, clock=lambda: now, writable=False) as book:
        return see_balance(book, period, now)


def days_at(path: Path, period: Period, now: datetime) -> Days:
    """The days of a period, its crews and months side by side. Raises BookError."""
    from logbook.shift.balance_days import days_of_balance

    with open_book(path, clock=lambda: now, writable=False) as book:
        return days_of_balance(book, period, now)


def tried(key: str, figures: Mapping[str, Quantity], values: Mapping[str, float]) -> Outcome:
    """A section of the what-if, worked out."""
    return try_out(key, figures, values)
