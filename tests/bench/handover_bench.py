"""How much composing a handover and opening a review cost beside the queries they need.

python tests/bench/handover_bench.py PATH [RUNS]

PATH is a book, such as `record_bench.py long PATH 10` builds; it is opened for reading, so it must
be of the present version. Each is held against two others, both warm, runs interleaved:

* its queries: what it asks the reader, each question once, the answers thrown away;
* its statements: the SQL that these questions send, each once, through plain sqlite3, prepared
  beforehand and only fetched.
"""

from __future__ import annotations

import sqlite3
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from logbook.plant.calendar import previous_shift, shift_at
from logbook.plant.roster import Shift
from logbook.record import Book, open_book
from logbook.shift.handover import compose
from logbook.shift.review import review_of

Work = Callable[[Any, Shift, datetime], object]
Question = tuple[str, tuple[Any, ...], dict[str, Any]]
Statement = tuple[str, tuple[Any, ...]]

MOST_STATEMENTS = 1000
"""The bare side prepares each statement once, as whoever writes it straight would."""


@dataclass(frozen=True, slots=True)
class Cost:
    """Median seconds of processor of ours, its queries and their statements; ratios run by run."""

    ours: float
    queries: float
    statements: float
    to_queries: float
    to_statements: float
    counts: tuple[int, int]
    runs: int

    def __str__(self) -> str:
        questions, statements = self.counts
        return (
            f"{self.ours * 1e3:.1f} ms; {questions} queries {self.queries * 1e3:.1f} ms, "
            f"median ratio {self.to_queries:.2f}; {statements} statements "
            f"{self.statements * 1e3:.1f} ms, median ratio {self.to_statements:.2f}; "
            f"{self.runs} runs"
        )


class Noting:
    """A book that notes what it is asked."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self.asked: dict[str, Question] = {}

    def __getattr__(self, name: str) -> Any:
        """The book's own, noted where it is a question."""
        own = getattr(self._book, name)
        if not callable(own):
            return own

        def ask(*values: Any, **named: Any) -> Any:
            fixed = tuple(list(v) if isinstance(v, Iterator) else v for v in values)
            self.asked.setdefault(f"{name} {fixed!r} {named!r}", (name, fixed, named))
            return own(*fixed, **named)

        return ask


def last_shift(book: Book) -> tuple[Shift, datetime]:
    """The last shift that was over when the book was last written, and an instant after it."""
    seen = book.last_page().written_at
    plant = book.plant_at(seen)
    shift = previous_shift(plant.calendar, shift_at(plant.calendar, seen))
    return shift, shift.end + timedelta(minutes=10)


def questions_of(book: Book, work: Work, shift: Shift, now: datetime) -> list[Question]:
    """What `work` asks the book, each question once, in order."""
    noting = Noting(book)
    work(noting, shift, now)
    return list(noting.asked.values())


class Sending:
    """A connection that notes what is sent through it."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self.sent: dict[Statement, None] = {}

    def execute(self, query: str, values: Sequence[object] = ()) -> sqlite3.Cursor:
        """As the connection's own."""
        self.sent[query, tuple(values)] = None
        return self._connection.execute(query, values)


def statements_of(book: Book, questions: list[Question]) -> list[Statement]:
    """The SQL that the questions send and its values, each once, in order."""
    own = book._reading  # to see what is sent, not to send anything
    sending = Sending(own)
    book._reading = sending  # type: ignore[assignment]
    try:
        _ask(book, questions)
    finally:
        book._reading = own
    return list(sending.sent)


def compare(path: Path, work: Work, runs: int = 15) -> Cost:
    """`work` on the last shift of the book at `path`, beside its queries and their statements."""
    with (
        open_book(path, clock=_never, writable=False) as book,
        closing(
            sqlite3.connect(f"file:{path}?mode=ro", uri=True, cached_statements=MOST_STATEMENTS)
        ) as bare,
    ):
        shift, now = last_shift(book)
        questions = questions_of(book, work, shift, now)
        sent = statements_of(book, questions)
        sides = (
            lambda: work(book, shift, now),
            lambda: _ask(book, questions),
            lambda: [bare.execute(query, values).fetchall() for query, values in sent],
        )
        times = [tuple(_seconds(side) for side in sides) for _ in range(runs + 1)][1:]
    return Cost(
        *(median(each) for each in zip(*times, strict=True)),
        median(a / b for a, b, _ in times),
        median(a / c for a, _, c in times),
        (len(questions), len(sent)),
        runs,
    )


def compare_compose(path: Path, runs: int = 15) -> Cost:
    """Composing the handover."""
    return compare(path, compose, runs)


def compare_review(path: Path, runs: int = 15) -> Cost:
    """Opening the review."""
    return compare(path, review_of, runs)


def _ask(book: Book, questions: list[Question]) -> None:
    for name, values, named in questions:
        getattr(book, name)(*values, **named)


def _seconds(work: Callable[[], object]) -> float:
    start = time.process_time()  # so that whoever else uses the machine does not count
    work()
    return time.process_time() - start


def _never() -> datetime:
    raise AssertionError("reading needs no clock")


if __name__ == "__main__":
    book_path, count = Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 15
    print("compose:", compare_compose(book_path, count))
    print("review: ", compare_review(book_path, count))
