"""How often a point that is out now went out before: a fault that comes back is seen as one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from logbook.assess.limits import NOT_JUDGED_CODE, LimitHistory, LimitSet, classify_array, modes_at
from logbook.plant.model import NORMAL_MODE, Plant
from logbook.record import Reader
from logbook.shift.exceptions import DeviationFound
from logbook.shift.trend_load import Line, Times, limit_sets, load_lines, may_be_out

REPEAT_BACK = timedelta(days=7)
"""How far back it is counted."""


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
    lines = load_lines(book, plant, list(points.values()), since, start)
    sets = limit_sets(book, list(points))
    changes = [(change.at, change.mode) for change in book.modes(since, start)]
    found: dict[str, int] = {}
    for key in points:
        if not may_be_out(lines[key], sets[key]):
            continue
        times, side = _sides(lines[key], sets[key], changes)
        went_out = (side[1:] != 0) & (side[1:] != side[:-1])
        count = int((went_out & (times < begun[key].timestamp())).sum())
        if count:
            found[key] = count
    return found


def _sides(
    line: Line, sets: Sequence[LimitSet], changes: Sequence[tuple[datetime, str]]
) -> tuple[Times, NDArray[np.int8]]:
    """Times of the judged readings; -1 below, 0 inside, 1 above of each, headed by a 0."""
    times, values = line
    modes = list(modes_at(times, changes)) if changes else NORMAL_MODE
    codes = classify_array(values, LimitHistory(sets).in_force(times, modes))
    judged = codes != NOT_JUDGED_CODE
    inside = np.zeros(1, dtype=np.int8)
    return times[judged], np.concatenate((inside, np.sign(codes[judged])))
