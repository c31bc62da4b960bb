from datetime import UTC, datetime, timedelta

import pytest

from logbook.assess.offenders import LimitFault
from logbook.record import open_book
from logbook.shift.offenders import offenders_of
from sample_db.story import DEFAULT_END


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def found(book):
    """The offenders of the month in which mill 4 wore and was ground."""
    start = datetime(2026, 1, 19, 12, tzinfo=UTC)
    return offenders_of(book, book.plant_at(DEFAULT_END), start, start + timedelta(days=30))


def test_the_rates_are_those_of_a_quiet_plant(found):
    """About 2.4 % of judged readings lie outside (sample_db/README.md); few stand for a day."""
    assert found.rates.flagged_share == pytest.approx(0.024, abs=0.008)
    assert found.rates.is_acceptable
    assert 0.0 < found.rates.action_share < 0.1
    assert found.rates.hours == 720.0


def test_the_worn_mill_is_among_the_longest_and_the_worst(found):
    """Its right side stood outside for days."""
    assert found.longest[0][0].startswith(("flake_thickness.fm4", "flake_skew.fm4"))
    assert found.longest[0][1].duration > timedelta(days=2)
    assert {"flake_thickness.fm4.right", "flake_skew.fm4"} & {one.key for one in found.worst}


def test_areas_are_told_with_their_answers(found):
    """No more answered than there were, and a median where one was answered."""
    assert found.responses
    for area in found.responses:
        assert 0 <= area.answered <= area.deviations
        assert (area.median_minutes is None) == (area.answered == 0)
    assert any(area.area == "flaking" for area in found.responses)


def test_limits_that_never_flag_are_named_with_a_proposal_between(found):
    """Each proposal lies between the readings and the limit."""
    never = found.limits_with(LimitFault.NEVER)
    assert never
    for one in never:
        low, high = sorted((one.nearest, one.limit))
        assert low <= one.proposed <= high
        assert one.edge.startswith("warning")


def test_a_time_without_readings_has_no_offenders(book):
    """Before the book began."""
    start = datetime(2024, 1, 1, tzinfo=UTC)
    found = offenders_of(book, book.plant_at(DEFAULT_END), start, start + timedelta(days=9))
    assert (found.worst, found.longest, found.limits, found.responses) == ((), (), (), ())
    assert found.rates.per_hour == 0.0
