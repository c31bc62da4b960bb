"""All figures of the program beside a baseline of the same run: `python -m tests.bench`.

    python -m tests.bench [--book FILE] [--years N] [--only NAME ...]

The first run builds a book of ten years (10.5 million readings, about three minutes) in the
folder for temporary files and keeps it there; `--book` names another place for it.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parent))

import accounts_bench
import charts_bench
import drift_backtest
import drift_bench
import handover_bench
import reconcile_bench
import record_bench
import review_bench
import screen_bench
import start_bench
import trend_bench


def area(book: Path) -> str:
    """Opening an area of 60 points with 7 days of sparklines."""
    ours, bare = screen_bench.compare_area(book)
    return _line("open an area of 60 points", ours, bare, "at most 2")


def keys(book: Path) -> str:
    """Key press to judged field and redrawn sparkline."""
    found = screen_bench.key_times(book)
    worst = sorted(found)[int(len(found) * 0.95)]
    return (
        f"key press to judged field: median {median(found) * 1e3:.1f} ms, "
        f"95 % within {worst * 1e3:.1f} ms (wanted: median under 8 ms)"
    )


def saves(_book: Path) -> str:
    """Saving 60 readings durably, against the same tables and against one loose table."""
    same, loose = record_bench.compare_saves(), record_bench.compare_saves(loose=True)
    return (
        f"save 60 readings, bare sqlite3 writing the same rows: {same} (wanted: at most 1.5)\n"
        f"save 60 readings, bare sqlite3 and one loose table:   {loose}"
    )


def series(book: Path) -> str:
    """Reading 60 series of 7 days."""
    return f"read 60 series of 7 days: {record_bench.compare_series(book)}"


def start(book: Path) -> str:
    """Start to usable window, against a bare window."""
    bare, ours = start_bench.start_ratio(book)
    return _line("start to usable window", ours, bare, "at most 3")


def memory(book: Path) -> str:
    """Resident memory with the long book open."""
    return (
        f"memory with every area shown: {screen_bench.memory_mb(book):.0f} MB (wanted: under 250)"
    )


def reconcile(_book: Path) -> str:
    """Reconciling 12 nodes and 30 streams, against scipy's general constrained solvers."""
    return "\n".join(
        f"reconcile 12 nodes x 30 streams: {reconcile_bench.compare(method=method)}"
        for method in ("SLSQP", "trust-constr")
    )


def accounts(_book: Path) -> str:
    """A year of daily accounts from the sample book, against pandas reading the same readings."""
    path = accounts_bench.sample_book(Path(tempfile.gettempdir()))
    return f"a year of daily accounts: {accounts_bench.compare_year(path)} (wanted: under 2)"


def charts(_book: Path) -> str:
    """All charts and run rules of 130 points over a year, against reading and averaging them."""
    return f"charts and rules, 130 points x 1 year: {charts_bench.compare()}"


def handover(book: Path) -> str:
    """Composing the handover of a shift, against the bare queries it needs."""
    return f"compose a handover: {handover_bench.compare_compose(book)} (wanted: at most 1.5)"


def review(book: Path) -> str:
    """Opening a shift in Review and on the Shift screen, from the question to its picture."""
    return (
        f"open Review: {review_bench.open_review(book)} (wanted: under 150 ms)\n"
        f"open Shift:  {review_bench.open_shift(book)} (wanted: under 300 ms)"
    )


def drift(_book: Path) -> str:
    """The drifts of the open shift of the sample book, all points, 30 days."""
    return str(drift_bench.measure(accounts_bench.sample_book(Path(tempfile.gettempdir()))))


def backtest(_book: Path) -> str:
    """What the forecasts of the sample year were worth."""
    path = accounts_bench.sample_book(Path(tempfile.gettempdir()))
    return "\n".join(["backtest of forecasts:", *drift_backtest.backtest(path).lines()])


def trend(book: Path) -> str:
    """First picture of a point over the whole book, and the frames of moving it."""
    return "\n".join(trend_bench.lines(book))


BENCHES: dict[str, Callable[[Path], str]] = {
    "area": area,
    "keys": keys,
    "saves": saves,
    "series": series,
    "start": start,
    "trend": trend,
    "memory": memory,
    "reconcile": reconcile,
    "charts": charts,
    "accounts": accounts,
    "drift": drift,
    "backtest": backtest,
    "handover": handover,
    "review": review,
}


def _line(what: str, ours: float, bare: float, wanted: str) -> str:
    return (
        f"{what}: ours {ours * 1e3:.0f} ms, bare {bare * 1e3:.0f} ms, "
        f"ratio {ours / bare:.2f} (wanted: {wanted})"
    )


def main() -> None:
    """Run the benches asked for and print a line for each."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--book", type=Path)
    parser.add_argument("--years", type=float, default=10)
    parser.add_argument("--only", nargs="*", choices=BENCHES, default=list(BENCHES))
    options = parser.parse_args()
    book = options.book or Path(tempfile.gettempdir()) / f"bench-{options.years:g}-years.logbook"
    if not book.exists():
        print(f"building {book} ...", flush=True)
        record_bench.build_long_book(book, options.years)
    for name in options.only:
        print(BENCHES[name](book), flush=True)


if __name__ == "__main__":
    main()
