"""What a stop has cost stands in the unit in which the plant counts its beans."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.file import read_plant
from logbook.plant.templates import template_path
from logbook.record import NewReading, NewStatus, create_book
from logbook.report.parts import parts_of
from logbook.shift.signing import prepare
from logbook.shift.throughput import bean_counter

NOON = datetime(2026, 3, 3, 18, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("template", "unit"), [("soybean-metric", "t"), ("soybean-us", "short ton")]
)
def test_lost_throughput_has_the_unit_of_the_counter(tmp_path, template, unit):
    """Short tons are not told as tonnes, and the words say by what the loss was found."""
    plant = read_plant(template_path(template))
    counter, person = bean_counter(plant), plant.people[0].key
    shift = shift_at(plant.calendar, NOON)
    moment = [shift.start - timedelta(days=1)]
    hour = timedelta(hours=1)
    with create_book(
        tmp_path / "plant.book", plant, clock=lambda: moment[0], person=person, reason="begun"
    ) as book:
        moment[0] = shift.start + 6 * hour
        rows = [
            NewReading(counter.key, shift.start + k * hour, value=float(v), typed=f"{v}")
            for k, v in ((0, 1000), (2, 1100), (4, 1100), (6, 1200))
        ]
        book.write(person, rows)
        down = [
            NewStatus("plant", "", shift.start + 2 * hour, "down", "power cut"),
            NewStatus("plant", "", shift.start + 4 * hour, "up", "power back"),
        ]
        book.write(person, down, kind="event")
        content = prepare(book, shift, moment[0]).content
    assert counter.unit == unit
    lost = content["lost_time"]["lost"]
    assert lost["text"].endswith(f" {unit}")
    assert lost["value"] > 0
    part = next(part for part in parts_of(content) if "lost" in part["title"])
    (told,) = [line for line in part["lines"] if line["head"].startswith("Lost")]
    assert told["head"] == "Lost by the bean counter"
    assert lost["text"] in told["text"]
