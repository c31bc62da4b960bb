"""Downtime of a shift, and the tonnes it has cost by the bean counter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.shift.stops import StopFound
from logbook.shift.throughput import HOUR, Throughput

LINE_SCOPES = frozenset({"plant", "area"})
"""What can stop the beans; a machine that stands while the line goes on costs none of its own."""

Span = tuple[datetime, datetime]


@dataclass(frozen=True, slots=True)
class DownFound:
    """A stop and what of it lies in the shift."""

    stop: StopFound
    in_shift: timedelta
    began_before: bool
    runs_on: bool
    """True where it is still down at the end of the shift."""


@dataclass(frozen=True, slots=True)
class LostTime:
    """Downtime of a shift and what it has cost."""

    downs: tuple[DownFound, ...]
    line_down: timedelta
    """Time in which the plant or an area stood, each instant counted once."""
    lost_tonnes: float | None
    """In the unit of the bean counter (tonnes, short tons): what the counter missed of the nominal rate in the time of the stops; None: not known."""
    slow_tonnes: float | None
    """What it missed otherwise, by running slower; negative where it ran faster."""
    is_estimate: bool = False
    """True where the counter does not tell of all the stops, and the nominal rate stands in."""


def lost_time_of(
    stops: Iterable[StopFound], throughput: Throughput | None, start: datetime, end: datetime
) -> LostTime:
    """Downtime in [start, end) and its tonnes.

    Between two readings of the counter the shortfall against the nominal rate is put down to the
    stops in that time, at most the nominal rate times their length: so a stop of an area that does
    not stop the beans costs nothing.
    """
    downs = tuple(_down(stop, start, end) for stop in stops if stop.scope != "mode")
    line = _joined([d.stop for d in downs if d.stop.scope in LINE_SCOPES], start, end)
    length = sum((b - a for a, b in line), timedelta(0))
    if throughput is None or throughput.nominal is None:
        return LostTime(downs, length, None, None)
    lost, slow, covered = _shortfall(throughput, throughput.nominal, line, start, end)
    left = length - covered
    return LostTime(
        downs,
        length,
        lost + throughput.nominal * (left / HOUR),
        slow if throughput.hours else None,
        is_estimate=left > timedelta(0),
    )


def _down(stop: StopFound, start: datetime, end: datetime) -> DownFound:
    until = min(stop.end or end, end)
    inside = max(until - max(stop.start, start), timedelta(0))
    return DownFound(stop, inside, stop.start < start, stop.end is None)


def _joined(stops: Iterable[StopFound], start: datetime, end: datetime) -> list[Span]:
    """Spans of the stops within [start, end), those that touch made one."""
    found: list[Span] = []
    for stop in sorted(stops, key=lambda one: one.start):
        since, until = max(stop.start, start), min(stop.end or end, end)
        if found and since <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], until))
        elif since < until:
            found.append((since, until))
    return found


def _shortfall(
    throughput: Throughput, nominal: float, line: Sequence[Span], start: datetime, end: datetime
) -> tuple[float, float, timedelta]:
    """Tonnes lost to stops, tonnes lost otherwise, and the stopped time the counter tells of."""
    lost = slow = 0.0
    covered = timedelta(0)
    for count in throughput.counts:
        first, last = max(count.start, start), min(count.end, end)
        tonnes = count.part(first, last)
        if tonnes is None:
            continue
        stood = sum((_overlap(span, (first, last)) for span in line), timedelta(0))
        missing = nominal * ((last - first) / HOUR) - tonnes
        to_stops = min(max(missing, 0.0), nominal * (stood / HOUR))
        lost, slow, covered = lost + to_stops, slow + missing - to_stops, covered + stood
    return lost, slow, covered


def _overlap(one: Span, other: Span) -> timedelta:
    return max(min(one[1], other[1]) - max(one[0], other[0]), timedelta(0))
