"""What the forecasts of drifts were worth over a sample year, told as if each shift had asked.

python tests/bench/drift_backtest.py BOOK [BOOK ...] [--list]

At the end of every shift, from the 31st day on, the drifts are worked out from what had been read
by then, with the limits then in force. A warning is the first of a run of forecasts of the same
limit of a point, none more than three days after the one before. It came true where the course
(the running median of five readings, three for points read less than every five hours) was at the
limit by the late end of its interval; "half way" counts those that did not, but went on at least
half of the way. The
story's drifts stand in sample_db/README.md. The book of the default seed is the one on which the
rules were set; books of other seeds (`logbook sample FOLDER --seed N`) tell what they are worth.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.assess.forecast import Forecast
from logbook.plant.model import NORMAL_MODE
from logbook.record import Reader, open_book
from logbook.shift.drift import drifts_in, judged_lines, points_that_drift
from logbook.shift.duty import Duty
from logbook.shift.trend_load import Line, load_lines
from sample_db.story import DEFAULT_END

DAY = 86400
FIRST = 30
SAME_RUN = 3 * DAY
STORY = (
    ("roll wear of mill 4, right", ("flake_thickness.fm4.right", "flake_skew.fm4"),
     "2026-01-19T12:00", "2026-02-09T13:30"),
    ("fouling of vent condenser 4", ("condenser_approach.c4", "condenser_outlet.c4"),
     "2026-03-12T13:00", "2026-04-09T13:00"),
    ("vent gas that follows it", ("vent_lel",), "2026-03-12T13:00", "2026-04-09T13:00"),
    ("roll wear of mill 2, left (to the end)", ("flake_thickness.fm2.left", "flake_skew.fm2"),
     "2026-06-09T11:00", "2026-06-18T15:04"),
)  # fmt: skip
"""What drifted, the points that show it, and from when to when (UTC) in the default story."""


@dataclass(frozen=True, slots=True)
class Warned:
    """The first of a run of forecasts, and what came of it: hours to the limit, or None."""

    point: str
    at: int
    said: Forecast
    hours: float | None
    way: float
    """Share of the way to the limit that the course went."""

    def __str__(self) -> str:
        day = datetime.fromtimestamp(self.at, UTC).strftime("%Y-%m-%d")
        end = "did not" if self.hours is None else f"after {self.hours:.0f} h"
        return f"{day} {self.point}: {self.said.phrase} ({self.said.interval}); {end}"


@dataclass(slots=True)
class Told:
    """Everything that was said in a book, and what it was worth."""

    asked: int = 0
    points: int = 0
    warned: list[Warned] = field(default_factory=list)
    found: dict[str, int] = field(default_factory=dict)
    """By drift of the story, when it was first seen (epoch s)."""
    said: dict[str, int] = field(default_factory=dict)
    """The same for a forecast."""

    def lines(self) -> Iterator[str]:
        """The figures in words."""
        true = [one for one in self.warned if one.hours is not None]
        half = sum(one.hours is None and one.way >= 0.5 for one in self.warned)
        inside = sum(one.said.earliest <= one.hours for one in true if one.hours is not None)
        yield f"asked {self.asked} times of {self.points} points"
        share = len(true) / max(len(self.warned), 1)
        yield (
            f"warnings {len(self.warned)}; came true {len(true)} ({share:.0%}), "
            f"went at least half way {half}, turned back {len(self.warned) - len(true) - half}"
        )
        if true:
            ahead = [one.hours for one in true if one.hours is not None]
            yield (
                f"hours ahead of those that came true: median {median(ahead):.0f}, "
                f"{min(ahead):.0f} to {max(ahead):.0f}; within the interval {inside}, "
                f"sooner {len(true) - inside}"
            )
        for name, _, start, end in STORY:
            yield f"  {name}: {self._story(name, start, end)}"

    def _story(self, name: str, start: str, end: str) -> str:
        begun, over = _epoch(start), _epoch(end)
        if name not in self.found:
            return "not seen"
        words = f"seen after {(self.found[name] - begun) / DAY:.1f} days"
        if name in self.said:
            words += f", a limit forecast after {(self.said[name] - begun) / DAY:.1f}"
        return f"{words}, {(over - self.found[name]) / DAY:.1f} days before its end"


def backtest(path: Path, *, first: int = FIRST, days: int | None = None, every: int = 12) -> Told:
    """Ask every `every` hours from day `first` of a book on, for `days` or to its end."""
    with open_book(path, clock=lambda: DEFAULT_END, writable=False) as book:
        lines, last = _whole(book)
        begun = book.created_at.replace(minute=0, second=0) + timedelta(days=first)
        end = min(last, begun + timedelta(days=days)) if days is not None else last
        told, raw = Told(), []
        now = begun
        while now <= end:
            told.asked += 1
            raw += _asked(book, now, lines, told)
            now += timedelta(hours=every)
    told.warned = list(_warnings(raw, lines))
    return told


def _whole(book: Reader) -> tuple[dict[str, Line], datetime]:
    """All readings as the drifts take them, and the instant of the last one."""
    plant = book.plant_at(DEFAULT_END)
    points = points_that_drift(plant)
    lines = load_lines(book, plant, points, book.created_at, DEFAULT_END)
    duty = Duty.of(book, plant, book.created_at, DEFAULT_END)
    kept = judged_lines(duty, points, lines, NORMAL_MODE)
    by_key = {point.key: line for point, line in zip(points, kept, strict=True)}
    last = max(int(times[-1]) for times, _ in kept if times.size)
    return by_key, datetime.fromtimestamp(last, UTC)


def _asked(
    book: Reader, now: datetime, lines: Mapping[str, Line], told: Told
) -> list[tuple[str, int, Forecast]]:
    plant, at = book.plant_at(now), int(now.timestamp())
    points = points_that_drift(plant)
    known = [_between(lines[point.key], at - FIRST * DAY, at) for point in points]
    drifts = drifts_in(plant, points, known, now, NORMAL_MODE)
    told.points = drifts.looked_at
    said = []
    for one in drifts.found:
        key = one.point.key
        for name, keys, start, end in STORY:
            rises = one.drift.slope > 0.0 or not key.startswith(("flake_thickness", "cond", "vent"))
            if key in keys and rises and _epoch(start) < at <= _epoch(end):
                told.found.setdefault(name, at)
                if one.forecast is not None:
                    told.said.setdefault(name, at)
        if one.forecast is not None:
            said.append((key, at, one.forecast))
    return said


def _between(line: Line, start: int, end: int) -> Line:
    a, b = np.searchsorted(line[0], [start, end], side="right")
    return line[0][a:b], line[1][a:b]


def _warnings(
    raw: Sequence[tuple[str, int, Forecast]], lines: Mapping[str, Line]
) -> Iterator[Warned]:
    last: dict[tuple[object, ...], int] = {}
    for key, at, said in raw:
        run = (key, said.drift.direction, said.reach)
        is_new = at - last.get(run, -SAME_RUN - 1) > SAME_RUN
        last[run] = at
        if is_new:
            hours, way = _came(lines[key], at, said)
            yield Warned(key, at, said, hours, way)


def _course(line: Line) -> Line:
    """Running median, at the time of its last reading."""
    times, values = line
    count = 5 if times.size > 1 and np.median(np.diff(times)) < 5 * 3600 else 3
    if times.size < count:
        return times[:0], values[:0]
    windows = np.lib.stride_tricks.sliding_window_view(values, count)
    return times[count - 1 :], np.median(windows, axis=1)


def _came(line: Line, at: int, said: Forecast) -> tuple[float | None, float]:
    """Hours until the course was at the limit, and the share of the way that it went."""
    times, course = _course(_between(line, at - 2 * DAY, at + int(said.latest * 3600)))
    after = times > at
    sign = float(said.drift.direction)
    gone = sign * (course[after] - said.drift.level)
    gap = abs(said.limit - said.drift.level)
    there = np.flatnonzero(gone >= gap - 1e-9)
    hours = float(times[after][there[0]] - at) / 3600.0 if there.size else None
    return hours, float(gone.max()) / gap if gone.size else 0.0


def _epoch(text: str) -> int:
    return int(datetime.fromisoformat(f"{text}+00:00").timestamp())


def main() -> None:
    """Print the figures of each book."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("books", type=Path, nargs="+")
    parser.add_argument("--list", action="store_true", help="name every warning")
    options = parser.parse_args()
    for path in options.books:
        start = time.perf_counter()
        told = backtest(path)
        print(f"{path.name} in {path.parent.name} ({time.perf_counter() - start:.0f} s)")
        for line in [*told.lines(), *(map(str, told.warned) if options.list else ())]:
            print(f"  {line}")


if __name__ == "__main__":
    main()
