"""Lines that can be told apart: by colour, by dashes, and by their name at the head."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPen

from logbook.ui.theme import Theme

LIGHT_LINES = ("#2F3E38", "#17607D", "#7A3F8F", "#3C6B2E", "#8A4B12", "#4B57A6")
DARK_LINES = ("#C6D3CC", "#6DBBD6", "#CFA0E0", "#9ACB84", "#E0AE7A", "#A9B4F2")
DASHES: tuple[tuple[float, ...], ...] = ((), (7, 3), (2, 2.5), (9, 3, 2, 3), (4, 4), (12, 4))
"""In units of the line's width; the first is unbroken."""


def line_colour(theme: Theme, number: int) -> QColor:
    """Colour of the line of this number in its panel."""
    codes = DARK_LINES if theme.is_dark else LIGHT_LINES
    return QColor(codes[number % len(codes)])


def line_pen(theme: Theme, number: int, width: float = 1.0) -> QPen:
    """Pen of the line of this number in its panel."""
    pen = QPen(line_colour(theme, number), width)
    dashes = DASHES[number % len(DASHES)]
    if dashes:
        pen.setDashPattern(list(dashes))
    pen.setJoinStyle(Qt.PenJoinStyle.BevelJoin)
    return pen
