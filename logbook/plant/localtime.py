"""Between a plant's local time and UTC, over clock changes too.

A local time that the clocks skip (spring, the gap) is taken as shifted forward by the
length of the gap; one that comes twice (autumn, the fold) is taken as its first
occurrence. That is what Python does with `fold=0` (PEP 495), and `to_utc` keeps to it.
Where a person types a time, `parse_local` asks instead of choosing.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

_SECOND = timedelta(seconds=1)
_TIME = re.compile(r"(?P<h>\d{1,2})(?:[:.](?P<m>\d{2}))?|(?P<hh>\d{1,2})(?P<mm>\d{2})")


@dataclass(frozen=True, slots=True)
class Instant:
    """A local time that names exactly one instant (aware, UTC)."""

    at: datetime


@dataclass(frozen=True, slots=True)
class Ambiguous:
    """A local time that comes twice that night; both instants in UTC."""

    first: datetime
    second: datetime
    sentence: str


@dataclass(frozen=True, slots=True)
class DoesNotExist:
    """A local time that the clocks skip; `next` is the first instant after the change, in UTC."""

    next: datetime
    sentence: str


@dataclass(frozen=True, slots=True)
class NotATime:
    """A text that is no time of day."""

    sentence: str


def to_utc(day: date, clock: time, zone: str) -> datetime:
    """The instant of a local date and time, in UTC.

    A skipped time is shifted forward by the gap; of a time that comes twice the first is taken.
    Raises zoneinfo.ZoneInfoNotFoundError for an unknown zone.
    """
    wall = datetime.combine(day, clock.replace(fold=0), tzinfo=ZoneInfo(zone))
    return wall.astimezone(UTC)


def to_local(instant: datetime, zone: str) -> datetime:
    """Local date and time of an aware instant. Raises ValueError for a naive one."""
    if instant.tzinfo is None:
        msg = f"an instant needs a time zone, {instant!r} has none"
        raise ValueError(msg)
    return instant.astimezone(ZoneInfo(zone))


def is_skipped(day: date, clock: time, zone: str) -> bool:
    """True where the clocks never show this local time."""
    wall = datetime.combine(day, clock.replace(fold=0, tzinfo=None))
    return to_utc(day, clock, zone).astimezone(ZoneInfo(zone)).replace(tzinfo=None, fold=0) != wall


def local_label(instant: datetime, zone: str) -> str:
    """Local time of day, with the zone's name only where that time comes twice.

    >>> local_label(datetime(2026, 11, 1, 8, tzinfo=UTC), "America/Chicago")
    '02:00'
    >>> local_label(datetime(2026, 11, 1, 7, tzinfo=UTC), "America/Chicago")
    '01:00 CST'
    """
    local = to_local(instant, zone)
    shown = f"{local:%H:%M}" if not local.second else f"{local:%H:%M:%S}"
    return f"{shown} {zone_name(local)}" if _comes_twice(local) else shown


def zone_name(local: datetime) -> str:
    """The zone's abbreviation then in use: "CDT".

    "UTC+10:30" where it has no letters, or the same letters in both passes of a doubled hour.
    """
    name = local.tzname() or ""
    twin = local.replace(fold=1 - local.fold)
    tells_apart = twin.utcoffset() == local.utcoffset() or twin.tzname() != name
    if name and name[0] not in "+-" and tells_apart:
        return name
    minutes = round((local.utcoffset() or timedelta()).total_seconds() / 60)
    sign = "-" if minutes < 0 else "+"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{sign}{hours:02d}:{rest:02d}"


def parse_local(day: date, text: str, zone: str) -> Instant | Ambiguous | DoesNotExist | NotATime:
    """Read a typed time of day on a local date; never raises for any text.

    Read are "6:05", "06:05", "6.05", "0605", "605", "6" and, to say which of two is meant,
    the zone's name as `local_label` writes it: "01:30 CST".
    """
    typed = " ".join(unicodedata.normalize("NFKC", text).split())
    shown, _, name = typed.partition(" ")
    clock = _read_clock(shown)
    if clock is None:
        return NotATime(f'"{typed}" is not a time of day: type hours and minutes, such as 06:05.')
    tz = ZoneInfo(zone)
    first = datetime.combine(day, clock, tzinfo=tz)
    second = first.replace(fold=1)
    if first.utcoffset() == second.utcoffset():
        return _only(first, name)
    if is_skipped(day, clock, zone):
        resumes = _change_between(second.astimezone(UTC), first.astimezone(UTC), tz)
        again = f"{resumes.astimezone(tz):%H:%M}"
        skipped = f"{clock:%H:%M} does not exist on {day.isoformat()}"
        return DoesNotExist(resumes, f"{skipped}: the clocks go forward to {again}.")
    return _which(first, second, name)


def _only(local: datetime, name: str) -> Instant | NotATime:
    if not name or _names(local, name):
        return Instant(local.astimezone(UTC))
    here = zone_name(local)
    return NotATime(f'"{name}" is not the time zone here then ({here}): type the time alone.')


def _which(first: datetime, second: datetime, name: str) -> Instant | Ambiguous | NotATime:
    meant = [local for local in (first, second) if _names(local, name)]
    if len(meant) == 1:
        return Instant(meant[0].astimezone(UTC))
    shown = f"{first:%H:%M}"
    either = f"{shown} {zone_name(first)} or {shown} {zone_name(second)}"
    if name and not meant:
        return NotATime(f'"{name}" is not a time zone here: type {either}.')
    sentence = f"{shown} comes twice on {first.date().isoformat()}: type {either}."
    return Ambiguous(first.astimezone(UTC), second.astimezone(UTC), sentence)


def _names(local: datetime, name: str) -> bool:
    names = {zone_name(local), local.tzname() or ""}
    return name.casefold() in {known.casefold() for known in names if known}


def _read_clock(text: str) -> time | None:
    found = _TIME.fullmatch(text)
    if found is None:
        return None
    hour = int(found["h"] or found["hh"])
    minute = int(found["m"] or found["mm"] or 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def _comes_twice(local: datetime) -> bool:
    """True in a fold; the local time of an instant is never in a gap."""
    return local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()


def _change_between(before: datetime, after: datetime, tz: ZoneInfo) -> datetime:
    """First second in (before, after] with the offset of `after`; both in UTC."""
    wanted = after.astimezone(tz).utcoffset()
    while after - before > _SECOND:
        middle = before + timedelta(seconds=(after - before) // _SECOND // 2)
        if middle.astimezone(tz).utcoffset() == wanted:
            after = middle
        else:
            before = middle
    return after
