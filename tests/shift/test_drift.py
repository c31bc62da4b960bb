from datetime import UTC, datetime, timedelta

import pytest

from logbook.assess.forecast import Reach
from logbook.record import open_book
from logbook.shift.drift import drifts_at, peers_of, points_that_drift
from sample_db.story import DEFAULT_END

WORN = datetime(2026, 2, 1, 0, tzinfo=UTC)
"""Twelve and a half days after the right side of mill 4 began to wear."""


@pytest.fixture(scope="module")
def book(sample_book_path):
    """The sample book, open for reading."""
    with open_book(sample_book_path, clock=lambda: DEFAULT_END, writable=False) as opened:
        yield opened


@pytest.fixture(scope="module")
def worn(book):
    """What drifts while mill 4 wears."""
    return drifts_at(book, book.plant_at(WORN), WORN)


def test_the_worn_roll_of_mill_4_is_seen_on_its_own_side(worn):
    """Right rises and left and centre do not; the action limit is some days ahead."""
    by_key = {one.point.key: one for one in worn.found}
    right = by_key["flake_thickness.fm4.right"]
    assert right.drift.word == "rising"
    assert right.drift.slope == pytest.approx(0.0035, rel=0.6)
    assert right.forecast.reach is Reach.ACTION
    assert right.phrase.startswith("rising, action limit in about ")
    assert "flake_thickness.fm4.left" not in by_key
    assert "flake_thickness.fm4.centre" not in by_key


def test_since_when_is_told_near_the_truth(worn):
    """The wear began on 19 January; told within six days."""
    (right,) = (one for one in worn.found if one.point.key == "flake_thickness.fm4.right")
    began = datetime(2026, 1, 19, 12, tzinfo=UTC)
    assert abs(right.since - began) < timedelta(days=6)


def test_few_are_shown_and_each_with_a_forecast(worn):
    """At most three, the most urgent first; nearly all of the points stand."""
    shown = worn.shown()
    assert 1 <= len(shown) <= 3
    assert all(one.forecast is not None for one in shown)
    assert shown[0].point.key in {"flake_thickness.fm4.right", "flake_skew.fm4"}
    assert worn.looked_at > 300
    assert len(worn.found) < 20


def test_a_fouled_condenser_is_seen_apart_from_the_warm_water(book):
    """Its approach rises while those of the other three do not."""
    now = datetime(2026, 4, 7, 12, tzinfo=UTC)
    found = {one.point.key for one in drifts_at(book, book.plant_at(now), now).found}
    assert found & {"condenser_approach.c4", "condenser_outlet.c4"}
    assert not found & {"condenser_approach.c1", "condenser_approach.c2", "condenser_approach.c3"}


def test_readings_of_later_times_are_not_known_yet(book):
    """A drift at an instant is the same whatever the book holds after it."""
    early = datetime(2025, 6, 20, 12, tzinfo=UTC)
    plant = book.plant_at(early)
    once, again = drifts_at(book, plant, early), drifts_at(book, plant, early)
    assert once == again
    before = book.created_at - timedelta(days=2)
    assert drifts_at(book, plant, before).found == ()


def test_peers_are_the_same_reading_of_machines_of_a_table(book):
    """Eighteen thicknesses of six mills are one group; counters are in none."""
    points = points_that_drift(book.plant_at(DEFAULT_END))
    groups = [{points[k].key for k in group} for group in peers_of(points)]
    (flakes,) = (group for group in groups if "flake_thickness.fm1.left" in group)
    assert len(flakes) == 18
    assert not any(point.key == "bean_total" for point in points)
