from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest

from logbook.plant.file import read_plant
from logbook.plant.templates import template_path
from logbook.report.chart_control import control_figure
from logbook.shift.trend_control import FALSE_ALARMS, RULES_OF_ITS_OWN, control_found
from logbook.shift.trend_study import Track
from logbook.shift.trends import Band

START = int(datetime(2026, 1, 5, 12, tzinfo=UTC).timestamp())
ZONE = "America/Chicago"


@pytest.fixture(scope="module")
def track_of():
    """Makes the track of a point with limits out of values two hours apart."""
    plant = read_plant(template_path("soybean-metric"))
    point = next(p for p in plant.points if p.limits.warning_high is not None)
    point = replace(point, decimals=2, unit="mm")

    def make(values) -> Track:
        times = START + 7200 * np.arange(len(values))
        band = Band(0.0, 4e9, point.limits)
        codes = np.zeros(len(values), dtype=np.int8)
        return Track(
            point=point, name="Gap", area="Mills", times=times, values=np.asarray(values, float),
            codes=codes, bands=(band,), gap_s=18000.0,
        )  # fmt: skip

    return make


def test_a_step_is_told_with_its_side_and_about_its_beginning(track_of):
    """A level that rose is said to be higher since then, from limits of before."""
    values = np.random.default_rng(1).normal(0.35, 0.02, 600)
    values[500:] += 0.05
    track = track_of(values)
    shown = float(track.times[450]), float(track.times[-1])
    found = control_found(track, *shown, ZONE)
    words = " ".join(found.told)
    assert "Stable from Mon 5 Jan 2026" in words
    assert "the level has been higher since about" in words
    began = found.charts.cusum.signals[-1].began
    assert 490 <= began <= 510
    assert found.charts.baseline.stop <= 505
    assert found.told[-1] == FALSE_ALARMS


def test_the_charts_begin_before_the_stretch_shown(track_of):
    """What is stable is learnt from earlier readings; the figure shows the stretch alone."""
    track = track_of(np.random.default_rng(2).normal(0.35, 0.02, 600))
    start, end = float(track.times[550]), float(track.times[-1])
    found = control_found(track, start, end, ZONE)
    assert found.taken_at[0] == track.times[0]
    assert found.shown == slice(550, 599)
    figure = control_figure(found, ZONE, size=(6.0, 4.0))
    assert [ax.get_xlim() for ax in figure.axes] == [(start, end)] * 3


def test_too_few_readings_have_no_charts_or_no_limits(track_of):
    """Two readings give none; ten give charts that say why they judge nothing."""
    assert control_found(track_of([1.0, 2.0]), START, START + 7200, ZONE) is None
    track = track_of(np.random.default_rng(3).normal(0.35, 0.02, 10))
    found = control_found(track, START, float(track.times[-1]), ZONE)
    assert found.told[0].startswith("No limits: ")
    assert len(control_figure(found, ZONE, size=(6.0, 4.0)).axes) == 3


def test_neighbours_that_resemble_one_another_are_told(track_of):
    """And limits allow for it: they are wider than those of independent readings."""
    rng = np.random.default_rng(4)
    values = np.empty(600)
    values[0] = 0.0
    for k in range(1, 600):
        values[k] = 0.7 * values[k - 1] + rng.normal()
    track = track_of(values)
    found = control_found(track, START, float(track.times[-1]), ZONE)
    assert any("resemble one another" in words for words in found.told)
    one = found.charts.individuals
    assert one.upper - one.lower > 6 * values.std() * 0.85


def test_a_point_with_rules_of_its_own_is_told_so(track_of):
    """The usual rate of false alarms is that of the usual rules."""
    track = track_of(np.random.default_rng(5).normal(0.35, 0.02, 300))
    own = replace(track, point=replace(track.point, chart_rules=("limits",)))
    found = control_found(own, START, float(track.times[-1]), ZONE)
    assert found.told[-1] == RULES_OF_ITS_OWN
