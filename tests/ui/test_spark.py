"""The sparkline, by its scale and by its pixels."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter

from logbook.assess.limits import NOT_JUDGED_CODE, WITHIN, Direction, Judgement, Severity
from logbook.plant.model import NO_LIMITS, Limits
from logbook.shift.trends import Band, Trend
from logbook.ui.spark import RIGHT_ROOM, draw_spark, scale_of, trace_polygon
from logbook.ui.theme import DARK_THEME, LIGHT_THEME

WEEK = 7 * 86_400
BOX = QRectF(0, 0, 220, 60)
LIMITS = Limits(warning_low=40.0, warning_high=60.0, action_low=30.0, action_high=70.0, target=50.0)
WARNING = Judgement(Severity.WARNING, Direction.HIGH)
ACTION = Judgement(Severity.ACTION, Direction.HIGH)


def trend(values, codes=None, limits=LIMITS, bands=None) -> Trend:
    """A week of readings at equal distances."""
    values = np.asarray(values, dtype=np.float64)
    times = np.linspace(0, WEEK, len(values)).astype(np.int64)
    codes = np.zeros(len(values), np.int8) if codes is None else np.asarray(codes, np.int8)
    bands = (Band(0.0, WEEK, limits),) if bands is None else bands
    return Trend(0.0, WEEK, times, values, codes, bands)


def picture(shown, *, live=None, judgement=None, theme=LIGHT_THEME) -> np.ndarray:
    """The sparkline as an array of rows, columns and red, green, blue."""
    image = QImage(int(BOX.width()), int(BOX.height()), QImage.Format.Format_RGB32)
    image.fill(theme.colour("surface"))
    painter = QPainter(image)
    draw_spark(painter, BOX, shown, theme, live=live, judgement=judgement)
    painter.end()
    flat = np.frombuffer(bytes(image.constBits()), np.uint8)
    return flat.reshape(image.height(), image.width(), 4)[:, :, 2::-1].astype(int)


def where(pixels, name, theme=LIGHT_THEME, near=24) -> np.ndarray:
    """Rows and columns of the pixels that have about the palette's colour `name`."""
    wanted = QColor(theme.colour(name))
    rgb = np.array([wanted.red(), wanted.green(), wanted.blue()])
    return np.argwhere(np.abs(pixels - rgb).max(axis=2) <= near)


# -- scale --------------------------------------------------------------------------------


def test_higher_values_stand_higher_and_later_ones_further_right():
    """The corners of the window and of the span are the corners of the box."""
    scale = scale_of(trend([45, 55]), BOX)
    assert scale.x(0) == BOX.left()
    assert scale.x(WEEK) == BOX.right() - RIGHT_ROOM
    assert scale.y(scale.low) == BOX.bottom()
    assert scale.y(scale.high) == BOX.top()
    assert scale.y(60) < scale.y(50) < scale.y(40)


def test_values_beyond_the_span_are_clipped_to_the_box():
    """A typing error a thousand times too large stands at the edge, not outside."""
    scale = scale_of(trend([50, 50_000]), BOX)
    assert scale.y(50_000) == BOX.top()
    assert scale.y(-50_000) == BOX.bottom()
    assert scale.y(60) - scale.y(70) > 5  # and the limits are still told apart


def test_a_live_value_stretches_the_scale_by_its_own_span_at_most():
    """A slip of a factor ten leaves a third of the height to the week's readings."""
    quiet = scale_of(trend([48, 52]), BOX)
    wild = scale_of(trend([48, 52]), BOX, live=5_000.0)
    assert wild.high - wild.low <= 2 * (quiet.high - quiet.low) + 1e-9
    near = scale_of(trend([48, 52]), BOX, live=quiet.high + 1)
    assert near.y(quiet.high + 1) > BOX.top()


@pytest.mark.parametrize("live", [None, math.nan, math.inf, -math.inf])
def test_what_is_no_number_does_not_stretch_the_scale(live):
    """An empty or endless value leaves the scale as it is, and nothing is drawn for it."""
    shown = trend([48, 52])
    assert scale_of(shown, BOX, live) == scale_of(shown, BOX)
    assert (picture(shown, live=live) == picture(shown)).all()


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=40),
    st.one_of(st.none(), st.floats(-1e9, 1e9)),
    st.sampled_from([LIMITS, NO_LIMITS, Limits(warning_high=10.0)]),
)
def test_no_point_of_the_trace_leaves_the_box(values, live, limits):
    """Whatever the readings are, and whatever is typed, the trace stays inside."""
    shown = trend(values, limits=limits)
    scale = scale_of(shown, BOX, live)
    slack = 1e-6
    for point in trace_polygon(scale, shown):
        assert BOX.left() - slack <= point.x() <= BOX.right() - RIGHT_ROOM + slack
        assert BOX.top() - slack <= point.y() <= BOX.bottom() + slack


def test_the_trace_is_the_scale_applied_to_each_reading():
    """The fast way over arrays gives the pixels that the scale gives one by one."""
    shown = trend([48, 52, 90, 41, 12])
    scale = scale_of(shown, BOX)
    points = list(trace_polygon(scale, shown))
    assert [p.x() for p in points] == pytest.approx([scale.x(at) for at in shown.taken_at.tolist()])
    assert [p.y() for p in points] == pytest.approx([scale.y(v) for v in shown.value.tolist()])


# -- bands and trace ----------------------------------------------------------------------


def test_the_band_lies_between_the_warning_limits():
    """Its upper and lower edges stand at the limits, to a pixel."""
    shown = trend([])
    rows = where(picture(shown), "band", near=2)[:, 0]
    scale = scale_of(shown, BOX.adjusted(1, 2, -1, -2))
    assert rows.min() == pytest.approx(scale.y(60), abs=1.1)
    assert rows.max() == pytest.approx(scale.y(40), abs=1.1)


def test_one_sided_limits_fill_to_the_edge():
    """With an upper limit alone the band reaches down to the bottom."""
    shown = trend([40.0, 55.0], limits=Limits(warning_high=60.0, target=40.0))
    rows = where(picture(shown), "band", near=2)[:, 0]
    scale = scale_of(shown, BOX.adjusted(1, 2, -1, -2))
    assert rows.min() == pytest.approx(scale.y(60), abs=1.1)
    assert rows.max() >= BOX.bottom() - 4


def test_a_revision_moves_the_band_where_it_takes_effect():
    """Left of the revision the old limits, right of it the new ones."""
    wide = Limits(warning_low=20.0, warning_high=80.0)
    shown = trend([], bands=(Band(0.0, WEEK / 2, LIMITS), Band(WEEK / 2, WEEK, wide)))
    band = where(picture(shown), "band", near=2)
    middle = (BOX.width() - RIGHT_ROOM) / 2
    left = band[band[:, 1] < middle - 3][:, 0]
    right = band[band[:, 1] > middle + 3][:, 0]
    assert np.ptp(right) > 2 * np.ptp(left)


def test_without_limits_there_is_no_band():
    """A point that is not judged shows its trace alone."""
    pixels = picture(trend([1, 2, 3], limits=NO_LIMITS))
    assert len(where(pixels, "band", near=2)) == 0
    assert len(where(pixels, "trace", near=60)) > 50


def test_nothing_read_yet_draws_without_a_trace():
    """An empty history, and a single reading, draw without failing."""
    assert len(where(picture(trend([], limits=NO_LIMITS)), "trace", near=60)) == 0
    assert len(where(picture(trend([50.0])), "trace", near=60)) >= 1


def test_readings_out_of_limits_have_dots_where_they_were():
    """A warning and an action have dots in their colours at their times; others have none."""
    shown = trend([50, 65, 50, 75, 50], codes=[0, 1, 0, 2, 0])
    pixels = picture(shown)
    scale = scale_of(shown, BOX.adjusted(1, 2, -1, -2))
    for name, index in (("warning_fill", 1), ("action_fill", 3)):
        dots = where(pixels, name, near=60)
        x, y = scale.x(float(shown.taken_at[index])), scale.y(float(shown.value[index]))
        assert dots.mean(axis=0) == pytest.approx([y, x], abs=1.5)


def test_what_is_not_judged_has_no_dot():
    """A reading while the machine stood is drawn like one within limits."""
    off = picture(trend([50, 65, 50], codes=[0, NOT_JUDGED_CODE, 0]))
    assert (off == picture(trend([50, 65, 50], codes=[0, 0, 0]))).all()


# -- the value being typed ----------------------------------------------------------------


@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
def test_the_live_value_stands_at_the_right_at_its_height(theme):
    """Its dot lies in the room kept free, as high as the value."""
    shown = trend([50, 52, 49])
    dots = where(picture(shown, live=55.0, judgement=WITHIN, theme=theme), "focus", theme, 8)
    dots = dots[dots[:, 1] >= BOX.width() - RIGHT_ROOM]
    scale = scale_of(shown, BOX.adjusted(1, 2, -1, -2), 55.0)
    assert len(dots) > 10
    assert dots[:, 0].mean() == pytest.approx(scale.y(55.0), abs=1.5)


@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
def test_the_live_value_in_and_out_of_limits_is_drawn_differently(theme):
    """Within, warning and action have their own colours in the same place."""
    shown = trend([50, 52, 49])
    fills = {WITHIN: "focus", WARNING: "warning_fill", ACTION: "action_fill"}
    for judgement, name in fills.items():
        pixels = picture(shown, live=62.0, judgement=judgement, theme=theme)
        room = pixels[:, int(BOX.width() - RIGHT_ROOM) :]
        for other in fills.values():
            assert (len(where(room, other, theme, near=12)) > 10) is (other == name)


def test_the_live_value_moves_with_what_is_typed():
    """A higher number stands higher."""
    shown = trend([50, 52, 49])
    heights = []
    for value in (42.0, 50.0, 58.0):
        dots = where(picture(shown, live=value, judgement=WITHIN), "focus", near=8)
        heights.append(dots[dots[:, 1] >= BOX.width() - RIGHT_ROOM][:, 0].mean())
    assert heights == sorted(heights, reverse=True)
    assert heights[0] - heights[-1] > 10


def test_nothing_is_drawn_outside_the_box():
    """Flags and the live dot at the edges are cut off at the box, a pixel allowed."""
    image = QImage(300, 120, QImage.Format.Format_RGB32)
    image.fill(LIGHT_THEME.colour("surface"))
    before = image.copy()
    painter = QPainter(image)
    box = QRectF(40, 30, 220, 60)
    shown = trend([10, 500, -500], codes=[-2, 2, -2])
    draw_spark(painter, box, shown, LIGHT_THEME, live=900.0, judgement=ACTION)
    painter.fillRect(box.adjusted(-1, -1, 1, 1), LIGHT_THEME.colour("surface"))
    painter.end()
    assert image == before
