"""Instants in files: with an offset, or in the plant's local time."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta

from logbook.plant.localtime import Instant, parse_local

EARLIEST = datetime(1970, 1, 1, tzinfo=UTC)
_SECONDS = re.compile(r"(?P<clock>\d{1,2}:\d{2}):(?P<s>[0-5]\d)(?:[.,]\d+)?(?P<zone>| .+)")


def read_instant(text: str, zone: str) -> datetime | str:
    """An instant in UTC, whole seconds, from ISO 8601 text.

    With an offset it is taken as it stands, else in the plant's local time; behind a local time
    that comes twice the zone's name may stand. Returns a sentence where it cannot be read, or
    names no instant, or two.
    """
    try:
        found = _read(text, zone)
    except (ValueError, OverflowError):
        return f'"{text[:60]}" is not a time; write it as 2026-05-01 02:00.'
    if isinstance(found, datetime) and found < EARLIEST:
        return f'"{text[:60]}" lies before 1970; check the year.'
    return found


def _read(text: str, zone: str) -> datetime | str:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        found = None
    if found is not None and found.tzinfo is not None:
        return found.astimezone(UTC).replace(microsecond=0)
    if text[10:11] == "T":  # there alone: the zone's name may have a T of its own
        text = f"{text[:10]} {text[11:]}"
    day_text, _, clock = " ".join(text.split()).partition(" ")
    day = date.fromisoformat(day_text)
    if not clock:
        return f'"{text[:60]}" has no time of day; write it as 2026-05-01 02:00.'
    return _local(day, clock, zone)


def _local(day: date, clock: str, zone: str) -> datetime | str:
    seconds = 0
    exact = _SECONDS.fullmatch(clock)
    if exact is not None:
        clock, seconds = exact["clock"] + exact["zone"], int(exact["s"])
    local = parse_local(day, clock, zone)
    if isinstance(local, Instant):
        return local.at + timedelta(seconds=seconds)
    return local.sentence
