"""Readings of a shift that were questioned and kept: implausible, or a counter that fell."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from logbook.assess.computed import counter_increase
from logbook.assess.limits import is_plausible
from logbook.plant.model import Plant, Point, PointKind
from logbook.record import Reader, Reading
from logbook.shift.plants import PlantHistory
from logbook.shift.words import number_text


@dataclass(frozen=True, slots=True)
class DoubtFound:
    """A reading that may be wrong though it was kept as typed, and why."""

    point: Point
    reading: Reading
    why: str


def doubts_in(
    book: Reader, plants: PlantHistory, readings: Sequence[Reading], start: datetime
) -> tuple[DoubtFound, ...]:
    """The doubtful ones among `readings` of a shift from `start` on, in order of time."""
    numbers = [reading for reading in readings if reading.value is not None]
    counts = dict(_counts_before(book, plants.at(start), numbers, start))
    found = []
    for reading in numbers:
        point = plants.point_of(reading)
        if point is None or reading.value is None:
            continue
        why = ""
        if not is_plausible(reading.value, point.limits_in(reading.mode)):
            comma = plants.at(reading.taken_at).settings.decimal_comma
            why = _implausible(point, reading, reading.value, decimal_comma=comma)
        if point.kind is PointKind.COUNTER:
            before = counts.get(point.key)
            comma = plants.at(reading.taken_at).settings.decimal_comma
            why = why or _fallen(point, before, reading.value, decimal_comma=comma)
            counts[point.key] = reading.value
        if why:
            found.append(DoubtFound(point, reading, why))
    return tuple(found)


def _counts_before(
    book: Reader, plant: Plant, readings: Iterable[Reading], start: datetime
) -> Iterable[tuple[str, float]]:
    counters = {point.key for point in plant.points if point.kind is PointKind.COUNTER}
    keys = {reading.point for reading in readings} & counters
    for key, reading in book.last_before(sorted(keys), start).items():
        if reading.value is not None:
            yield key, reading.value


def _implausible(point: Point, reading: Reading, value: float, *, decimal_comma: bool) -> str:
    """How an implausible value lies."""
    limits = point.limits_in(reading.mode)
    low, high = limits.plausible_low, limits.plausible_high
    is_low = low is not None and value < low
    side, edge = ("below", low) if is_low else ("above", high)
    assert edge is not None
    return f"{side} the plausible {number_text(point, edge, decimal_comma=decimal_comma)}"


def _fallen(point: Point, before: float | None, value: float, *, decimal_comma: bool) -> str:
    """A counter's fall that its rollover does not explain."""
    if before is None or value >= before:
        return ""
    if counter_increase(before, value, point.rollover) is not None:
        return ""
    return f"the counter stood at {number_text(point, before, decimal_comma=decimal_comma)} before"
