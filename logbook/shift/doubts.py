"""Readings of a shift that were questioned and kept: implausible, or a counter that fell."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby
from operator import attrgetter
from typing import NamedTuple

from logbook.assess.computed import counter_increase
from logbook.plant.model import Plant, Point, PointKind
from logbook.record import Reader, Reading
from logbook.shift.plants import PlantHistory
from logbook.shift.words import number_text

_TIME_AND_MODE = attrgetter("taken_at", "mode")


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
    rules = _Rules(plants)
    found = []
    for (at, mode), group in groupby(numbers, key=_TIME_AND_MODE):
        of_points = rules.at(at, mode)
        for reading in group:
            rule, value = of_points.get(reading.point), reading.value
            if rule is None or value is None:
                continue
            why = ""
            if not rule.low <= value <= rule.high:
                why = _implausible(rule.point, mode, value, decimal_comma=rules.comma)
            if rule.is_counter:
                before = counts.get(reading.point)
                why = why or _fallen(rule.point, before, value, decimal_comma=rules.comma)
                counts[reading.point] = value
            if why:
                found.append(DoubtFound(rule.point, reading, why))
    return tuple(found)


class _Rule(NamedTuple):
    """What readings of a point in a mode are held against."""

    point: Point
    low: float
    high: float
    """The plausible range; infinite where there is no limit."""

    is_counter: bool

    @classmethod
    def of(cls, point: Point, mode: str) -> _Rule:
        """The rule as the point is defined."""
        limits = point.limits_in(mode)
        low, high = limits.plausible_low, limits.plausible_high
        return cls(
            point,
            -math.inf if low is None else low,
            math.inf if high is None else high,
            point.kind is PointKind.COUNTER,
        )


class _Rules:
    """Works out the rules of all points once for each mode and each definition of the plant."""

    def __init__(self, plants: PlantHistory) -> None:
        self.comma = False
        self._plants = plants
        self._points: Mapping[str, Point] | None = None
        self._known: dict[str, dict[str, _Rule]] = {}

    def at(self, at: datetime, mode: str) -> Mapping[str, _Rule]:
        """Rules by point key; sets `comma` to how the plant then writes numbers."""
        points = self._plants.points_at(at)
        if points is not self._points:
            self._points, self._known = points, {}
            self.comma = self._plants.at(at).settings.decimal_comma
        if mode not in self._known:
            self._known[mode] = {key: _Rule.of(point, mode) for key, point in points.items()}
        return self._known[mode]


def _counts_before(
    book: Reader, plant: Plant, readings: Iterable[Reading], start: datetime
) -> Iterable[tuple[str, float]]:
    counters = {point.key for point in plant.points if point.kind is PointKind.COUNTER}
    keys = {reading.point for reading in readings} & counters
    for key, reading in book.last_before(sorted(keys), start).items():
        if reading.value is not None:
            yield key, reading.value


def _implausible(point: Point, mode: str, value: float, *, decimal_comma: bool) -> str:
    """How an implausible value lies."""
    limits = point.limits_in(mode)
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
