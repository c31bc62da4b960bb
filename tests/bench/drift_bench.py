"""How long the drifts of the open shift take: all points, 30 days.

python tests/bench/drift_bench.py BOOK [RUNS]

Beside a bare pass of numpy over the same arrays (mean, deviation, least and largest of each
point). Wall and processor time; reading the book is told apart from working the drifts out.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.record import open_book
from logbook.shift.drift import LOOK_BACK, drifts_at, drifts_in, judged_lines, points_that_drift
from logbook.shift.duty import Duty
from logbook.shift.trend_load import load_lines
from sample_db.story import DEFAULT_END


@dataclass(frozen=True, slots=True)
class Times:
    """Median seconds, wall and processor."""

    wall: float
    processor: float

    def __str__(self) -> str:
        return f"{self.wall * 1e3:.0f} ms ({self.processor * 1e3:.0f} ms of processor)"


@dataclass(frozen=True, slots=True)
class DriftTimes:
    """Of the whole, of its two parts, and of the bare pass; and what was found."""

    whole: Times
    reading: Times
    working: Times
    bare: Times
    points: int
    readings: int
    drifts: int

    def __str__(self) -> str:
        ratio = self.working.wall / self.bare.wall
        return (
            f"drifts of {self.points} points, {self.readings} readings: {self.whole} "
            f"(wanted: under 300 ms); reading {self.reading}, working out {self.working}, "
            f"{ratio:.0f} times a bare pass of {self.bare}; {self.drifts} found"
        )


def timed(work: Callable[[], object], runs: int) -> Times:
    """Median of `runs` runs."""
    wall, processor = [], []
    for _ in range(runs):
        start, cpu = time.perf_counter(), time.process_time()
        work()
        wall.append(time.perf_counter() - start)
        processor.append(time.process_time() - cpu)
    return Times(median(wall), median(processor))


def measure(path: Path, runs: int = 7) -> DriftTimes:
    """Time the drifts at the end of the sample book."""
    now = DEFAULT_END
    with open_book(path, clock=lambda: now, writable=False) as book:
        plant = book.plant_at(now)
        points = points_that_drift(plant)
        start, end = now - LOOK_BACK, now + timedelta(seconds=1)
        lines = load_lines(book, plant, points, start, end)
        mode = book.mode_at(now)
        kept = judged_lines(Duty.of(book, plant, start, now), points, lines, mode)

        def reads() -> None:
            load_lines(book, plant, points, start, end)

        def works() -> None:
            drifts_in(plant, points, kept, now, mode)

        def bare() -> None:
            for _, values in kept:
                if values.size:
                    values.mean(), values.std(), values.min(), values.max()

        found = drifts_at(book, plant, now)
        return DriftTimes(
            timed(lambda: drifts_at(book, plant, now), runs),
            timed(reads, runs),
            timed(works, runs),
            timed(bare, runs),
            len(points),
            int(np.sum([values.size for _, values in kept])),
            len(found.found),
        )


if __name__ == "__main__":
    print(measure(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 7))
