"""How often a point that is out now went out before: a fault that comes back is seen as one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta

import numpy as np

from logbook.assess.limits import NOT_JUDGED_CODE
from logbook.plant.model import Plant, Point
from logbook.record import Reader
from logbook.shift.exceptions import DeviationFound
from logbook.shift.judged_lines import JudgedLines
from logbook.shift.trend_load import Values, limit_sets, load_end_to_end

REPEAT_BACK = timedelta(days=7)
"""How far back it is counted."""
BATCH = 40
"""Points at a time: the arrays of more would be handed back to the system and asked for anew."""


def repeats_before(
    book: Reader, plant: Plant, deviations: Iterable[DeviationFound], start: datetime
) -> dict[str, int]:
    """By point: how often it went outside its limits in the week before a shift.

    Each reading outside after one inside, or after one outside on the other side, counts; the
    deviation that reaches into the shift does not. Only points that were out in the shift by
    themselves are looked at, and those that were never out before are left out.
    """
    own = [d for d in deviations if not d.follows]
    points = {d.found.point.key: d.found.point for d in own}
    begun = dict.fromkeys(points, start)
    for one in own:
        key = one.found.point.key
        begun[key] = min(begun[key], one.found.run.start)
    if not points:
        return {}
    since = start - REPEAT_BACK
    changes = [(change.at, change.mode) for change in book.modes(since, start)]
    sets = limit_sets(book, list(points))
    counts: dict[str, int] = {}
    for few in _batches(points.values()):
        lines = load_end_to_end(book, plant, few, since, start)
        judged = JudgedLines.of(lines, [sets[point.key] for point in few], changes)
        until = np.array([begun[point.key].timestamp() for point in few])
        counts.update(zip(lines.keys, _times_out(judged, until), strict=True))
    return {key: counts[key] for key in points if counts[key]}


def _batches(points: Iterable[Point]) -> Iterator[list[Point]]:
    """Points few enough for their week to be worked through in memory that is used again."""
    typed: list[Point] = []
    computed: list[Point] = []
    for point in points:
        (typed if point.kind.is_typed else computed).append(point)
    for first in range(0, len(typed), BATCH):
        yield typed[first : first + BATCH]
    if computed:  # together, since they may follow from the same
        yield computed


def _times_out(judged: JudgedLines, until: Values) -> list[int]:
    """How often each point went out before its instant of `until` (epoch s)."""
    held = judged.codes != NOT_JUDGED_CODE
    owners, side = judged.owners[held], np.sign(judged.codes[held])
    is_first = np.append(True, owners[1:] != owners[:-1])[: owners.size]
    before = np.where(is_first, 0, np.append(0, side[:-1])[: side.size])
    went_out = (side != 0) & (side != before) & (judged.times[held] < until[owners])
    counts: list[int] = np.bincount(owners[went_out], minlength=until.size).tolist()
    return counts
