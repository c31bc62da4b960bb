"""A handover's PDF costs at most twice a bare compile of a document of the same pages."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import asdict
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.file import read_plant
from logbook.plant.model import PointKind
from logbook.plant.templates import template_path
from logbook.record import NewReading, create_book
from logbook.report.extras import extras_of
from logbook.report.make import handover_document

BEGUN = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def bench():
    """The bench module, loaded from beside this file."""
    path = Path(__file__).with_name("pdf_bench.py")
    spec = importlib.util.spec_from_file_location("pdf_bench", path)
    module = importlib.util.module_from_spec(spec)
    sys.modules["pdf_bench"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["pdf_bench"]


@pytest.fixture
def given(tmp_path, clock):
    """Snapshot and extras of a day of the template's plant."""
    plant = read_plant(template_path("soybean-metric"))
    person = plant.people[0].key
    numbers = [p for p in plant.points if p.kind is PointKind.NUMBER and p.limits.target]
    clock.set(BEGUN)
    path = tmp_path / "plant.logbook"
    with create_book(path, plant, clock=clock, person=person, reason="book begun") as book:
        for step in range(6):
            at = BEGUN + timedelta(hours=2 * step)
            clock.set(at + timedelta(minutes=10))
            rows = [
                NewReading(p.key, at, value=p.limits.target + 0.01 * step, round_at=at)
                for p in numbers
            ]
            book.write(person, rows)
        clock.set(BEGUN + timedelta(hours=12, minutes=5))
        snapshot = handover_document(book, shift_at(plant.calendar, BEGUN))
        return snapshot, asdict(extras_of(book, snapshot["content"]))


@pytest.mark.slow
def test_a_handover_costs_at_most_twice_a_bare_document_of_the_same_pages(bench, given):
    """Texts, tables and lines the same, page for page; in CPU time, so that load does not count."""
    found = bench.compare(*given, runs=3)
    assert abs(found.our_pages - found.bare_pages) <= 2, str(found)
    assert found.ratio <= 2.0, str(found)


def test_a_text_written_as_markup_prints_as_itself(bench):
    """The bare document holds the same words whatever signs are in them."""
    assert bench._text('a "b" #c') == '#"a \\"b\\" #c";'
    assert bench._text("") == ""
