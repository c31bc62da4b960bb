"""Which clock a book is opened with."""

from datetime import UTC, datetime, timedelta

import pytest

from logbook.clock import SAMPLE_MARK, open_by_its_clock, utc_now
from logbook.record import BookError, NewReading, create_book


def test_now_is_aware_and_in_utc():
    """And lies between two looks at the real clock."""
    before = datetime.now(UTC)
    now = utc_now()
    assert now.utcoffset() == timedelta(0)
    assert before <= now <= datetime.now(UTC)


def test_a_book_runs_by_the_real_clock(book):
    """Whenever it was written."""
    with open_by_its_clock(book, writable=False) as opened:
        assert abs(opened.now() - datetime.now(UTC)) < timedelta(seconds=5)


def test_the_sample_plants_book_goes_on_where_its_story_ends(tmp_path, plant, clock, at):
    """A few minutes into the first round not yet written; its clock runs on."""
    clock.set(at("03-04 14:10"))
    path = tmp_path / "sample.logbook"
    made = create_book(
        path, plant, clock=clock, person="head", reason="x", made_with=f"{SAMPLE_MARK} 1"
    )
    made.write("op1", [NewReading("dip", at("03-04 14:00"), value=1.2)])
    made.close()
    with open_by_its_clock(path) as opened:
        first = opened.now()
        assert timedelta(0) <= first - at("03-04 16:05") < timedelta(seconds=30)
        assert opened.now() >= first


def test_what_is_no_book_has_no_clock(tmp_path):
    """It is told as everywhere."""
    with pytest.raises(BookError):
        open_by_its_clock(tmp_path / "none.logbook")
