from datetime import UTC, datetime, timedelta

import pytest

from logbook.assess.doubtful.question import Doubt
from logbook.plant.model import Role
from logbook.record import open_book
from logbook.shift.doubtful import doubtful_of, neighbours_of
from logbook.shift.doubtful_words import as_json, subject, text_lines
from sample_db.story import DEFAULT_END

pytestmark = pytest.mark.slow

NIGHTS = ("2026-04-20", "2026-04-24", "2026-04-26", "2026-04-30", "2026-05-19", "2026-05-23")
"""Nights (by local date of their start) of which two rounds were copied; sample_db/README.md."""
COPIER, LEAVER = "pebblemarsh", "larkmarrow"
SLIPS = {
    ("2025-08-30T21:00", "bean_feed_rate"),
    ("2025-12-01T08:00", "stripping_steam_flow"),
    ("2026-01-07T08:00", "steam_flow"),
    ("2026-01-12T12:00", "scrubber_oil_flow"),
    ("2026-05-16T11:00", "oil_vacuum.stripper"),
}
"""Misplaced decimal marks that nobody corrected (UTC)."""


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def year(book):
    """All the questions of the whole book, as a supervisor sees them."""
    plant = book.plant_at(DEFAULT_END)
    return doubtful_of(book, plant, book.created_at, DEFAULT_END, reader=Role.SUPERVISOR)


def kind(found, doubt):
    """The questions of one kind."""
    return [one for one in found.questions if one.doubt is doubt]


def test_every_copied_round_of_the_story_is_asked_about_and_no_other(year):
    """Two rounds of each of the six nights, 02:00 and 04:00 local time (07:00 and 09:00 UTC)."""
    wanted = {
        int(
            (
                datetime.fromisoformat(night).replace(tzinfo=UTC) + timedelta(days=1, hours=h)
            ).timestamp()
        )
        for night in NIGHTS
        for h in (7, 9)
    }
    asked = kind(year, Doubt.COPIED)
    assert {one.at for one in asked} == wanted
    assert {one.person for one in asked} == {COPIER}
    assert max(one.adjusted for one in asked) < 1e-50


def test_honest_crews_are_not_asked_about_rounds_repeats_or_digits(year):
    """At a stated share of 1 % false questions there is none about an honest person."""
    people = {one.person for one in year.questions if not one.doubt.is_slip}
    assert people == {COPIER, LEAVER}
    assert {one.person for one in kind(year, Doubt.PACE)} == {COPIER}
    assert kind(year, Doubt.REPEATED) == []


def test_who_reads_ammeters_in_fives_is_found(year):
    """Both people of the story, on ammeters alone."""
    asked = kind(year, Doubt.DIGITS)
    assert {one.person for one in asked} == {COPIER, LEAVER}
    units = {year.plant.point(key).unit for one in asked for key in one.points}
    assert units == {"A"}


def test_misplaced_decimal_marks_that_nobody_corrected_are_found(year):
    """At least four of the five, and of what is asked one in twenty at most, or one, is no slip."""
    asked = {
        (f"{datetime.fromtimestamp(one.at, UTC):%Y-%m-%dT%H:%M}", one.points[0])
        for one in year.questions
        if one.doubt.is_slip
    }
    assert len(asked & SLIPS) >= 4
    assert len(asked - SLIPS) <= 1


def test_names_are_for_the_supervisor_alone(book):
    """Everybody else, and the command line, gets shift and point."""
    plant, start = book.plant_at(DEFAULT_END), datetime(2026, 5, 18, 11, tzinfo=UTC)
    end = start + timedelta(days=7)
    for reader in (None, Role.OPERATOR, Role.ENGINEER, Role.READER):
        found = doubtful_of(book, plant, start, end, reader=reader)
        assert kind(found, Doubt.COPIED)
        assert all(one.person is None for one in found.questions)
        assert "Pebblemarsh" not in "\n".join(text_lines(found))
        assert COPIER not in str(as_json(found))
    told = doubtful_of(book, plant, start, end, reader=Role.SUPERVISOR)
    assert "Pebblemarsh" in "\n".join(text_lines(told))


def test_a_week_finds_what_the_year_finds(book):
    """What is usual comes from the ninety days before too."""
    plant, start = book.plant_at(DEFAULT_END), datetime(2026, 5, 18, 11, tzinfo=UTC)
    found = doubtful_of(book, plant, start, start + timedelta(days=7))
    assert len(kind(found, Doubt.COPIED)) == 4
    assert found.rounds in range(78, 85)


def test_the_text_asks_and_explains_before_it_suspects(year):
    """Every kind names an honest explanation; every question ends with a question mark."""
    lines = text_lines(year)
    assert all(len(line) <= 110 for line in lines)
    text = " ".join(" ".join(lines).split())
    assert "questions, not findings about anybody" in text
    for one in year.questions:
        assert one.question.endswith("?")
        assert one.innocent in text
        assert subject(year.plant, one)
    for word in ("falsif", "fraud", "cheat", "lied", "guilty"):
        assert word not in text.lower()


def test_the_data_hold_every_question(year):
    """With evidence, weight and how many were looked at."""
    told = as_json(year)
    assert len(told["questions"]) == len(year.questions)
    assert {"kind", "points", "evidence", "innocent", "adjusted", "looked_at", "shift"} <= set(
        told["questions"][0]
    )


def test_a_time_without_rounds_has_no_question(book):
    """Before the book began."""
    plant, start = book.plant_at(DEFAULT_END), datetime(2024, 1, 1, tzinfo=UTC)
    found = doubtful_of(book, plant, start, start + timedelta(days=9))
    assert found.questions == ()
    assert "No question." in text_lines(found)


def test_neighbours_are_columns_of_one_row_with_one_unit(book):
    """Left and centre of a mill, not left and current."""
    points = list(book.plant_at(DEFAULT_END).points)
    pairs = {(points[a].key, points[b].key) for a, b in neighbours_of(points)}
    assert ("flake_thickness.fm1.left", "flake_thickness.fm1.centre") in pairs
    assert all(points[a].unit == points[b].unit for a, b in neighbours_of(points))
