from __future__ import annotations

import csv
import io
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.exchange.safe_text import csv_text, safe_cell
from logbook.exchange.trend_csv import HEAD, trend_csv
from logbook.plant.file import read_plant
from logbook.plant.templates import template_path
from logbook.record import NewReading, create_book
from logbook.shift.trend_study import read_study

AT = datetime(2026, 3, 3, 16, tzinfo=UTC)


@pytest.mark.parametrize("text", ["=1+1", "+5", "-2", "@SUM(A1)", "\t=1", "  =1", "\r=1"])
def test_what_could_be_a_formula_is_text(text):
    """A spreadsheet shows it and works nothing out."""
    assert safe_cell(text) == f"'{text}"


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2), max_size=10))
def test_any_text_comes_back_as_it_was(rows):
    """Commas, quotation marks and line ends within a cell change nothing but the apostrophe."""
    text = csv_text(("a", "b"), rows)
    back = list(csv.reader(io.StringIO(text, newline="")))[1:]
    assert back == [[safe_cell(cell) for cell in row] for row in rows]


def test_numbers_are_numbers_also_below_zero():
    """A minus before a number is no formula."""
    assert csv_text(("a",), [(-2.5,), (None,)]).splitlines() == ["a", "-2.5", '""']


def test_the_readings_of_a_stretch_are_rows(tmp_path, clock):
    """Time in UTC and on the plant's clocks, the point by all its names, the judgement in words."""
    clock.set(AT - timedelta(days=1))
    plant = read_plant(template_path("soybean-metric"))
    point = next(p for p in plant.points if p.limits.action_high is not None and p.kind.is_typed)
    out = point.limits.action_high + 1.0
    person = plant.people[0].key
    with create_book(
        tmp_path / "b.logbook", plant, clock=clock, person=person, reason="begun"
    ) as book:
        clock.set(AT)
        rows = [
            NewReading(point.key, AT - timedelta(hours=k), value=v)
            for k, v in ((5, out), (2, out), (1, out))
        ]
        book.write(person, rows, kind="round")
        study = read_study(book, plant, [point.key], AT)
    text = trend_csv(study, AT.timestamp() - 3 * 3600, AT.timestamp())
    found = list(csv.DictReader(io.StringIO(text)))
    assert tuple(found[0]) == HEAD
    assert [row["taken_at"] for row in found] == ["2026-03-03T14:00:00Z", "2026-03-03T15:00:00Z"]
    assert found[0]["local_time"] == "2026-03-03 08:00"
    assert float(found[0]["value"]) == pytest.approx(out)
    assert found[0]["judgement"] == "action high"
    assert found[0]["point"] == point.key
