"""What stood in a shift, and changes of the operating mode."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from logbook.plant.model import Plant
from logbook.record import Down, Reader
from logbook.shift.standing import standing_spans


@dataclass(frozen=True, slots=True)
class StopFound:
    """The plant, an area or a machine that was down, or (`scope` "mode") a change of mode."""

    scope: str
    target: str
    name: str
    start: datetime
    end: datetime | None
    """When it was up again; None where it was still down at the end of the shift."""
    reason: str


def stops_in(book: Reader, plant: Plant, start: datetime, end: datetime) -> tuple[StopFound, ...]:
    """Down times that touch [start, end) and mode changes in it, in order of time."""
    spans = [span for span in book.down_intervals(start, end) if span.start < end]
    down = {(span.scope, span.target) for span in spans}
    standing = [
        span
        for group in standing_spans(book, plant, start, end).values()
        for span in group
        if ("equipment", span.target) not in down
    ]
    found = [_down(plant, span, end) for span in [*spans, *standing]]
    names = {mode.key: mode.name for mode in plant.modes}
    for change in book.modes(start, end):
        if change.at >= start:
            name = names.get(change.mode, change.mode)
            found.append(StopFound("mode", change.mode, name, change.at, None, change.reason))
    return tuple(sorted(found, key=lambda stop: (stop.start, stop.name)))


def _down(plant: Plant, span: Down, end: datetime) -> StopFound:
    names = {("area", a.key): a.name for a in plant.areas}
    names |= {("equipment", e.key): e.name for e in plant.equipment}
    name = names.get((span.scope, span.target), span.target or plant.name)
    until = span.end if span.end is not None and span.end < end else None
    return StopFound(span.scope, span.target, name, span.start, until, span.reason)
