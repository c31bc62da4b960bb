from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from logbook.assess.limits import LimitHistory, LimitSet, classify_array
from logbook.plant.file import read_plant
from logbook.plant.model import Plant
from logbook.plant.templates import template_path
from logbook.shift.trend_findings import (
    by_crew,
    chance_text,
    pair_found,
    periods_found,
    shape_found,
    side_by_side,
    strength_word,
)
from logbook.shift.trend_study import Study, Track, panels_of
from logbook.shift.trends import Band

START = datetime(2026, 1, 5, 12, tzinfo=UTC)
STEP = 7200


@pytest.fixture(scope="module")
def plant() -> Plant:
    """The shipped metric template."""
    return read_plant(template_path("soybean-metric"))


@pytest.fixture(scope="module")
def track_of(plant):
    """Makes the track of a numeric point out of values two hours apart."""
    points = [p for p in plant.points if p.kind.is_numeric and p.unit == "°C"]

    def make(number: int, values, *, unit: str = "°C") -> Track:
        point = replace(points[number], unit=unit, decimals=1)
        times = int(START.timestamp()) + STEP * np.arange(len(values))
        values = np.asarray(values, dtype=float)
        history = LimitHistory([LimitSet("normal", START - timedelta(days=1), point.limits)])
        codes = classify_array(values, history.in_force(times))
        band = Band(0.0, float(times[-1]) + 1, point.limits)
        return Track(
            point=point, name=f"Point {number}", area="Area", times=times, values=values,
            codes=codes, bands=(band,), gap_s=18000.0,
        )  # fmt: skip

    return make


def whole(track: Track) -> tuple[float, float]:
    """All of a track."""
    return float(track.times[0]), float(track.times[-1])


def test_the_follower_is_named_with_its_delay(track_of):
    """A point that repeats another six hours later is said to follow it by 6 h."""
    wave = np.random.default_rng(1).normal(60, 2, 500)
    first, second = track_of(0, wave[3:]), track_of(1, wave[:-3])
    found = pair_found(first, second, *whole(first))
    assert found.found.lag == 3
    assert "when Point 1 follows Point 0 by 6" in found.told[0]
    assert "very strong" in found.told[0]
    assert "does not show that one drives the other" in found.told[-1]
    a, b = found.shifted()
    assert np.allclose(a, b)


def test_unrelated_points_may_be_chance(track_of):
    """Two that know nothing of one another are told so."""
    rng = np.random.default_rng(2)
    first, second = track_of(0, rng.normal(60, 2, 300)), track_of(1, rng.normal(60, 2, 300))
    told = pair_found(first, second, *whole(first)).told
    assert "So this may well be chance." in told


def test_too_few_readings_are_no_pair(track_of):
    """Nothing is said of two readings."""
    first, second = track_of(0, [1.0, 2.0]), track_of(1, [1.0, 2.0])
    assert pair_found(first, second, *whole(first)) is None


def test_the_shape_counts_what_was_out_of_limits(track_of):
    """By the limits then in force, not by eye."""
    track = track_of(0, np.linspace(0, 200, 100))
    found = shape_found(track, *whole(track))
    assert found.outside == int((track.codes != 0).sum())
    assert f"{found.outside} of 100" in found.told[1]
    assert shape_found(track, 0.0, 1.0) is None


def test_a_step_between_two_stretches_is_more_than_chance(track_of):
    """And no step is none."""
    rng = np.random.default_rng(3)
    values = np.append(rng.normal(60, 1, 200), rng.normal(63, 1, 200))
    track = track_of(0, values)
    start, end = whole(track)
    half = (start + end) / 2
    told = periods_found(track, (half, end), (start, half), ("this", "other")).told
    assert "more than chance explains" in told[1]
    assert "+3." in told[1] or "+2.9" in told[1]
    same = periods_found(track, (half, end), (half, end), ("this", "other")).told
    assert "may well be none" in same[1]
    none = periods_found(track, (half, end), (0.0, 1.0), ("this", "other")).told
    assert none == ("One of the two stretches has no readings.",)


def test_machines_are_ordered_by_their_means(track_of):
    """Lowest and highest are named; the farthest apart of many always are."""
    rng = np.random.default_rng(4)
    tracks = [track_of(k, rng.normal(60 + k, 1, 200)) for k in range(3)]
    found = side_by_side(tracks, *whole(tracks[0]))
    assert [group.name for group in found.groups] == ["Point 0", "Point 1", "Point 2"]
    assert "Lowest mean: Point 0" in found.told[0]
    assert "highest: Point 2" in found.told[0]


@pytest.mark.parametrize("apart", [0.0, 6.0])
def test_crews_are_told_apart_only_where_they_differ(plant, track_of, apart):
    """By means of shifts: a crew that runs hotter is found, equal ones are not."""
    rng = np.random.default_rng(5)
    track = track_of(0, rng.normal(60, 1, 12 * 80))
    study = Study(plant=plant, tracks=(track,), modes=(), start=0.0, end=whole(track)[1])
    first = by_crew(study, track, *whole(track))
    assert sum(group.count for group in first.groups) == track.times.size
    names = [crew.name for crew in plant.calendar.crews]
    assert [group.name for group in first.groups] == names
    lifted = _lifted(plant, track, apart)
    words = " ".join(by_crew(study, lifted, *whole(track)).told)
    assert ("less than once in 1000" in words) == (apart > 0.0)
    assert "not a verdict" in words


def _lifted(plant: Plant, track: Track, by: float) -> Track:
    """The same with the readings of the first crew so much higher."""
    from logbook.plant.calendar import shift_at

    key = plant.calendar.crews[0].key
    crews = [shift_at(plant.calendar, datetime.fromtimestamp(t, UTC)).crew for t in track.times]
    return replace(track, values=track.values + by * np.array([crew == key for crew in crews]))


def test_points_share_axes_by_unit_or_have_their_own(track_of):
    """The order is that in which they were chosen."""
    tracks = [track_of(0, [1.0]), track_of(1, [2.0], unit="bar"), track_of(2, [3.0])]
    assert [len(group) for group in panels_of(tracks, by_unit=False)] == [1, 1, 1]
    groups = panels_of(tracks, by_unit=True)
    assert [[one.name for one in group] for group in groups] == [
        ["Point 0", "Point 2"],
        ["Point 1"],
    ]


def test_words_for_sizes_and_chances():
    """Every size has a word; tiny and sure chances are said as such."""
    assert [strength_word(r) for r in (0.0, -0.3, 0.5, -0.7, 1.0)] == [
        "hardly any", "weak", "moderate", "strong", "very strong",
    ]  # fmt: skip
    assert chance_text(1e-9) == "less than once in 1000"
    assert chance_text(0.005) == "5 times in 1000"
    assert chance_text(1.0) == "100 times in 100"
