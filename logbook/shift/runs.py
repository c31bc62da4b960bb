"""Deviations of a plant's points over a stretch of time, out of the book."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.limits import (
    Deviation,
    LimitHistory,
    LimitSet,
    classify_array,
    deviations,
    modes_at,
    not_due_mask,
)
from logbook.plant.model import (
    NORMAL_MODE,
    Computation,
    Frequency,
    Limits,
    Often,
    Plant,
    Point,
)
from logbook.record import Reader
from logbook.shift.duty import Duty
from logbook.shift.trend_load import Line, limit_sets, load_lines, may_be_out

LOOK_BACK = (timedelta(days=7), timedelta(days=28), timedelta(days=112), timedelta(days=448))
"""How far before a shift readings are looked at: farther only for what was out all the time."""
QUOTIENTS = frozenset({Computation.RATE, Computation.PER_TONNE})
"""Need the reading before, however long ago: they are looked at a week back at once."""
GAP_FACTOR = 2.5
"""A deviation is unbroken over one round that was missed and one that was late."""


@dataclass(frozen=True, slots=True)
class PointRun:
    """A deviation of a point, its last value in the run and the limits then in force."""

    point: Point
    run: Deviation
    last_value: float
    limits: Limits


def max_gap(frequency: Frequency, round_hours: float) -> timedelta:
    """The longest time between two readings over which a deviation is taken as unbroken."""
    hours = {
        Often.ROUND: round_hours,
        Often.HOURS: float(frequency.hours),
        Often.SHIFT: 12.0,
        Often.DAY: 24.0,
        Often.SAMPLE: 24.0,
    }
    return timedelta(hours=hours[frequency.often] * GAP_FACTOR)


def point_gap(point: Point, plant: Plant) -> timedelta:
    """`max_gap` of a point; a computed one has that of its rarest input."""
    return _gap(point, plant.settings.round_hours, {p.key: p for p in plant.points})


def _gap(point: Point, round_hours: float, by_key: Mapping[str, Point]) -> timedelta:
    if point.formula is None:
        return max_gap(point.frequency, round_hours)
    return max(_gap(by_key[name], round_hours, by_key) for name in point.formula.inputs)


def runs_between(
    book: Reader, plant: Plant, points: Sequence[Point], start: datetime, end: datetime
) -> list[PointRun]:
    """Deviations that were open at some time in [start, end), ordered by when they began.

    Readings up to `end` count. One that nobody has read again is open as long as the next
    reading would still continue it (`max_gap`). Raises BookError.
    """
    numeric = [point for point in points if point.kind.is_numeric]
    sets = limit_sets(book, [point.key for point in numeric])
    duty = Duty.of(book, plant, start - LOOK_BACK[0], end)
    found: list[PointRun] = []
    pending: list[Point] = []
    # Most points were inside all the time: that shows from the last readings that could still
    # be part of a deviation open in the span.
    for back, near in _by_reach(numeric, plant).items():
        looked = near if back else []
        runs = _runs_since(book, plant, looked, start, end, start - back, sets, duty)
        cut = {r.point.key for r in runs if r.run.first == 0}
        found += [r for r in runs if r.point.key not in cut]
        pending += [point for point in near if point.key in cut or not back]
    for back in LOOK_BACK if pending else ():
        if back is not LOOK_BACK[0]:
            duty = Duty.of(book, plant, start - back, end)
        runs = _runs_since(book, plant, pending, start, end, start - back, sets, duty)
        # What begins with the first reading looked at may have begun before it.
        cut = {r.point.key for r in runs if r.run.first == 0 and back is not LOOK_BACK[-1]}
        found += [r for r in runs if r.point.key not in cut]
        pending = [point for point in pending if point.key in cut]
        if not pending:
            break
    return sorted(found, key=lambda r: (r.run.start, r.point.key))


def _by_reach(points: Sequence[Point], plant: Plant) -> dict[timedelta, list[Point]]:
    """Points by how far before a span a reading may lie that is out in it; 0: not known."""
    by_key = {point.key: point for point in plant.points}
    found: dict[timedelta, list[Point]] = {}
    for point in points:
        reach = timedelta(0)
        if not _is_quotient(point, by_key):
            reach = _gap(point, plant.settings.round_hours, by_key)
        found.setdefault(reach, []).append(point)
    return found


def _is_quotient(point: Point, by_key: Mapping[str, Point]) -> bool:
    """True where a computed point follows from counters, directly or through another."""
    formula = point.formula
    if formula is None:
        return False
    below = (_is_quotient(by_key[name], by_key) for name in formula.inputs)
    return formula.computation in QUOTIENTS or any(below)


def _runs_since(
    book: Reader,
    plant: Plant,
    points: Sequence[Point],
    start: datetime,
    end: datetime,
    since: datetime,
    sets: Mapping[str, Sequence[LimitSet]],
    duty: Duty,
) -> list[PointRun]:
    """Deviations open in [start, end), from readings taken since `since`."""
    lines = load_lines(book, plant, points, since, end) if points else {}
    found: list[PointRun] = []
    for point in points:
        line = lines[point.key]
        if may_be_out(line, sets[point.key]):
            gap = point_gap(point, plant)
            found += _runs(point, line, LimitHistory(sets[point.key]), duty, gap, start)
    return found


def _is_open_after(run: Deviation, start: datetime, gap: timedelta) -> bool:
    if run.is_open:
        return run.last_out + gap > start
    return run.last_out >= start or (run.end is not None and run.end > start)


def _runs(
    point: Point, line: Line, history: LimitHistory, duty: Duty, gap: timedelta, start: datetime
) -> list[PointRun]:
    """Deviations in a line that were open at `start` or later."""
    times, values = line
    changes = list(zip(duty.mode_from, duty.modes, strict=True))
    modes = list(modes_at(times, changes)) if changes else NORMAL_MODE
    bounds = history.in_force(times, modes)
    off = duty.off_times(point)
    found = deviations(
        times,
        values,
        classify_array(values, bounds),
        max_gap_s=gap.total_seconds(),
        bounds=bounds,
        not_due=not_due_mask(times, off),
        breaks=[at for at, _ in off],
    )
    late = [run for run in found if _is_open_after(run, start, gap)]
    return [_point_run(point, run, line, history, duty) for run in late]


def _point_run(
    point: Point, run: Deviation, line: Line, history: LimitHistory, duty: Duty
) -> PointRun:
    limits = history.at(run.worst_at, duty.mode_at(run.worst_at))
    return PointRun(point, run, float(line[1][run.last]), limits)
