"""How fast the book is, beside bare sqlite3 doing the same with the same file system.

python tests/bench/record_bench.py saves | series | long PATH [YEARS]

Runs of both sides are interleaved, so that whatever else the machine does meets both.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from datetime import time as time_of_day
from itertools import count
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.plant.calendar import Crew, ShiftCalendar, ShiftPattern
from logbook.plant.model import Area, Limits, Plant, Point
from logbook.record import Book, NewReading, Page, Written, create_book, open_book

START = datetime(2016, 1, 1, 6, tzinfo=UTC)
POINTS = 120
HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Compared:
    """Median seconds of both sides and of their ratio, run by run."""

    ours: float
    bare: float
    ratio: float
    runs: int

    def __str__(self) -> str:
        return (
            f"ours {self.ours * 1e3:.2f} ms, bare {self.bare * 1e3:.2f} ms, "
            f"median ratio {self.ratio:.2f} in {self.runs} runs"
        )


def bench_plant(points: int = POINTS) -> Plant:
    """A plant of so many numbers with limits."""
    calendar = ShiftCalendar(
        time_zone="UTC",
        shifts=(
            ShiftPattern("D", "Day", time_of_day(6), time_of_day(18)),
            ShiftPattern("N", "Night", time_of_day(18), time_of_day(6)),
        ),
        crews=(Crew("a", "Crew A", 0), Crew("b", "Crew B", 1)),
        roster=("D", "N"),
        anchor=date(2016, 1, 1),
    )
    limits = Limits(warning_low=40.0, warning_high=60.0, action_low=35.0, action_high=65.0)
    made = tuple(
        Point(key=f"p{n:03}", name=f"Point {n}", area="ab"[n >= 60], unit="degC", limits=limits)
        for n in range(points)
    )
    areas = (Area("a", "Area of sixty points"), Area("b", "The others"))
    return Plant(key="bench", name="Bench", calendar=calendar, areas=areas, points=made)


class Clock:
    """Shows what it was set to."""

    def __init__(self) -> None:
        self.now = START

    def __call__(self) -> datetime:
        """The instant it shows."""
        return self.now


def bench_book(path: Path, clock: Clock) -> Book:
    """A new book for the plant above."""
    return create_book(path, bench_plant(), clock=clock, person="bench", reason="bench")


def value_of(point: int, round_number: int) -> float:
    """Some number with one decimal that differs from round to round, mostly within limits."""
    return 50.0 + (point * 7919 + round_number * 104729) % 300 / 10 - 15


# ---------------------------------------------------------------- saving

BARE_TABLE = """
CREATE TABLE reading (id INTEGER PRIMARY KEY, page INTEGER NOT NULL, point INTEGER NOT NULL,
  taken_at INTEGER NOT NULL, round_at INTEGER, value REAL, text TEXT, typed TEXT NOT NULL,
  reason TEXT, mode TEXT NOT NULL, late INTEGER NOT NULL, sample INTEGER, replaces INTEGER,
  why TEXT) STRICT"""
BARE_INSERT = f"INSERT INTO reading VALUES ({', '.join('?' * 14)})"
PAGE_INSERT = f"INSERT INTO page VALUES ({', '.join('?' * 9)})"
FIRST = (1 << 40) + 1000


def bare_connection(path: Path) -> sqlite3.Connection:
    """Plain sqlite3 with the pragmas of the book."""
    connection = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "cache_size=-65536"):
        connection.execute(f"PRAGMA {pragma}")
    return connection


def loose_table(path: Path) -> sqlite3.Connection:
    """One table without rules and the one index that any trend needs: the least one can do."""
    connection = bare_connection(path)
    connection.execute(BARE_TABLE)
    connection.execute("CREATE INDEX series ON reading (point, taken_at)")
    return connection


def same_tables(path: Path) -> sqlite3.Connection:
    """The tables, indexes and guards of a book, written to with the same rows by plain sqlite3."""
    bench_book(path, Clock()).close()
    return bare_connection(path)


def compare_saves(
    runs: int = 200, readings: int = 60, folder: Path | None = None, *, loose: bool = False
) -> Compared:
    """Saving `readings` readings durably: ours against plain sqlite3 writing the same rows.

    The other side has the rows ready as tuples, checks nothing and seals nothing. It writes into
    the same tables with the same indexes and guards, or (`loose`) into one table without any.
    """
    with tempfile.TemporaryDirectory(dir=folder) as name:
        clock, make = Clock(), loose_table if loose else same_tables
        with (
            bench_book(Path(name) / "ours.book", clock) as book,
            closing(make(Path(name) / "bare.sqlite")) as bare,
        ):
            numbers, others = count(), count()
            return _interleaved(
                lambda: _save_ours(book, clock, next(numbers), readings),
                lambda: _save_bare(bare, next(others), readings, loose=loose),
                runs,
            )


def _save_ours(book: Book, clock: Clock, number: int, readings: int) -> Callable[[], object]:
    at = clock.now = START + number * HOUR
    rows = [
        NewReading(f"p{n:03}", at, value=value_of(n, number), typed="50.1", round_at=at)
        for n in range(readings)
    ]
    return lambda: book.write("bench", rows)


def _save_bare(
    bare: sqlite3.Connection, number: int, readings: int, *, loose: bool
) -> Callable[[], None]:
    page, at = FIRST + number, int(START.timestamp()) + number * 3600
    first = FIRST + number * readings
    none = (None, None, None)
    rows = [
        (
            first + n,
            page,
            n + 1,
            at,
            at,
            value_of(n, number),
            None,
            "50.1",
            None,
            "normal",
            0,
            *none,
        )
        for n in range(readings)
    ]
    head = (page, 1, "bench", at * 1000, "round", "", readings, "0" * 64, "0" * 64)

    def save() -> None:
        bare.execute("BEGIN IMMEDIATE")
        bare.executemany(BARE_INSERT, rows)
        if not loose:
            bare.execute(PAGE_INSERT, head)
        bare.execute("COMMIT")

    return save


def _interleaved(
    ours: Callable[[], Callable[[], object]], bare: Callable[[], Callable[[], object]], runs: int
) -> Compared:
    """Time both by turns, each once without counting, and the first of each pair by turns too."""
    times: list[tuple[float, float]] = []
    for number in range(runs + 1):
        if number % 2:
            one, two = _timed(ours()), _timed(bare())
        else:
            two, one = _timed(bare()), _timed(ours())
        times.append((one, two))
    counted = times[1:]
    return Compared(
        median(a for a, _ in counted),
        median(b for _, b in counted),
        median(a / b for a, b in counted),
        runs,
    )


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


# ---------------------------------------------------------------- a long book


def long_pages(clock: Clock, years: float) -> Iterator[Page]:
    """Hourly rounds of all points, each page written ten minutes after its round."""
    keys = [f"p{n:03}" for n in range(POINTS)]
    for number in range(int(years * 365.25 * 24)):
        at = START + number * HOUR
        clock.now = at + timedelta(minutes=10)
        rows = []
        for n, key in enumerate(keys):
            value = value_of(n, number)
            rows.append(NewReading(key, at, value, typed=f"{value:.1f}", round_at=at))
        yield Page("bench", rows)


def build_long_book(path: Path, years: float = 10) -> Written:
    """Make a sealed book of `years` years of hourly rounds: 10 years are 10.5 million readings.

    It is written by `write_many` like any other, so it verifies like any other.
    """
    clock = Clock()
    with bench_book(path, clock) as book:
        return book.write_many(long_pages(clock, years))


# ---------------------------------------------------------------- series

BARE_SERIES = (
    "SELECT taken_at, value, id FROM reading "
    "WHERE point = ? AND taken_at >= ? AND taken_at < ? ORDER BY taken_at"
)


def compare_series(path: Path, runs: int = 40, points: int = 60, days: float = 7) -> Compared:
    """Reading `points` series over `days`: ours against bare sqlite3 fetching the same rows.

    Each run asks for another week, so that neither side lives on what it has just read.
    """
    with (
        open_book(path, clock=Clock(), writable=False) as book,
        closing(sqlite3.connect(path)) as bare,
    ):
        numbers = dict(bare.execute("SELECT key, id FROM point"))
        keys = sorted(numbers)[:points]
        low, high = bare.execute("SELECT min(taken_at), max(taken_at) FROM reading").fetchone()
        weeks = int((high - low) / 86400 / days) or 1
        turns, bare_turns = count(), count()

        def span(turn: int) -> tuple[datetime, datetime]:
            start = START + timedelta(days=(turn * 37 % weeks) * days)
            return start, start + timedelta(days=days)

        def ours() -> Callable[[], object]:
            start, end = span(next(turns))
            return lambda: book.series(keys, start, end)

        def plain() -> Callable[[], object]:
            start, end = (int(t.timestamp()) for t in span(next(bare_turns)))
            return lambda: [
                bare.execute(BARE_SERIES, (numbers[key], start, end)).fetchall() for key in keys
            ]

        return _interleaved(ours, plain, runs)


def main(arguments: list[str]) -> None:
    """Run one of the benches and print what it found."""
    what = arguments[0] if arguments else "saves"
    if what == "saves":
        print("60 readings, same tables:", compare_saves())
        print("60 readings, one loose table:", compare_saves(loose=True))
    elif what == "long":
        start = time.perf_counter()
        years = float(arguments[2]) if len(arguments) > 2 else 10
        written = build_long_book(Path(arguments[1]), years)
        took = time.perf_counter() - start
        print(f"{written.pages} pages, {written.rows} readings in {took:.1f} s")
    else:
        print("60 points, 7 days:", compare_series(Path(arguments[1])))


if __name__ == "__main__":
    main(sys.argv[1:])
