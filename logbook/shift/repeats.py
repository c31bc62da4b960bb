"""How often a point that is out now went out before: a fault that comes back is seen as one."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

import numpy as np

from logbook.assess.limits import NOT_JUDGED_CODE
from logbook.plant.model import Plant
from logbook.record import Reader
from logbook.shift.exceptions import DeviationFound
from logbook.shift.judged_lines import JudgedLines
from logbook.shift.trend_load import Values, limit_sets, load_end_to_end

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
    lines = load_end_to_end(book, plant, list(points.values()), since, start)
    sets = limit_sets(book, list(points))
    changes = [(change.at, change.mode) for change in book.modes(since, start)]
    judged = JudgedLines.of(lines, [sets[key] for key in points], changes)
    until = np.array([at.timestamp() for at in begun.values()])
    counts = _times_out(judged, until)
    return {key: count for key, count in zip(points, counts, strict=True) if count}


def _times_out(judged: JudgedLines, until: Values) -> list[int]:
    """How often each point went out before its instant of `until` (epoch s)."""
    held = judged.codes != NOT_JUDGED_CODE
    owners, side = judged.owners[held], np.sign(judged.codes[held])
    is_first = np.append(True, owners[1:] != owners[:-1])[: owners.size]
    before = np.where(is_first, 0, np.append(0, side[:-1])[: side.size])
    went_out = (side != 0) & (side != before) & (judged.times[held] < until[owners])
    counts: list[int] = np.bincount(owners[went_out], minlength=until.size).tolist()
    return counts
