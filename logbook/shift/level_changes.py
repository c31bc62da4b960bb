"""Since when: the sudden changes of level in a stretch of a point's readings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from logbook.assess.blocks import Heap
from logbook.assess.changepoints import steps_in
from logbook.shift.trend_load import Line

MOST_BLOCKS = 400
"""A stretch is looked at in so many blocks at most: finer would take long and say no more."""
FEWEST = 8


@dataclass(frozen=True, slots=True)
class LevelChange:
    """From `at` on the readings stand at `after` on average, before it at `before`."""

    at: datetime
    before: float
    after: float


def level_changes(line: Line, start: datetime, end: datetime) -> tuple[LevelChange, ...]:
    """The steps of a line (times in epoch s, values) in [start, end), in order of time.

    The readings are put into at most 400 blocks of equal length, of which medians are taken;
    fewer than eight blocks with a reading say nothing. The instant is that of the first reading
    of the block in which the new level begins.
    """
    first, last = int(start.timestamp()), int(end.timestamp())
    times, values = line
    inside = (times >= first) & (times < last)
    times, values = times[inside], values[inside]
    if times.size < FEWEST:
        return ()
    # Blocks no shorter than the usual time between readings: most of them hold one.
    usual = float(np.median(np.diff(times)))
    width = max((last - first) / MOST_BLOCKS, usual, 1.0)
    count = int(np.ceil((last - first) / width))
    blocks = Heap.of([(times, values)], last).medians(width, count)[0]
    held = np.flatnonzero(np.isfinite(blocks))
    if held.size < FEWEST:
        return ()
    steps = steps_in(blocks[held])
    found = []
    for k, place in enumerate(steps.starts[1:], start=1):
        # A block reaches from behind its beginning to its end.
        since = last - (count - int(held[place])) * int(width)
        at = times[np.searchsorted(times, since, side="right")]
        found.append(
            LevelChange(datetime.fromtimestamp(int(at), UTC), steps.levels[k - 1], steps.levels[k])
        )
    return tuple(found)
