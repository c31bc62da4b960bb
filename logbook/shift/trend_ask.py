"""Points and stretches as they are named on the command line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

from logbook.plant.localtime import Instant, parse_local, to_utc
from logbook.plant.model import Plant, Point
from logbook.shift.point_search import find_points

USUAL = timedelta(days=30)
NAMED = 6
"""So many points are named where a word fits several."""


class AskError(ValueError):
    """A name or a time that cannot be understood; the message says what would be."""


def named_points(plant: Plant, names: Sequence[str]) -> list[str]:
    """Keys of the points that names mean: keys, tags, or words that fit one point alone.

    Each point once, in the order named. Raises AskError.
    """
    return list(dict.fromkeys(_named(plant, name).key for name in names))


def _named(plant: Plant, name: str) -> Point:
    wanted = name.strip().casefold()
    numeric = [point for point in plant.points if point.kind.is_numeric]
    exact = [p for p in numeric if wanted and wanted in {p.key.casefold(), p.tag.casefold()}]
    if len(exact) == 1:
        return exact[0]
    other = next((p for p in plant.points if p.key.casefold() == wanted), None)
    if other is not None and not exact:
        msg = f'"{name}" is answered in words; only points with numbers have a trend'
        raise AskError(msg)
    found = find_points(plant, name) if wanted else ()
    if len(found) == 1:
        return found[0].point
    if not found:
        msg = f'no point with numbers fits "{name}"; give a key, a tag or words of its name'
        raise AskError(msg)
    keys = ", ".join(one.point.key for one in found[:NAMED])
    more = f" and {len(found) - NAMED} more" if len(found) > NAMED else ""
    msg = f'"{name}" fits {len(found)} points: {keys}{more}; name one of them'
    raise AskError(msg)


def asked_span(
    since: str | None, until: str | None, zone: str, now: datetime
) -> tuple[datetime, datetime]:
    """The stretch between two texts, each a day (whole) or an instant; up to now, 30 days back.

    Days and times without an offset are those of the plant's clocks. Raises AskError.
    """
    end = now if until is None else min(_instant(until, zone, is_end=True), now)
    start = end - USUAL if since is None else _instant(since, zone, is_end=False)
    if start >= end:
        msg = f"the trend ends ({end:%Y-%m-%d %H:%M} UTC) before it begins ({start:%Y-%m-%d %H:%M} UTC)"
        raise AskError(msg)
    return start, end


def _instant(text: str, zone: str, *, is_end: bool) -> datetime:
    typed = text.strip()
    try:
        if len(typed) == 10:
            day = date.fromisoformat(typed)
            return to_utc(day + timedelta(days=1 if is_end else 0), time(0), zone)
        found = datetime.fromisoformat(typed)
        if found.tzinfo is not None:
            return found.astimezone(UTC)
    except (ValueError, OverflowError):
        msg = f'"{text}" is no day and no time; write 2026-05-14 or "2026-05-14 06:00"'
        raise AskError(msg) from None
    local = parse_local(found.date(), f"{found:%H:%M}", zone)
    if not isinstance(local, Instant):
        msg = f"{local.sentence} Give the offset as well, such as 2026-11-01T01:30-05:00"
        raise AskError(msg)
    return local.at + timedelta(seconds=found.second)
