"""What drifts, as lines of text and as plain data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import datetime

from logbook.plant.localtime import local_label, to_local
from logbook.plant.model import Plant
from logbook.shift.drift import DriftFound, DriftsFound
from logbook.shift.words import number_text, point_name

WIDTH = 110
Json = dict[str, object]
CAUTION = (
    "A forecast carries the course on as straight as it was; nobody knows that it goes on. On sample "
    "years that had no part in making the rules, four in ten came true in the time given."
)


def text_lines(found: DriftsFound) -> list[str]:
    """The whole as lines of at most 110 characters: what reaches a limit first, then the rest."""
    when = moment_text(found.plant, found.at)
    head = f"{found.plant.name}: what drifts at {when}, of {found.looked_at} points looked at"
    lines = _wrapped(head)
    if not found.found:
        return [*lines, "", "Nothing drifts."]
    said = found.shown(len(found.found))
    rest = [one for one in found.found if one.forecast is None]
    if said:
        lines += ["", "REACHES A LIMIT"]
        lines += [line for one in said for line in _told(found, one)]
    if rest:
        lines += ["", "DRIFTS, NO LIMIT NEAR"]
        lines += [line for one in rest for line in _told(found, one)]
    return [*lines, "", *_wrapped(CAUTION)] if said else lines


def moment_text(plant: Plant, at: datetime) -> str:
    """An instant in local time: "2026-06-18 10:04"."""
    zone = plant.time_zone
    return f"{to_local(at, zone):%Y-%m-%d} {local_label(at, zone)}"


def detail(found: DriftsFound, one: DriftFound) -> str:
    """Where a drift stands, how fast it is, since when, and the interval of its forecast."""
    comma = found.plant.settings.decimal_comma
    drift, point = one.drift, one.point
    slope = rate_text(one, decimal_comma=comma)
    words = [f"now {number_text(point, drift.level, decimal_comma=comma)} {point.unit}".rstrip()]
    words.append(f"{slope} a day")
    since = one.since
    if since is not None:
        words.append(f"since about {to_local(since, found.plant.time_zone):%Y-%m-%d}")
    if one.forecast is not None:
        limit = number_text(point, one.forecast.limit, decimal_comma=comma)
        words.append(f"limit {limit} in {one.forecast.interval}")
    return "; ".join(words)


def rate_text(one: DriftFound, *, decimal_comma: bool = False) -> str:
    """The slope with its sign and two figures: "+0.0035 mm"."""
    sign = "+" if one.drift.slope > 0.0 else "−"
    number = f"{abs(one.drift.slope):.2g}"
    if "e" in number:
        number = f"{abs(one.drift.slope):f}".rstrip("0")
    number = number.replace(".", ",") if decimal_comma else number
    return f"{sign}{number} {one.point.unit}".rstrip()


def as_json(found: DriftsFound) -> Json:
    """The whole as plain data: times ISO 8601 in local time with offset, numbers unrounded."""
    return {
        "plant": found.plant.name,
        "at": to_local(found.at, found.plant.time_zone).isoformat(),
        "looked_at": found.looked_at,
        "drifts": [_json(found, one) for one in found.found],
        "shown": [one.point.key for one in found.shown()],
    }


def _told(found: DriftsFound, one: DriftFound) -> Iterator[str]:
    yield from _wrapped(f"  {point_name(found.plant, one.point)}: {one.phrase}", "    ")
    yield from _wrapped(f"    {detail(found, one)}", "    ")


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_on_hyphens=False)


def _json(found: DriftsFound, one: DriftFound) -> Json:
    drift, said = one.drift, one.forecast
    since = to_local(one.since, found.plant.time_zone).isoformat() if one.since else None
    return {
        "point": one.point.key,
        "name": point_name(found.plant, one.point),
        "unit": one.point.unit,
        "phrase": one.phrase,
        "direction": drift.word,
        "level": drift.level,
        "per_day": drift.slope,
        "per_day_90_percent": [drift.slope_low, drift.slope_high],
        "since": since,
        "seen_over_hours": drift.window_hours,
        "standard_deviations": drift.sureness,
        "forecast": None
        if said is None
        else {
            "limit": said.limit,
            "kind": said.reach.value,
            "hours": said.hours,
            "hours_90_percent": [said.earliest, said.latest],
        },
    }
