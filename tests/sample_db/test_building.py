"""Building the book: the same again, another one, told of on the way, stopped half-way."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook.plant.model import Plant
from logbook.record import BookExists, open_book
from logbook.record.verifying import verify
from sample_db import BuildCancelledError, build_book
from sample_db.placing import place_story
from sample_db.story import DEFAULT_END

SHORT = 15
"""Days of the books built here; long enough for corrections, mills and the last shift."""


def test_the_same_seed_gives_the_same_seals(tmp_path: Path) -> None:
    """Two builds with one seed end in the same seal, byte for byte the same content."""
    one = build_book(tmp_path / "one.book", seed=3, days=SHORT)
    two = build_book(tmp_path / "two.book", seed=3, days=SHORT)
    assert one.seal == two.seal
    assert (one.pages, one.rows) == (two.pages, two.rows)


def test_another_seed_gives_another_book(tmp_path: Path) -> None:
    """The seed matters."""
    one = build_book(tmp_path / "one.book", seed=3, days=SHORT)
    two = build_book(tmp_path / "two.book", seed=4, days=SHORT)
    assert one.seal != two.seal


def test_every_page_of_the_sample_book_verifies(sample_book_path: Path) -> None:
    """The chain of seals is whole and the file sound."""
    found = verify(sample_book_path)
    assert found.is_sound, str(found)
    assert found.rows > 600_000


@pytest.mark.parametrize(
    "end",
    [
        datetime(2027, 1, 14, 3, 31, tzinfo=UTC),
        datetime(2026, 11, 1, 13, 12, tzinfo=UTC),
        datetime(2025, 3, 9, 23, 59, tzinfo=UTC),
        datetime(2026, 6, 18, 11, 0, tzinfo=UTC),
    ],
)
def test_a_book_can_end_at_any_instant(tmp_path: Path, end: datetime) -> None:
    """In winter, at night, on a day the clocks change, at a shift's very start: nothing is later."""
    path = tmp_path / "any.book"
    build_book(path, seed=5, end=end, days=SHORT)
    with open_book(path, clock=lambda: end, writable=False) as book:
        last = book.last_page()
        assert last.written_at <= end
        assert end - last.written_at < timedelta(hours=3)


@pytest.mark.parametrize("month", range(1, 13))
def test_the_story_stays_sensible_for_any_end(plant: Plant, month: int) -> None:
    """Whatever the season of the end: two clock changes, neither within the shutdown."""
    end = datetime(2027, month, 17, 16, 4, tzinfo=UTC)
    story = place_story(end, 400, plant.calendar)
    stop = story.shutdown
    assert stop is not None
    assert len(story.clock_changes) >= 2
    assert all(not stop.start <= change < stop.end for change in story.clock_changes)
    assert story.start < stop.start < stop.end < end
    assert len(story.copied) >= 4


def test_progress_rises_from_nothing_to_done(tmp_path: Path) -> None:
    """The caller is told a fraction that never falls, with words."""
    told: list[tuple[float, str]] = []
    build_book(
        tmp_path / "told.book", days=SHORT, progress=lambda part, text: told.append((part, text))
    )
    fractions = [part for part, _ in told]
    assert fractions == sorted(fractions)
    assert (fractions[0], fractions[-1]) == (0.0, 1.0)
    assert len(told) > 4
    assert all(text for _, text in told)


@pytest.mark.parametrize("asked_before_stopping", [0, 2, 5])
def test_a_cancelled_build_leaves_no_file(tmp_path: Path, asked_before_stopping: int) -> None:
    """Whenever it is stopped, nothing of the unfinished book remains."""
    asked = iter(range(1000))

    def cancelled() -> bool:
        return next(asked) >= asked_before_stopping

    with pytest.raises(BuildCancelledError):
        build_book(tmp_path / "stopped.book", days=SHORT, cancelled=cancelled)
    assert list(tmp_path.iterdir()) == []


def test_an_existing_file_is_not_touched(tmp_path: Path) -> None:
    """A book is never built over a file that is there."""
    path = tmp_path / "mine.book"
    path.write_bytes(b"not yours")
    with pytest.raises(BookExists):
        build_book(path, days=SHORT)
    assert path.read_bytes() == b"not yours"


def test_a_naive_end_is_refused(tmp_path: Path) -> None:
    """An end without a time zone could be any of two dozen instants."""
    with pytest.raises(ValueError, match="aware"):
        build_book(tmp_path / "naive.book", end=DEFAULT_END.replace(tzinfo=None))
