from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook.assess.limits import NOT_JUDGED_CODE
from logbook.plant.file import read_plant
from logbook.plant.model import Limits, Plant
from logbook.plant.templates import template_path
from logbook.record import (
    Book,
    BookError,
    NewEntry,
    NewModeChange,
    NewReading,
    NewStatus,
    corrected,
    create_book,
)
from logbook.shift.trend_study import CLOSE_LOOK, read_around, read_study
from logbook.shift.trend_words import (
    happened_at,
    judgement_of,
    nearest_place,
    read_out,
    span_text,
    when_text,
)

NOW = datetime(2026, 3, 20, 12, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The shipped metric template."""
    return read_plant(template_path("soybean-metric"))


@pytest.fixture
def point(plant):
    """A flake thickness with limits on both sides."""
    return next(p for p in plant.points if "flake_thickness" in p.key and p.limits.action_high)


@pytest.fixture
def book(tmp_path, plant, point, clock) -> Book:
    """Twenty rounds of one point, begun two days before."""
    clock.set(NOW - 48 * HOUR)
    person = plant.people[0].key
    made = create_book(tmp_path / "b.logbook", plant, clock=clock, person=person, reason="begun")
    clock.set(NOW)
    rows = [NewReading(point.key, NOW - 2 * k * HOUR, value=0.35) for k in range(20, 0, -1)]
    made.write(person, rows, kind="round")
    yield made
    made.close()


def write(book: Book, plant: Plant, *rows, kind: str = "event") -> None:
    """Write rows as the first person of the plant."""
    book.write(plant.people[0].key, list(rows), kind=kind)


def test_a_history_is_read_whole_and_in_order(book, plant, point):
    """Every number there is, with name, area and the limits then in force."""
    track = read_study(book, plant, [point.key], NOW).tracks[0]
    assert track.times.size == 20
    assert (np.diff(track.times) > 0).all()
    assert "Mill" in track.name
    assert track.limits_at(NOW.timestamp() - 60) == point.limits
    assert track.limits_at(NOW.timestamp() - 50 * 3600) != point.limits
    assert track.gap_s == 5 * 3600


def test_what_is_known_is_not_read_again(book, plant, point):
    """A point added leaves the histories of the others as they are."""
    other = next(p for p in plant.points if p.kind.is_numeric and p.key != point.key)
    one = read_study(book, plant, [point.key], NOW)
    both = read_study(book, plant, [other.key, point.key], NOW, known=one)
    assert [track.key for track in both.tracks] == [other.key, point.key]
    assert both.tracks[1] is one.tracks[0]
    assert both.track("none") is None


def test_a_changed_limit_holds_from_then_on_only(book, plant, point):
    """The same value is judged by the limits of its time."""
    since = NOW - 20 * HOUR
    tight = replace(point, limits=Limits(warning_high=0.34, action_high=0.36))
    points = tuple(tight if p.key == point.key else p for p in plant.points)
    engineer = next(p for p in plant.people if p.role.value == "engineer")
    book.revise(engineer.key, replace(plant, points=points), effective_from=since, reason="thin")
    track = read_study(book, plant, [point.key], NOW).tracks[0]
    before = track.times < since.timestamp()
    assert (track.codes[before] == 0).all()
    assert (track.codes[~before] == 1).all()
    assert len([band for band in track.bands if band.limits.judges]) == 2


def test_readings_of_a_stop_are_not_judged(book, plant, point):
    """What was read while the plant was down is drawn, and nothing is made of it."""
    write(book, plant, NewStatus("plant", "", NOW - 11 * HOUR, "down", "belt"))
    write(book, plant, NewStatus("plant", "", NOW - 7 * HOUR, "up", "mended"))
    track = read_study(book, plant, [point.key], NOW).tracks[0]
    assert (track.codes == NOT_JUDGED_CODE).sum() == 2


def test_modes_other_than_the_normal_one_are_spans(book, plant, point):
    """From their beginning to the next change."""
    mode = next(m for m in plant.modes if m.key != "normal")
    write(book, plant, NewModeChange(NOW - 9 * HOUR, mode.key))
    write(book, plant, NewModeChange(NOW - 5 * HOUR, "normal"))
    (span,) = read_study(book, plant, [point.key], NOW).modes
    assert (span.end - span.start, span.name) == (4 * 3600, mode.name)


def test_corrections_come_with_the_history(book, plant, point):
    """The line has the new value; the old one is kept beside it."""
    old = book.readings([point.key], NOW - 5 * HOUR, NOW)[0]
    write(book, plant, corrected(old, why="slip", value=0.40), kind="correction")
    track = read_study(book, plant, [point.key], NOW).tracks[0]
    (one,) = track.corrections
    assert (one.old_value, one.new_value) == (0.35, 0.40)
    assert 0.40 in track.values
    assert track.times.size == 20


def test_a_point_that_is_not_there_is_refused(book, plant):
    """By its key."""
    with pytest.raises(KeyError):
        read_study(book, plant, ["nothing"], NOW)


def test_a_stop_belongs_to_the_points_it_stops(book, plant, point):
    """That of another area does not; of several points only what stops all."""
    other = next(p for p in plant.points if p.area != point.area and p.kind.is_numeric)
    write(book, plant, NewStatus("area", point.area, NOW - 6 * HOUR, "down", "rolls"))
    around = read_around(book, plant, NOW - 10 * HOUR, NOW)
    assert [reason for _, _, reason in around.of_points([point])] == ["rolls"]
    assert around.of_points([other]) == []
    assert around.of_points([point, other]) == []
    assert around.of_points([]) == []


def test_a_long_stretch_is_looked_at_from_afar(book, plant, point):
    """Stops that were entered, and no single entries."""
    write(book, plant, NewEntry(NOW - 3 * HOUR, "Noise.", area=point.area))
    write(book, plant, NewStatus("plant", "", NOW - 6 * HOUR, "down", "belt"))
    near = read_around(book, plant, NOW - CLOSE_LOOK, NOW)
    far = read_around(book, plant, NOW - 2 * CLOSE_LOOK, NOW)
    assert (len(near.entries), near.is_close) == (1, True)
    assert (len(far.entries), far.is_close) == (0, False)
    assert len(far.of_points([point])) == 1


def test_the_cursor_reads_the_nearest_reading_and_none_far_away(book, plant, point):
    """Value, local time and judgement in one line."""
    out = NewReading(point.key, NOW - HOUR, value=9.0)
    write(book, plant, out, kind="round")
    study = read_study(book, plant, [point.key], NOW)
    track = study.tracks[0]
    read = read_out(study, track, NOW.timestamp() - 3500)
    assert read.value == "9.00"
    assert "06:00" in read.when
    assert "action high" in read.words
    assert nearest_place(track, NOW.timestamp() - 90 * 3600) == -1
    assert "no reading" in read_out(study, track, NOW.timestamp() - 90 * 3600).words


def test_what_happened_at_an_instant_is_told_nearest_first(book, plant, point):
    """Entries about the area or about none, corrections, and stops that last."""
    write(book, plant, NewEntry(NOW - 2 * HOUR, "Far.", area=point.area))
    write(book, plant, NewEntry(NOW - HOUR, "Near.", area=point.area))
    write(book, plant, NewEntry(NOW - HOUR, "Elsewhere.", area=plant.areas[-1].key))
    write(book, plant, NewStatus("plant", "", NOW - 6 * HOUR, "down", "belt"))
    study = read_study(book, plant, [point.key], NOW)
    around = read_around(book, plant, NOW - 10 * HOUR, NOW)
    told = happened_at(study, around, study.tracks, NOW.timestamp() - 3600, 2 * 3600)
    assert [words.rpartition(": ")[2] for words in told] == ["Near.", "belt", "Far."]


@pytest.mark.parametrize(
    ("code", "severity", "direction"), [(-2, 2, -1), (-1, 1, -1), (0, 0, 0), (1, 1, 1), (2, 2, 1)]
)
def test_codes_are_judgements(code, severity, direction):
    """As the arrays hold them."""
    found = judgement_of(code)
    assert (found.severity, found.direction) == (severity, direction)
    assert found.is_judged
    assert not judgement_of(NOT_JUDGED_CODE).is_judged


def test_times_are_those_of_the_plants_clocks():
    """Over the clock change too, the doubled hour with its zone."""
    at = datetime(2026, 11, 1, 7, 30, tzinfo=UTC).timestamp()
    assert when_text(at, "America/Chicago") == "Sun 1 Nov 2026 01:30 CST"
    assert span_text(0.0, 30 * 86400.0, "UTC") == "1 Jan 1970 – 31 Jan 1970"


def test_a_closed_book_is_told(book, plant, point):
    """An error of the book, not of the database."""
    book.close()
    with pytest.raises(BookError):
        read_study(book, plant, [point.key], NOW)
