"""Marks are told apart by their shape: every check here looks at grey pictures."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QImage, QPainter

from logbook.assess.limits import NOT_JUDGED, WITHIN, Direction, Judgement, Severity
from logbook.ui.marks import draw_clock, draw_judgement, draw_missing, draw_tick
from logbook.ui.theme import DARK_THEME, LIGHT_THEME

SIDE = 24
ZOOM = 4
OUT = [Judgement(s, d) for s in (Severity.WARNING, Severity.ACTION) for d in Direction]


def drawn(draw, theme) -> np.ndarray:
    """A mark in the middle of its box as grey levels 0 to 255, several pixels to each of ours."""
    image = QImage(SIDE * ZOOM, SIDE * ZOOM, QImage.Format.Format_ARGB32)
    image.fill(theme.colour("surface"))
    painter = QPainter(image)
    painter.scale(ZOOM, ZOOM)
    draw(painter, QRectF(0, 0, SIDE, SIDE), theme)
    painter.end()
    grey = image.convertToFormat(QImage.Format.Format_Grayscale8)
    return np.frombuffer(bytes(grey.constBits()), np.uint8).reshape(SIDE * ZOOM, -1).astype(int)


def judged(judgement):
    """A drawer of a judgement's mark."""
    return lambda painter, box, theme: draw_judgement(painter, box, judgement, theme)


def silhouette(grey) -> np.ndarray:
    """Where a picture differs from its background at all."""
    return np.abs(grey - grey[0, 0]) > 24


MARKS = {
    **{str(judgement): judged(judgement) for judgement in OUT},
    "tick": draw_tick,
    "missing": draw_missing,
    "clock": draw_clock,
}


@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
@pytest.mark.parametrize(("one", "other"), list(combinations(MARKS, 2)))
def test_any_two_marks_differ_in_grey(one, other, theme):
    """At least a tenth of the area of the smaller mark has another grey."""
    first, second = drawn(MARKS[one], theme), drawn(MARKS[other], theme)
    smaller = min(silhouette(first).sum(), silhouette(second).sum())
    assert (np.abs(first - second) > 40).sum() > smaller / 10


@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
def test_warning_and_action_have_other_outlines(theme):
    """Without any colour, as black shapes, a warning is no square and an action mark is one."""
    for direction in Direction:
        warning = silhouette(drawn(judged(Judgement(Severity.WARNING, direction)), theme))
        action = silhouette(drawn(judged(Judgement(Severity.ACTION, direction)), theme))
        assert filled_part(outer(action)) > 0.9
        assert filled_part(outer(warning)) < 0.8


def outer(shape) -> np.ndarray:
    """The shape with what it encloses in each row filled."""
    columns = np.arange(shape.shape[1])
    rows = []
    for row in shape:
        there = columns[row]
        rows.append((columns >= there.min()) & (columns <= there.max()) if there.size else row)
    return np.array(rows)


def filled_part(shape) -> float:
    """Part of its bounding box that a shape fills."""
    rows, columns = np.nonzero(shape)
    height, width = np.ptp(rows) + 1, np.ptp(columns) + 1
    return len(rows) / (height * width)


@pytest.mark.parametrize("severity", [Severity.WARNING, Severity.ACTION])
def test_a_mark_points_the_way_the_value_went(severity):
    """High is low upside down, and the mark without direction is neither."""
    high, low, none = (
        drawn(judged(Judgement(severity, direction)), LIGHT_THEME)
        for direction in (Direction.HIGH, Direction.LOW, Direction.NONE)
    )
    assert np.abs(high - low[::-1]).mean() < 6
    assert np.abs(high - low).mean() > 2 * np.abs(high - low[::-1]).mean()
    assert np.abs(none - none[::-1]).mean() < 6


def test_a_warning_triangle_stands_on_its_base_when_the_value_is_high():
    """The upper half of the mark is narrower than the lower one."""
    shape = silhouette(drawn(judged(Judgement(Severity.WARNING, Direction.HIGH)), LIGHT_THEME))
    half = shape.shape[0] // 2
    assert shape[:half].sum() < shape[half:].sum()


@pytest.mark.parametrize("judgement", [WITHIN, NOT_JUDGED])
def test_what_is_within_limits_has_no_mark(judgement):
    """Nothing is drawn for a value within limits or not judged."""
    assert not silhouette(drawn(judged(judgement), LIGHT_THEME)).any()


@pytest.mark.parametrize("name", MARKS)
@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
def test_a_mark_stays_in_its_box_and_is_seen(name, theme):
    """A mark has some ink and leaves the edge of a 24-pixel box free."""
    shape = silhouette(drawn(MARKS[name], theme))
    assert shape.sum() > 20 * ZOOM * ZOOM / 2
    edge = ZOOM
    assert not shape[:edge].any()
    assert not shape[-edge:].any()
    assert not shape[:, :edge].any()
    assert not shape[:, -edge:].any()


def test_the_painter_is_left_as_it_was(qapp):
    """Pen, brush and render hints of the caller are untouched."""
    image = QImage(SIDE, SIDE, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    before = painter.pen(), painter.brush(), painter.renderHints()
    for draw in MARKS.values():
        draw(painter, QRectF(0, 0, SIDE, SIDE), LIGHT_THEME)
    assert (painter.pen(), painter.brush(), painter.renderHints()) == before
    painter.end()
