"""Whole rounds at once: numbers with their pages, and who wrote those."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from logbook.record import BookError, NewReading, corrected


@pytest.fixture
def rounds(book, clock, hours):
    """Three rounds two hours apart, one without a number; each entered ten minutes late."""
    for n, person in enumerate(("anna", "bert", "anna")):
        at = hours(2 * n)
        clock.set(at + timedelta(minutes=10))
        row = NewReading("level", at, value=10.0 + n, round_at=at)
        if n == 1:
            row = NewReading("level", at, reason="instrument_fault", round_at=at)
        book.write(person, [row])
    return book


def test_numbers_come_in_order_with_round_and_page(rounds, hours):
    """What was not taken is left out; the page tells who wrote the number and when."""
    found = rounds.round_numbers(["level"], hours(0), hours(24))["level"]
    assert found.value.tolist() == [10.0, 12.0]
    assert found.round_at.tolist() == [hours(0).timestamp(), hours(4).timestamp()]
    assert found.round_at.dtype == np.int64
    pages = rounds.written_pages(found.page.tolist())
    assert [pages[int(page)].person for page in found.page] == ["anna", "anna"]
    first = pages[int(found.page[0])]
    assert first.written_ms == (hours(0) + timedelta(minutes=10)).timestamp() * 1000


def test_a_correction_stands_in_the_place_of_what_it_corrects(rounds, hours, clock):
    """With its own page and its own writer."""
    clock.set(hours(6))
    old = rounds.readings(["level"], hours(0), hours(1))[0]
    rounds.write("cara", [corrected(old, value=9.5, why="misread")])
    found = rounds.round_numbers(["level"], hours(0), hours(24))["level"]
    assert found.value.tolist() == [9.5, 12.0]
    assert rounds.written_pages([int(found.page[0])])[int(found.page[0])].person == "cara"


def test_the_span_has_its_start_and_not_its_end(rounds, hours):
    """Half open, as every span of a reader."""
    assert rounds.round_numbers(["level"], hours(0), hours(4))["level"].value.tolist() == [10.0]
    assert rounds.round_numbers(["level"], hours(4), hours(5))["level"].value.tolist() == [12.0]


def test_an_unknown_point_is_left_out_and_an_empty_one_is_empty(rounds, hours):
    """Unlike `series`, which refuses a key that the plant never had."""
    found = rounds.round_numbers(["level", "no such point"], hours(20), hours(24))
    assert list(found) == ["level"]
    assert found["level"].value.size == 0
    assert rounds.written_pages([]) == {}


def test_a_closed_book_answers_with_a_book_error(rounds, hours):
    """No error of the database leaves the package."""
    reader = rounds.reader()
    reader.close()
    with pytest.raises(BookError):
        reader.round_numbers(["level"], hours(0), hours(24))
    with pytest.raises(BookError):
        reader.written_pages([1])
