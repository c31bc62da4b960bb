"""The sample plant, its story and its book, open for reading."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.plant.model import Plant
from logbook.record import Book, open_book
from sample_db import sample_plant
from sample_db.placing import place_story
from sample_db.story import DEFAULT_DAYS, DEFAULT_END, Story


@pytest.fixture(scope="session")
def plant() -> Plant:
    """The sample plant as its file describes it."""
    return sample_plant()


@pytest.fixture(scope="session")
def story(plant: Plant) -> Story:
    """The story of the default book, placed in time."""
    return place_story(DEFAULT_END, DEFAULT_DAYS, plant.calendar)


@pytest.fixture
def book(sample_book_path: Path) -> Iterator[Book]:
    """The sample book, open for reading."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as opened:
        yield opened
