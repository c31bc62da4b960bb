"""Downtime as the crew knows it: what stood, since when, why, and what it may have cost."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from logbook.plant.model import Computation, Plant
from logbook.plant.units import convert, dimension_of
from logbook.record import Reader
from logbook.shift.stops import StopFound, stops_in
from logbook.shift.throughput import bean_counter, nominal_rate

HOUR = timedelta(hours=1)
TONNES_PER_HOUR = "t/h"


@dataclass(frozen=True, slots=True)
class Downtime:
    """One stop of the plant, an area or a machine, as far as it lies in a stretch of time."""

    scope: str
    target: str
    name: str
    area: str
    """Key of the area it belongs to; empty for the whole plant."""
    reason: str
    start: datetime
    end: datetime | None
    """When it was up again; None where it was still down at the end of the stretch."""
    inside: timedelta
    """How much of it lies in the stretch."""
    began_before: bool
    runs_on: bool
    lost_tonnes: float | None
    """What it cost at the nominal bean rate; None of a machine, an area beside the line, or where
    the plant has no nominal rate."""

    @property
    def hours(self) -> float:
        """Hours of it in the stretch."""
        return self.inside / HOUR


def downtime_of(book: Reader, plant: Plant, start: datetime, end: datetime) -> tuple[Downtime, ...]:
    """Stops that touch [start, end), in order of time; a running shift ends at the present.

    Lost tonnes of a stop = nominal bean rate x hours of it in the stretch, for the plant and for
    the areas of the line. The nominal bean rate is the target of the rate worked out from the
    bean counter, in the normal mode. The line reaches in process order from that rate's area to
    the area of the last rate worked out from a counter of mass (meal going out): what comes after
    (storage, utilities, laboratory) stands beside it, and a machine may have a neighbour that
    takes over. So it is what a stop costs at most; what the counter missed in fact is in
    `lost_time`, which the handover gives. Raises BookError.
    """
    rate, line = nominal_tonnes_per_hour(plant), line_areas(plant)
    stops = [stop for stop in stops_in(book, plant, start, end) if stop.scope != "mode"]
    return tuple(_downtime(plant, stop, start, end, rate, line) for stop in stops)


def total_lost(
    plant: Plant, downtimes: Iterable[Downtime], start: datetime, end: datetime
) -> float | None:
    """Tonnes lost at the nominal rate in [start, end), time in which several stood counted once.

    None where the plant has no nominal rate.
    """
    rate = nominal_tonnes_per_hour(plant)
    if rate is None:
        return None
    hours, covered = 0.0, start
    for one in sorted(downtimes, key=lambda d: d.start):
        if one.lost_tonnes is None:
            continue
        since, until = max(one.start, covered), min(one.end or end, end)
        if since < until:
            hours, covered = hours + (until - since) / HOUR, until
    return rate * hours


def nominal_tonnes_per_hour(plant: Plant) -> float | None:
    """The nominal bean rate in t/h; None where the plant has none."""
    counter = bean_counter(plant)
    rate = nominal_rate(plant, counter, "normal") if counter is not None else None
    if counter is None or rate is None:
        return None
    unit = next(
        p.unit
        for p in plant.points
        if p.formula is not None
        and p.formula.computation is Computation.RATE
        and p.formula.inputs[0] == counter.key
    )
    if dimension_of(unit) != "mass flow":
        return None
    return convert(rate, unit, TONNES_PER_HOUR)


def line_areas(plant: Plant) -> tuple[str, ...]:
    """Keys of the areas through which the beans go, in process order; see `downtime_of`."""
    counter = bean_counter(plant)
    order = [area.key for area in plant.areas]
    first, ends = None, []
    for point in plant.points:
        formula = point.formula
        if formula is None or formula.computation is not Computation.RATE:
            continue
        place = order.index(point.area)
        if counter is not None and formula.inputs[0] == counter.key:
            first = place if first is None else first
        if dimension_of(point.unit) == "mass flow":
            ends.append(place)
    if first is None:
        return ()
    return tuple(order[first : max([first, *ends]) + 1])


def _downtime(
    plant: Plant,
    stop: StopFound,
    start: datetime,
    end: datetime,
    rate: float | None,
    line: Sequence[str],
) -> Downtime:
    until = end if stop.end is None else min(stop.end, end)
    inside = max(until - max(stop.start, start), timedelta(0))
    stops_line = stop.scope == "plant" or (stop.scope == "area" and stop.target in line)
    return Downtime(
        scope=stop.scope,
        target=stop.target,
        name=stop.name,
        area=_area_of(plant, stop),
        reason=stop.reason,
        start=stop.start,
        end=stop.end,
        inside=inside,
        began_before=stop.start < start,
        runs_on=stop.end is None,
        lost_tonnes=rate * (inside / HOUR) if rate is not None and stops_line else None,
    )


def _area_of(plant: Plant, stop: StopFound) -> str:
    if stop.scope == "area":
        return stop.target
    return next((e.area for e in plant.equipment if e.key == stop.target), "")
