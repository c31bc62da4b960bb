"""Samples that wait for results, and for how long they may."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.model import Plant, Point, PointKind
from logbook.record import Reader, Sample
from logbook.shift.lab_results import OVERDUE_AFTER, WAITING_BACK

MOMENT = timedelta(seconds=1)

TYPICAL: Mapping[PointKind, timedelta] = {PointKind.LAB: OVERDUE_AFTER}
OTHERS = timedelta(hours=2)
"""When a result is there: the laboratory's own time, or what the crew looks at itself.

Common practice, no source.
"""


@dataclass(frozen=True, slots=True)
class WaitingSample:
    """A sample that nobody has entered a result for."""

    sample: Sample
    points: tuple[Point, ...]
    """What is looked for at its sampling point, in form order; empty where nothing is known."""
    due_at: datetime
    is_overdue: bool


def samples_waiting(book: Reader, plant: Plant, now: datetime) -> tuple[WaitingSample, ...]:
    """Samples of the last days (`WAITING_BACK`) without any result at `now`, the overdue first.

    A reason why there is no result is a result too. A sample waits no longer once one is there:
    which points it was taken for is not in the book. It is overdue when the slowest kind of
    point looked for at its sampling point takes no longer. Raises BookError.
    """
    since = now - WAITING_BACK
    answered = _answered(book, plant, since, now)
    found = [
        _waiting(plant, sample, now)
        for sample in book.samples(since, now + MOMENT)
        if sample.id not in answered
    ]
    return tuple(sorted(found, key=lambda one: (not one.is_overdue, one.sample.taken_at)))


def points_of(plant: Plant, sampling_point: str) -> tuple[Point, ...]:
    """What a sample of this sampling point is looked at for.

    The laboratory's points, where it has some there; else all that are typed.
    """
    here = [p for p in plant.points if p.sampling_point == sampling_point and p.kind.is_typed]
    of_lab = [point for point in here if point.kind is PointKind.LAB]
    return tuple(of_lab or here)


def _answered(book: Reader, plant: Plant, since: datetime, now: datetime) -> set[int]:
    """Ids of the samples that have a result."""
    keys = [point.key for point in plant.points if point.sampling_point and point.kind.is_typed]
    found = book.readings(keys, since, now + MOMENT)
    return {reading.sample for reading in found if reading.sample is not None}


def _waiting(plant: Plant, sample: Sample, now: datetime) -> WaitingSample:
    points = points_of(plant, sample.sampling_point)
    due_at = sample.taken_at + _typical(points)
    return WaitingSample(sample, points, due_at, now > due_at)


def _typical(points: Iterable[Point]) -> timedelta:
    return max((TYPICAL.get(point.kind, OTHERS) for point in points), default=OVERDUE_AFTER)
