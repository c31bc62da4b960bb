"""A year of daily accounts beside pandas only reading the same readings.

python tests/bench/accounts_bench.py [SAMPLE_BOOK]

Pandas gets the readings of the same points over the same time by one plain query of the table, in
the order in which the index gives them; it corrects nothing and works out nothing. Runs of both
are interleaved in one process, so that whatever else the machine does meets both.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import pandas as pd

from logbook.plant.model import Plant
from logbook.process.roles import ROLES
from logbook.record import Book, open_book
from logbook.shift.account_daily import ROLES_READ, daily_accounts
from logbook.shift.account_gather import LOOK_BACK, LOOK_ON, gather
from logbook.shift.account_points import filled_roles
from logbook.shift.period import Period, days_of, days_period, edges_of

NOW = datetime(2026, 6, 18, 15, 4, tzinfo=UTC)
"""When the sample book ends."""
YEAR = date(2025, 6, 1), date(2026, 5, 31)


@dataclass(frozen=True, slots=True)
class YearRatio:
    """Median seconds of both sides and of their ratio, run by run."""

    ours: float
    pandas: float
    ratio: float
    readings: int
    runs: int

    def __str__(self) -> str:
        return (
            f"ours {self.ours * 1e3:.0f} ms, pandas reading {self.readings:,} readings "
            f"{self.pandas * 1e3:.0f} ms, median ratio {self.ratio:.2f} in {self.runs} runs"
        )


def compare_year(path: Path, runs: int = 9, *, every_role: bool = False) -> YearRatio:
    """A year of daily accounts, or (`every_role`) of every figure the accounts can be made of."""
    with (
        open_book(path, clock=lambda: NOW, writable=False) as book,
        closing(sqlite3.connect(path)) as bare,
    ):
        plant = book.plant_at(NOW)
        year = days_period(plant.calendar, *YEAR)
        names = tuple(ROLES) if every_role else ROLES_READ
        query, span = same_readings(bare, plant, names, year)

        def pandas() -> int:
            return len(pd.read_sql_query(query, bare, params=span))

        ours = _all_of(book, plant, year) if every_role else _accounts_of(book, plant, year)
        times, readings = [], 0
        for turn in range(runs + 1):
            pair = (_timed(ours), _timed(pandas)) if turn % 2 else (_timed(pandas), _timed(ours))
            one, other = pair if turn % 2 else pair[::-1]
            readings = other[1]
            times.append((one[0], other[0]))
    counted = times[1:]
    return YearRatio(
        median(a for a, _ in counted),
        median(b for _, b in counted),
        median(a / b for a, b in counted),
        readings,
        runs,
    )


def _accounts_of(book: Book, plant: Plant, year: Period) -> Callable[[], int]:
    def work() -> int:
        return len(daily_accounts(book, plant, year.start, year.end, now=NOW).periods)

    return work


def _all_of(book: Book, plant: Plant, year: Period) -> Callable[[], int]:
    edges = edges_of(days_of(plant.calendar, year))

    def work() -> int:
        return len(gather(book, plant, edges, now=NOW).roles)

    return work


def same_readings(
    bare: sqlite3.Connection, plant: Plant, names: tuple[str, ...], year: Period
) -> tuple[str, tuple[int, int]]:
    """A query for the readings that our side reads, and its span."""
    numbers = dict(bare.execute("SELECT key, id FROM point"))
    by_key = {point.key: point for point in plant.points}
    keys: dict[str, None] = {}
    for filled in filled_roles(plant, names).values():
        for point in filled.points:
            for key in point.formula.inputs if point.formula else (point.key,):
                keys.setdefault(key)
    typed = [numbers[key] for key in keys if by_key[key].kind.is_typed]
    wanted = ", ".join(map(str, typed))
    query = (
        f"SELECT point, taken_at, value FROM reading WHERE point IN ({wanted}) "
        "AND taken_at >= ? AND taken_at < ? ORDER BY point, taken_at"
    )
    span = (year.start - LOOK_BACK, year.end + LOOK_ON)
    return query, (int(span[0].timestamp()), int(span[1].timestamp()))


def _timed(work: Callable[[], int]) -> tuple[float, int]:
    begun = time.perf_counter()
    found = work()
    return time.perf_counter() - begun, found


def sample_book(folder: Path) -> Path:
    """The sample book in a folder, built where it is not there yet."""
    from sample_db import build_book

    path = folder / "sample-accounts.logbook"
    if not path.exists():
        build_book(path)
    return path


def main(arguments: list[str]) -> None:
    """Print both ratios."""
    path = Path(arguments[0]) if arguments else sample_book(Path(tempfile.gettempdir()))
    print(f"a year of daily accounts: {compare_year(path)}")
    print(f"a year of every figure:   {compare_year(path, every_role=True)}")


if __name__ == "__main__":
    main(sys.argv[1:])
