"""Instants at the border of the book: aware datetimes outside, whole seconds of UTC inside."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from logbook.record.errors import WriteRefused

Clock = Callable[[], datetime]
"""Gives the present instant as an aware datetime; passed in, never read here."""

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
SECOND = timedelta(seconds=1)
MILLISECOND = timedelta(milliseconds=1)


def seconds(instant: datetime) -> int:
    """Whole seconds since 1970 UTC, rounded down. Raises WriteRefused without a time zone."""
    try:
        return (instant - EPOCH) // SECOND
    except TypeError:
        raise WriteRefused(_naive(instant)) from None


def milliseconds(instant: datetime) -> int:
    """Whole milliseconds since 1970 UTC, rounded down. Raises WriteRefused without a zone."""
    try:
        return (instant - EPOCH) // MILLISECOND
    except TypeError:
        raise WriteRefused(_naive(instant)) from None


def optional_seconds(instant: datetime | None) -> int | None:
    """`seconds`, or None for None."""
    return None if instant is None else seconds(instant)


def from_seconds(value: int) -> datetime:
    """The instant `value` seconds after 1970 UTC."""
    return EPOCH + timedelta(seconds=value)


def from_milliseconds(value: int) -> datetime:
    """The instant `value` milliseconds after 1970 UTC."""
    return EPOCH + timedelta(milliseconds=value)


def optional_instant(value: int | None) -> datetime | None:
    """`from_seconds`, or None for None."""
    return None if value is None else from_seconds(value)


def iso(instant: datetime) -> str:
    """ISO 8601 in UTC, to the second, as the views write it: 2026-03-02T06:00:00Z."""
    return instant.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")


def _naive(instant: datetime) -> str:
    return f"The time {instant:%Y-%m-%d %H:%M} has no time zone; give it in UTC or local time."
