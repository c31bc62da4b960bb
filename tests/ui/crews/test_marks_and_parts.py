"""Marks, legend and cards, without a book."""

from __future__ import annotations

import itertools

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QFontMetrics, QImage, QPainter

from logbook.assess.limits import Direction, Judgement, Severity
from logbook.shift.review_cells import Cell, CellState, Mark
from logbook.ui.review.grid_paint import draw_mark, draw_state, shortened
from logbook.ui.review.legend import ASKED, ENTRIES
from logbook.ui.review.rows import GridCell
from logbook.ui.review.state_marks import draw_asked
from logbook.ui.theme import DARK_THEME, LIGHT_THEME, font


def painted(entry, theme) -> QImage:
    """A mark of the legend on the palette's surface, in greys."""
    image = QImage(20, 20, QImage.Format.Format_RGB32)
    image.fill(QColor(theme.colours.surface))
    painter = QPainter(image)
    box = QRectF(3, 3, 14, 14)
    if isinstance(entry, GridCell):
        draw_state(painter, box, entry, theme)
    elif isinstance(entry, Mark):
        draw_mark(painter, box, entry, theme)
    else:
        draw_asked(painter, box, theme)
    painter.end()
    return image.convertToFormat(QImage.Format.Format_Grayscale8)


@pytest.mark.parametrize("theme", [LIGHT_THEME, DARK_THEME], ids=["light", "dark"])
def test_every_mark_differs_from_every_other_without_colour(qapp, theme):
    """In greys, too, no two marks of the legend look alike, and none is invisible."""
    images = [painted(entry, theme) for entry, _ in ENTRIES]
    blank = QImage(20, 20, QImage.Format.Format_RGB32)
    blank.fill(QColor(theme.colours.surface))
    images.append(blank.convertToFormat(QImage.Format.Format_Grayscale8))
    for one, other in itertools.combinations(images, 2):
        assert one != other


def test_the_legend_names_every_state_and_every_mark():
    """Nothing stands in the grid that the legend does not explain; within limits has no mark."""
    entries = [entry for entry, _ in ENTRIES]
    states = {entry.found.state for entry in entries if isinstance(entry, GridCell)}
    assert states == set(CellState) - {CellState.OK}
    assert {entry for entry in entries if isinstance(entry, Mark)} == set(Mark)
    assert ASKED in entries


def test_a_cell_that_was_asked_about_wants_a_look():
    """F8 stops at it even where the reading itself is within limits."""
    cell = Cell(CellState.OK, "1", Judgement(Severity.NONE, Direction.NONE))
    assert not GridCell(cell).wants_a_look
    assert GridCell(cell, is_asked=True).wants_a_look


def test_a_long_name_keeps_machine_and_position(qapp):
    """What tells points of a table apart is cut last."""
    metrics = QFontMetrics(font())
    name = "Evaporators, stripper and oil dryer: Oil dryer, pressure"
    whole = metrics.horizontalAdvance(name)
    assert shortened(name, metrics, whole) == name
    cut = shortened(name, metrics, whole - 60)
    assert cut.endswith(": Oil dryer, pressure")
    assert metrics.horizontalAdvance(cut) <= whole - 60
    narrow = metrics.horizontalAdvance("Oil dryer, pressure") + 10
    assert shortened(name, metrics, narrow) == "Oil dryer, pressure"
