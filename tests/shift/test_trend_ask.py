from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from logbook.plant.file import read_plant
from logbook.plant.model import Plant
from logbook.plant.templates import template_path
from logbook.shift.trend_ask import AskError, asked_span, named_points

NOW = datetime(2026, 6, 18, 15, tzinfo=UTC)
ZONE = "America/Chicago"


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The shipped metric template, one of its points with a tag."""
    read = read_plant(template_path("soybean-metric"))
    points = list(read.points)
    points[60] = replace(points[60], tag="TI-207")
    return replace(read, points=tuple(points))


def test_points_are_named_by_key_tag_or_words(plant):
    """And each is taken once, in the order named."""
    tagged = plant.points[60]
    flake = next(p for p in plant.points if p.kind.is_numeric and "thickness" in p.key)
    found = named_points(
        plant, ["ti-207", flake.key.upper(), "thickness mill 1 centre", tagged.key]
    )
    assert found[0] == tagged.key
    assert found[1] == flake.key
    assert len(found) == len(set(found))


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("zzz", "no point with numbers fits"),
        ("mill", "points: "),
        ("", "no point"),
    ],
)
def test_a_name_that_fits_none_or_many_is_told(plant, name, said):
    """With what it does fit."""
    with pytest.raises(AskError, match=said):
        named_points(plant, [name])


def test_a_point_answered_in_words_has_no_trend(plant):
    """It is said why."""
    state = next(p for p in plant.points if not p.kind.is_numeric)
    with pytest.raises(AskError, match="answered in words"):
        named_points(plant, [state.key])


def test_days_are_whole_and_local():
    """From the first one's midnight to the end of the last."""
    start, end = asked_span("2026-05-01", "2026-05-14", ZONE, NOW)
    assert start == datetime(2026, 5, 1, 5, tzinfo=UTC)
    assert end == datetime(2026, 5, 15, 5, tzinfo=UTC)


def test_without_ends_it_is_the_last_thirty_days():
    """Up to the present, and never beyond it."""
    assert asked_span(None, None, ZONE, NOW) == (NOW - timedelta(days=30), NOW)
    assert asked_span("2026-06-01", "2027-01-01", ZONE, NOW)[1] == NOW


def test_times_have_an_offset_or_are_those_of_the_plant():
    """Both are read."""
    start, end = asked_span("2026-06-01 06:00", "2026-06-01T13:00+00:00", ZONE, NOW)
    assert (start.hour, end.hour) == (11, 13)


@pytest.mark.parametrize(
    ("since", "until", "said"),
    [
        ("soon", None, "no day and no time"),
        ("2026-13-01", None, "no day and no time"),
        ("2026-06-10", "2026-06-01", "before it begins"),
        ("2025-11-02 01:30", None, "comes twice"),
        ("2026-03-08 02:30", None, "does not exist"),
    ],
)
def test_what_names_no_stretch_is_told(since, until, said):
    """In a sentence with what would be understood."""
    with pytest.raises(AskError, match=said):
        asked_span(since, until, ZONE, NOW)
