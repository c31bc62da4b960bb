"""Limits that were changed in a shift, or began to hold in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from logbook.plant.model import NO_LIMITS, NORMAL_MODE, Limits, Plant, Point
from logbook.record import LimitRow, Reader, Revision


@dataclass(frozen=True, slots=True)
class LimitChange:
    """Limits of a point in a mode, as they were and as they are, and who changed them why."""

    point: Point
    mode: str
    effective_from: datetime
    before: Limits
    after: Limits | None
    """None where the mode has none of its own any more."""
    person: str
    reason: str


def limit_changes(
    book: Reader, plant: Plant, start: datetime, end: datetime
) -> tuple[LimitChange, ...]:
    """Changes that were written, or took effect, in [start, end); not those of a new point.

    Raises BookError.
    """
    if not any(start <= one < end for one in book.definition_starts()) and not any(
        page.kind == "definition" for page in book.pages(start, end)
    ):
        return ()
    revised = _revised(book.revisions(), start, end)
    points = {point.key: point for point in plant.points}
    keys = sorted({key for key, _, _ in revised} & set(points))
    rows = book.limit_history(keys)
    found = [
        LimitChange(points[row.point], row.mode, row.effective_from, before, row.limits, *told)
        for row, before in _with_before(rows)
        if (told := revised.get((row.point, row.mode, row.effective_from))) is not None
    ]
    return tuple(sorted(found, key=lambda change: change.effective_from))


def _revised(
    revisions: Iterable[Revision], start: datetime, end: datetime
) -> Mapping[tuple[str, str, datetime], tuple[str, str]]:
    """Person and reason of the limits revised in the shift, by point, mode and effect."""
    return {
        (one.key, one.mode or "", one.effective_from): (one.person, one.reason)
        for one in revisions
        if one.kind == "limits"
        and (start <= one.effective_from < end or start <= one.written_at < end)
    }


def _with_before(rows: Iterable[LimitRow]) -> Iterator[tuple[LimitRow, Limits]]:
    """Each row but the first of a point, with the limits that held before it."""
    latest: dict[tuple[str, str], Limits | None] = {}
    begun: dict[str, datetime] = {}
    for row in sorted(rows, key=lambda one: (one.point, one.effective_from)):
        if row.effective_from > begun.setdefault(row.point, row.effective_from):
            own, normal = latest.get((row.point, row.mode)), latest.get((row.point, NORMAL_MODE))
            yield row, own or normal or NO_LIMITS
        latest[row.point, row.mode] = row.limits
