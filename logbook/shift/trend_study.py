"""What the Trend screen shows: whole histories of points, and what happened around them.

A history is read once and whole, so that moving over it needs no book; what happened around it
(stops, log entries) is read for the stretch that is looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from logbook.assess.limits import NOT_JUDGED_CODE, not_due_mask
from logbook.plant.model import NORMAL_MODE, Limits, Plant, Point
from logbook.record import Correction, Entry, Reader
from logbook.shift.runs import point_gap
from logbook.shift.stops import StopFound, stops_in
from logbook.shift.trend_load import limit_histories, load_lines, trend_of
from logbook.shift.trends import Band
from logbook.shift.words import place_name

EVER = datetime(1971, 1, 1, tzinfo=UTC)
CLOSE_LOOK = timedelta(days=400)
"""In a longer stretch log entries and standing machines are not looked up one by one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """The whole history of one numeric point, without missing readings.

    `times` epoch s, rising (n,); `values` in the point's unit (n,); `codes` as in
    `logbook.assess.limits` (n,), by the limits then in force. `bands` the limits over time,
    `gap_s` how far apart two readings may lie and still be joined.
    """

    point: Point
    name: str
    area: str
    times: NDArray[np.int64]
    values: NDArray[np.float64]
    codes: NDArray[np.int8]
    bands: tuple[Band, ...]
    gap_s: float
    corrections: tuple[Correction, ...] = ()

    @property
    def key(self) -> str:
        """Key of the point."""
        return self.point.key

    def inside(self, start: float, end: float) -> tuple[int, int]:
        """Places [first, after) of the readings taken in [start, end] (epoch s)."""
        first = int(np.searchsorted(self.times, start, side="left"))
        return first, int(np.searchsorted(self.times, end, side="right"))

    def limits_at(self, at: float) -> Limits | None:
        """Limits in force at an instant (epoch s)."""
        return next((b.limits for b in self.bands if b.start <= at < b.end), None)


@dataclass(frozen=True, slots=True)
class ModeSpan:
    """A stretch (epoch s) in an operating mode other than the normal one."""

    start: float
    end: float
    mode: str
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """Histories of points from the first reading of any to the present (epoch s)."""

    plant: Plant
    tracks: tuple[Track, ...]
    modes: tuple[ModeSpan, ...]
    start: float
    end: float
    seal: str = ""
    """Seal of the last page that was in the book."""

    @property
    def zone(self) -> str:
        """Time zone of the plant."""
        return self.plant.time_zone

    def track(self, key: str) -> Track | None:
        """The history of a point, or None."""
        return next((one for one in self.tracks if one.key == key), None)


@dataclass(frozen=True, slots=True)
class Around:
    """What happened in a stretch (epoch s)."""

    start: float
    end: float
    stops: tuple[StopFound, ...] = ()
    entries: tuple[Entry, ...] = ()
    is_close: bool = True
    """False where the stretch is too long to show entries and standing machines one by one."""

    def of_points(self, points: Sequence[Point]) -> list[tuple[float, float, str]]:
        """Stops (start, end, reason) in which all of some points stood."""
        if not points:
            return []
        return [
            (one.start.timestamp(), self._end_of(one), one.reason)
            for one in self.stops
            if all(stops_point(one, point) for point in points)
        ]

    def entries_of(self, points: Sequence[Point]) -> list[Entry]:
        """Log entries about the areas or machines of some points, and those about none."""
        areas = {point.area for point in points}
        return [one for one in self.entries if one.area is None or one.area in areas]

    def _end_of(self, stop: StopFound) -> float:
        return self.end if stop.end is None else stop.end.timestamp()


def stops_point(stop: StopFound, point: Point) -> bool:
    """True where a point is not read because of a stop."""
    if stop.scope == "plant":
        return True
    if stop.scope == "area":
        return stop.target == point.area
    return stop.scope == "equipment" and stop.target == point.equipment


def read_study(
    book: Reader,
    plant: Plant,
    keys: Sequence[str],
    now: datetime,
    *,
    since: datetime = EVER,
    known: Study | None = None,
) -> Study:
    """The histories of points in the order of `keys`; those in `known` are taken from there.

    `known` must be of the same page of the book. Raises BookError, and KeyError for a point that
    the plant has not.
    """
    held = {one.key: one for one in known.tracks} if known is not None else {}
    fresh = [plant.point(key) for key in keys if key not in held]
    end = now + timedelta(seconds=1)
    changes = [(change.at, change.mode) for change in book.modes(since, end)]
    if fresh:
        held |= _tracks(book, plant, fresh, changes, since, end)
    tracks = tuple(held[key] for key in keys)
    starts = [float(one.times[0]) for one in tracks if one.times.size]
    last = now.timestamp()
    return Study(
        plant=plant,
        tracks=tracks,
        modes=_mode_spans(plant, changes, last),
        start=min(starts, default=last - 86400.0),
        end=last,
        seal=book.last_page().seal,
    )


def _tracks(
    book: Reader,
    plant: Plant,
    points: Sequence[Point],
    changes: Sequence[tuple[datetime, str]],
    since: datetime,
    end: datetime,
) -> dict[str, Track]:
    keys = [point.key for point in points]
    lines = load_lines(book, plant, points, since, end)
    histories = limit_histories(book, keys)
    corrections: dict[str, list[Correction]] = {}
    for one in book.corrections(keys, since, end):
        corrections.setdefault(one.point, []).append(one)
    areas = {area.key: area.name for area in plant.areas}
    down = book.down_intervals(since, end)
    found = {}
    for point in points:
        trend = trend_of(lines[point.key], histories[point.key], changes, since, end)
        stops = [
            (one.start, one.end)
            for one in down
            if stops_point(StopFound(one.scope, one.target, "", one.start, one.end, ""), point)
        ]
        codes = trend.code.copy()
        codes[not_due_mask(trend.taken_at, stops)] = NOT_JUDGED_CODE
        found[point.key] = Track(
            point=point,
            name=place_name(plant, point),
            area=areas.get(point.area, point.area),
            times=trend.taken_at,
            values=trend.value,
            codes=codes,
            bands=trend.bands,
            gap_s=point_gap(point, plant).total_seconds(),
            corrections=tuple(corrections.get(point.key, ())),
        )
    return found


def _mode_spans(
    plant: Plant, changes: Sequence[tuple[datetime, str]], end: float
) -> tuple[ModeSpan, ...]:
    names = {mode.key: mode.name for mode in plant.modes}
    stops = [*(at.timestamp() for at, _ in changes[1:]), end]
    return tuple(
        ModeSpan(at.timestamp(), stop, mode, names.get(mode, mode))
        for (at, mode), stop in zip(changes, stops, strict=False)
        if mode != NORMAL_MODE
    )


def read_around(book: Reader, plant: Plant, start: datetime, end: datetime) -> Around:
    """What happened in [start, end): close up, or only the entered stops of a long stretch."""
    span = start.timestamp(), end.timestamp()
    if end - start <= CLOSE_LOOK:
        stops = [one for one in stops_in(book, plant, start, end) if one.scope != "mode"]
        return Around(*span, tuple(stops), tuple(book.entries(start, end)))
    down = book.down_intervals(start, end)
    found = (StopFound(d.scope, d.target, "", d.start, d.end, d.reason) for d in down)
    return Around(*span, tuple(found), (), is_close=False)


def panels_of(tracks: Sequence[Track], *, by_unit: bool) -> tuple[tuple[Track, ...], ...]:
    """Which points share an axis: each its own, or those of one unit together."""
    if not by_unit:
        return tuple((one,) for one in tracks)
    groups: dict[str, list[Track]] = {}
    for one in tracks:
        groups.setdefault(one.point.unit, []).append(one)
    return tuple(tuple(group) for group in groups.values())
