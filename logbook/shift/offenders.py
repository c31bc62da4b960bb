"""Offenders of a stretch of time: points, deviations and limits that ask for too much or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from logbook.assess.deviations import Deviation, not_due_mask
from logbook.assess.history import LimitHistory, LimitSet, modes_at
from logbook.assess.judge import NOT_JUDGED_CODE, Severity
from logbook.assess.judge_arrays import BoolArray, CodeArray, FloatArray, classify_array
from logbook.assess.offenders import (
    FlagRates,
    LimitFault,
    LimitUse,
    PointCount,
    count_point,
    flag_rates,
    limit_uses,
    longest_standing,
    median_minutes,
    worst_points,
)
from logbook.plant.model import NORMAL_MODE, Plant, Point
from logbook.record import Reader
from logbook.shift.duty import Duty
from logbook.shift.runs import runs_between
from logbook.shift.trend_load import Line, limit_sets, load_lines


@dataclass(frozen=True, slots=True)
class AreaResponses:
    """How an area answered its deviations beyond an action limit."""

    area: str
    deviations: int
    answered: int
    median_minutes: float | None
    """From the first reading outside to the first answer; None where there was none."""


@dataclass(frozen=True, slots=True)
class Offenders:
    """Everything about [start, end); see `logbook.assess.offenders` for the yardsticks."""

    plant: Plant
    start: datetime
    end: datetime
    rates: FlagRates
    worst: tuple[PointCount, ...]
    longest: tuple[tuple[str, Deviation], ...]
    limits: tuple[LimitUse, ...]
    responses: tuple[AreaResponses, ...]

    def limits_with(self, fault: LimitFault) -> tuple[LimitUse, ...]:
        """The limits that flag all the time, or those that never do."""
        return tuple(one for one in self.limits if one.fault is fault)


def offenders_of(book: Reader, plant: Plant, start: datetime, end: datetime) -> Offenders:
    """The offenders of [start, end) by the limits then in force. Raises BookError.

    Judged are points with numbers, at times when they were due. Of the limits only those in force
    at the end of the stretch in the normal mode are looked at, by readings since they took effect.
    """
    points = [p for p in plant.points if p.kind.is_numeric]
    lines = load_lines(book, plant, points, start, end)
    sets = limit_sets(book, [point.key for point in points])
    duty = Duty.of(book, plant, start, end)
    runs = [(one.point.key, one.run) for one in runs_between(book, plant, points, start, end)]
    by_point: dict[str, list[Deviation]] = {}
    for key, run in runs:
        by_point.setdefault(key, []).append(run)
    counts: list[PointCount] = []
    uses: list[LimitUse] = []
    for point in points:
        codes, normal = _judged(point, lines[point.key], sets[point.key], duty)
        counts.append(count_point(point.key, codes, by_point.get(point.key, ())))
        uses += _uses(point, lines[point.key], codes, normal, sets[point.key], end)
    return Offenders(
        plant=plant,
        start=start,
        end=end,
        rates=flag_rates(counts, runs, start, end),
        worst=worst_points(counts),
        longest=longest_standing(runs),
        limits=tuple(sorted(uses, key=_use_order)),
        responses=_responses(book, plant, by_point, start, end),
    )


def _use_order(one: LimitUse) -> tuple[bool, float, str]:
    share = one.outside / one.readings
    return one.fault is LimitFault.NEVER, -share, one.key


def _judged(
    point: Point, line: Line, sets: Sequence[LimitSet], duty: Duty
) -> tuple[CodeArray, BoolArray]:
    """Codes of a line, not judged where the point was not due; and where the mode was normal."""
    times, values = line
    changes = list(zip(duty.mode_from, duty.modes, strict=True))
    modes = modes_at(times, changes)
    codes = classify_array(values, LimitHistory(sets).in_force(times, modes.tolist()))
    codes = np.where(not_due_mask(times, duty.off_times(point)), NOT_JUDGED_CODE, codes)
    return codes.astype(np.int8), np.asarray(modes == NORMAL_MODE)


def _uses(
    point: Point,
    line: Line,
    codes: CodeArray,
    normal: BoolArray,
    sets: Sequence[LimitSet],
    end: datetime,
) -> tuple[LimitUse, ...]:
    own = [one for one in sets if one.mode == NORMAL_MODE and one.effective_from <= end]
    if not own or own[-1].limits is None:
        return ()
    since = max(own, key=_effective)
    if since.limits is None:
        return ()
    times, values = line
    held = normal & (codes != NOT_JUDGED_CODE) & (times >= since.effective_from.timestamp())
    judged: FloatArray = values[held]
    return limit_uses(point.key, judged, since.limits, 10.0**-point.decimals)


def _effective(one: LimitSet) -> datetime:
    return one.effective_from


def _responses(
    book: Reader,
    plant: Plant,
    by_point: Mapping[str, Sequence[Deviation]],
    start: datetime,
    end: datetime,
) -> tuple[AreaResponses, ...]:
    """By area in form order: deviations beyond an action limit that began, and their answers."""
    answers: dict[str, list[tuple[datetime, datetime]]] = {}
    for response in book.responses_between(start, end + timedelta(days=1)):
        about = book.reading(response.reading)
        answers.setdefault(about.point, []).append((about.taken_at, response.at))
    areas = {point.key: point.area for point in plant.points}
    begun: dict[str, int] = {}
    waits: dict[str, list[timedelta]] = {}
    for key, runs in by_point.items():
        for run in runs:
            if run.severity is Severity.ACTION and start <= run.start < end:
                begun[areas[key]] = begun.get(areas[key], 0) + 1
                given = [
                    at for taken, at in answers.get(key, ()) if run.start <= taken <= run.last_out
                ]
                if given:
                    wait = max(min(given) - run.start, timedelta(0))
                    waits.setdefault(areas[key], []).append(wait)
    medians = median_minutes(waits)
    return tuple(
        AreaResponses(
            area.key, begun[area.key], len(waits.get(area.key, ())), medians.get(area.key)
        )
        for area in plant.areas
        if area.key in begun
    )
