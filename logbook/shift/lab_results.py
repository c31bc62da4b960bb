"""Samples of a shift: results that came in it, and samples that still wait for theirs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.assess.limits import Judgement
from logbook.plant.model import Plant, Point, PointKind
from logbook.record import Reader, Reading, Sample
from logbook.shift.round_load import judge_reading

WAITING_BACK = timedelta(days=7)
"""Samples older than this are no longer waited for: what was taken then is gone."""
OVERDUE_AFTER = timedelta(hours=4)
"""A result is overdue this long after its sample was taken. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class LabResult:
    """A result that came in the shift, judged by the limits at the time of its sample."""

    point: Point
    reading: Reading
    judgement: Judgement
    sample: Sample | None


@dataclass(frozen=True, slots=True)
class SampleWaiting:
    """A sample without any result at the end of the shift."""

    sample: Sample
    since: timedelta
    is_overdue: bool


@dataclass(frozen=True, slots=True)
class LabWork:
    """What the laboratory told in the shift, and what it still owes."""

    results: tuple[LabResult, ...]
    waiting: tuple[SampleWaiting, ...]


def lab_work(book: Reader, plant: Plant, start: datetime, end: datetime) -> LabWork:
    """Results written in [start, end), worst first, and samples waiting at its end, oldest first."""
    points = {point.key: point for point in plant.points if point.kind is PointKind.LAB}
    since = start - WAITING_BACK
    readings = book.readings(list(points), since, end)
    samples = book.samples(since, end)
    return LabWork(
        _results(points, readings, samples, start, end), _waiting(samples, readings, end)
    )


def _results(
    points: dict[str, Point],
    readings: Iterable[Reading],
    samples: Iterable[Sample],
    start: datetime,
    end: datetime,
) -> tuple[LabResult, ...]:
    by_id = {sample.id: sample for sample in samples}
    found = [
        LabResult(
            points[reading.point],
            reading,
            judge_reading(points[reading.point], reading.mode, reading),
            None if reading.sample is None else by_id.get(reading.sample),
        )
        for reading in readings
        if start <= reading.written_at < end and reading.reason is None
    ]
    return tuple(sorted(found, key=lambda one: (-one.judgement.severity, one.reading.taken_at)))


def _waiting(
    samples: Sequence[Sample], readings: Iterable[Reading], end: datetime
) -> tuple[SampleWaiting, ...]:
    answered = {reading.sample for reading in readings if reading.written_at < end}
    return tuple(
        SampleWaiting(sample, end - sample.taken_at, end - sample.taken_at > OVERDUE_AFTER)
        for sample in samples
        if sample.id not in answered and sample.written_at < end
    )
