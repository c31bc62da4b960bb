"""Rounds that look copied from the round before: worth a look, never an accusation.

That a round of which half the values repeat exactly is worth a look is a choice of ours, no
source. A steady plant, a coarse gauge and a stuck instrument look the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from logbook.plant.model import Plant, Point, PointKind
from logbook.record import Reading

FEWEST = 10
"""Fewer numbers than this in both rounds say nothing."""
SHARE = 0.5
"""From this share of repeated numbers on, a round is worth a look."""
MOVING = frozenset({PointKind.NUMBER, PointKind.LEVEL})

ByPoint = Mapping[str, Reading]


def copied_in(
    plant: Plant, rounds: Iterable[tuple[datetime, ByPoint]], before: ByPoint
) -> dict[tuple[str, datetime], float]:
    """Repeated readings of the rounds that look copied, by point and round, with the share.

    `rounds` hold the readings of each round in order of time, `before` those of the round before
    the first. Only numbers of two digits or more can tell.
    """
    points = {point.key: point for point in plant.points if point.kind in MOVING}
    found: dict[tuple[str, datetime], float] = {}
    last = _numbers(points, before)
    for at, readings in rounds:
        now = _numbers(points, readings)
        both = now.keys() & last.keys()
        same = {key for key in both if now[key] == last[key]}
        if len(both) >= FEWEST and len(same) >= SHARE * len(both):
            found |= {(key, at): len(same) / len(both) for key in same}
        last = {**last, **now} if now else last
    return found


def _numbers(points: Mapping[str, Point], readings: ByPoint) -> dict[str, float]:
    return {
        key: reading.value
        for key, reading in readings.items()
        if reading.value is not None and key in points and _tells(points[key], reading.value)
    }


def _tells(point: Point, value: float) -> bool:
    return abs(value) * 10.0**point.decimals >= 10.0
