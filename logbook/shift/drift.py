"""What drifts at an instant: all points of the plant looked at together, the past 30 days."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from logbook.assess.changepoints import knee_of
from logbook.assess.deviations import not_due_mask
from logbook.assess.drifts import DAYS_BACK, Drift, find_drifts
from logbook.assess.forecast import SHOWN, Forecast, forecast, ranked
from logbook.assess.history import modes_at
from logbook.plant.model import NORMAL_MODE, Plant, Point, PointKind
from logbook.record import Reader
from logbook.shift.duty import Duty
from logbook.shift.trend_load import Line, load_lines

LOOK_BACK = timedelta(days=DAYS_BACK)


@dataclass(frozen=True, slots=True)
class DriftFound:
    """A point that drifts, when it would reach its next limit, and since when it does.

    `forecast` is None where none is worth saying, `since` where it has drifted as long as
    one looks back, or its beginning does not show.
    """

    point: Point
    drift: Drift
    forecast: Forecast | None
    since: datetime | None

    @property
    def phrase(self) -> str:
        """One short phrase: "rising, action limit in about 9 h", or only "rising"."""
        return self.forecast.phrase if self.forecast is not None else self.drift.word


@dataclass(frozen=True, slots=True)
class DriftsFound:
    """What drifts at `at`, the surest first, and how many points were looked at."""

    plant: Plant
    at: datetime
    found: tuple[DriftFound, ...]
    looked_at: int

    def shown(self, most: int = SHOWN) -> tuple[DriftFound, ...]:
        """The few with a forecast to be shown at once, the most urgent first."""
        by_forecast = {id(one.forecast): one for one in self.found if one.forecast is not None}
        said = [one.forecast for one in self.found if one.forecast is not None]
        return tuple(by_forecast[id(one)] for one in ranked(said, most))


def drifts_at(book: Reader, plant: Plant, now: datetime) -> DriftsFound:
    """The drifts of all points with numbers but counters, by readings taken up to `now`.

    `plant` is the plant as defined at `now`, with the limits then in force. Left out are readings
    of times when a point was not due (it or its area was down, or in a mode in which it is
    silent) or the plant was in another mode than now. Raises BookError.
    """
    points = points_that_drift(plant)
    start = now - LOOK_BACK
    lines = load_lines(book, plant, points, start, now + timedelta(seconds=1))
    mode = book.mode_at(now)
    kept = judged_lines(Duty.of(book, plant, start, now), points, lines, mode)
    return drifts_in(plant, points, kept, now, mode)


def drifts_in(
    plant: Plant, points: Sequence[Point], lines: Sequence[Line], now: datetime, mode: str
) -> DriftsFound:
    """The same of lines already read, one for each of `points`, in the mode in force at `now`."""
    at = int(now.timestamp())
    steps = [10.0**-point.decimals for point in points]
    found = []
    for drift in find_drifts(lines, at, steps, peers_of(points)):
        point = points[drift.row]
        if mode in point.silent_modes:
            continue
        said = forecast(drift, point.limits_in(mode))
        found.append(DriftFound(point, drift, said, since_when(lines[drift.row], drift, now)))
    return DriftsFound(plant, now, tuple(found), len(points))


def points_that_drift(plant: Plant) -> list[Point]:
    """Points with numbers; a counter only ever rises."""
    return [p for p in plant.points if p.kind.is_numeric and p.kind is not PointKind.COUNTER]


def peers_of(points: Sequence[Point]) -> list[list[int]]:
    """Places of the points that are the same reading of several machines of one table.

    The same reading: keys alike up to the first dot, one unit, one computation.
    """
    groups: dict[tuple[object, ...], list[int]] = {}
    for place, point in enumerate(points):
        if point.place is not None:
            stem = point.key.partition(".")[0]
            made = point.formula.computation if point.formula is not None else None
            groups.setdefault((point.place.table, stem, point.unit, made), []).append(place)
    return [group for group in groups.values() if len(group) > 1]


def judged_lines(
    duty: Duty, points: Sequence[Point], lines: Mapping[str, Line], mode: str
) -> list[Line]:
    """Each point's line without readings of times when it was not due or the mode was another."""
    changes = list(zip(duty.mode_from, duty.modes, strict=True))
    always = all(name == mode for name in (*duty.modes, NORMAL_MODE))
    kept = []
    for point in points:
        times, values = lines[point.key]
        off = duty.off_times(point)
        if times.size and (off or not always):
            good = ~not_due_mask(times, off)
            if not always:
                good &= modes_at(times, changes) == mode
            times, values = times[good], values[good]
        kept.append((times, values))
    return kept


def since_when(line: Line, drift: Drift, now: datetime) -> datetime | None:
    """From when on a drift shows: the knee of the readings of the last 30 days.

    None where the slope has lasted as long as one looks back, or the knee does not describe it:
    it turns the other way, or leaves more than half of the course unexplained.
    """
    times, values = line
    if times.size < 5:
        return None
    days = (times - int(now.timestamp())) / 86400.0
    low, high = np.quantile(values, [0.02, 0.98])
    # Wild values are drawn in: a sum of squares would follow them.
    knee = knee_of(days, np.clip(values, low, high))
    if knee is None or knee.slope * drift.slope <= 0.0 or knee.at <= days[0] + 1.0:
        return None
    return now + timedelta(days=knee.at)
