"""A book of 130 points read six times a shift, with something wrong in its last night."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pypdfium2
import pytest

from logbook.plant.calendar import shift_at
from logbook.plant.file import read_plant
from logbook.plant.localtime import to_local
from logbook.plant.model import Frequency, Often, PointKind
from logbook.plant.templates import template_path
from logbook.record import (
    NewEntry,
    NewHandoverNote,
    NewReading,
    NewResponse,
    NewSafetyState,
    NewSample,
    NewStatus,
    Ref,
    corrected,
    create_book,
    open_book,
)
from logbook.report.make import handover_document

BEGUN = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
"""06:00 local in the template's zone."""
POINTS = 130
ROUNDS = 6
TYPED = {PointKind.NUMBER, PointKind.COUNTER, PointKind.LEVEL, PointKind.STATE, PointKind.CHECK}


@pytest.fixture(scope="session")
def plant():
    """The metric template cut to 130 points, all of them read in each round."""
    whole = read_plant(template_path("soybean-metric"))
    kept = [p for p in whole.points if p.kind in TYPED][:POINTS]
    each = tuple(replace(p, frequency=Frequency(Often.ROUND)) for p in kept)
    assert len(each) == POINTS
    return replace(whole, points=each, settings=replace(whole.settings, round_hours=2.0))


def value_of(point, step):
    """A number within its limits that moves a little from round to round."""
    low, high = point.limits.warning_low, point.limits.warning_high
    middle = point.limits.target
    if middle is None:
        bottom = point.limits.plausible_low or 0.0
        middle = bottom + ((point.limits.plausible_high or bottom + 30.0) - bottom) / 3
    edge = high if high is not None else low
    room = abs(edge - middle) if edge is not None else 0.0
    if point.kind is PointKind.COUNTER:
        return round(1000.0 + step * 120, point.decimals)
    value = round(middle + 0.4 * room * math.sin(step), point.decimals)
    lowest = point.limits.plausible_low
    return value if lowest is None else max(lowest, value)


def reading_of(point, step, at):
    """What a crew reads of a point in a round when all is well."""
    if point.kind.is_numeric:
        value = value_of(point, step)
        typed = f"{value:.{point.decimals}f}"
        return NewReading(point.key, at, value=value, typed=typed, round_at=at)
    key = point.choices[0].key if point.choices else "done"
    return NewReading(point.key, at, text=key, typed=key, round_at=at)


def out_of(point):
    """A number beyond the upper action limit."""
    return round(point.limits.action_high * 1.05 + 1, point.decimals)


@pytest.fixture(scope="session")
def hot(plant):
    """Two numeric points with an upper action limit: one goes out, the other is corrected."""
    found = [p for p in plant.points if p.limits.action_high and p.kind is PointKind.NUMBER]
    return found[0], found[5]


@pytest.fixture(scope="session")
def filled(plant, hot, tmp_path_factory):
    """The book: a day, and a night with a deviation, a correction, a gap, a stop, a sample."""
    path = tmp_path_factory.mktemp("report") / "plant.logbook"
    moment = [BEGUN]
    wild, wrong = hot
    people = [person.key for person in plant.people]
    with create_book(
        path, plant, clock=lambda: moment[0], person=people[0], reason="book begun"
    ) as book:
        for step in range(2 * ROUNDS):
            at = BEGUN + timedelta(hours=2 * step)
            moment[0] = at + timedelta(minutes=95 if step == 8 else 12)
            rows = [reading_of(p, step, at) for p in plant.points]
            place = plant.points.index(wild)
            if step >= 9:
                rows[place] = replace(rows[place], value=out_of(wild), typed=str(out_of(wild)))
                rows.append(NewResponse(Ref(place), "Valve throttled by hand.", at))
            if step == 7:
                gone = plant.points[40]
                rows[40] = NewReading(gone.key, at, reason="instrument_fault", round_at=at)
            saved = book.write(people[1], rows)
            if step == 8:
                old = book.reading(saved.ids[plant.points.index(wrong)])
                better = corrected(
                    old, why="figures swapped", value=value_of(wrong, 3), typed="again"
                )
                book.write(people[1], [better], kind="correction")
        night = BEGUN + timedelta(hours=12)
        book.write(
            people[1],
            [
                NewEntry(night + timedelta(hours=3), "Belt squeals at start.", kind="maintenance"),
                NewSafetyState(
                    night + timedelta(hours=1),
                    "bypass",
                    "Low level trip of the day bin bridged",
                    area=plant.areas[0].key,
                    authorised_by="Shift lead",
                    until_at=night + timedelta(hours=20),
                ),
                NewStatus("area", plant.areas[1].key, night + timedelta(hours=4), "down", "choked"),
                NewStatus("area", plant.areas[1].key, night + timedelta(hours=5), "up"),
                NewSample(night + timedelta(hours=2), "meal", "M-17"),
            ],
        )
    return path


@pytest.fixture
def book(filled, tmp_path, clock):
    """A copy of it, open, half an hour after the night has ended."""
    path = tmp_path / "plant.logbook"
    path.write_bytes(filled.read_bytes())
    clock.set(BEGUN + timedelta(hours=24, minutes=30))
    with open_book(path, clock=clock, busy_seconds=0.3) as opened:
        yield opened


@pytest.fixture
def night(plant):
    """The shift that has just ended."""
    return shift_at(plant.calendar, BEGUN + timedelta(hours=12))


@pytest.fixture
def snapshot(book, night):
    """What is printed of the night."""
    return handover_document(book, night)


@pytest.fixture
def say(book, night, plant):
    """Writes a note of the outgoing crew into the book."""

    def said(text, part="remarks"):
        row = NewHandoverNote(night.date, night.pattern, part, text)
        book.write(plant.people[1].key, [row], kind="handover")

    return said


def pages_of(pdf):
    """The text of each page."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_bounded().replace("\r\n", "\n") for page in document]


@pytest.fixture
def read_pdf():
    """What gives the text of each page of a PDF."""
    return pages_of


@pytest.fixture
def local(plant):
    """What gives the local time of day of an instant."""
    return lambda at: f"{to_local(at, plant.time_zone):%H:%M}"
