"""A mark for each state of a reading, told apart by shape; colour only repeats what the shape says."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from logbook.ui.theme import Theme, font

MARK = 13
"""Side of a mark in pixels."""


def draw_gap(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """An empty square in dashes: due, not taken, and nobody said why."""
    square = _square(box, MARK - 2)
    pen = QPen(theme.colour("action_text"), 1.5, Qt.PenStyle.CustomDashLine)
    pen.setDashPattern([2.2, 1.6])
    _begin(painter, pen)
    painter.drawRect(square)
    painter.restore()


def draw_corrected(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A pencil across a line: the value stands in the place of another."""
    square = _square(box, MARK - 1)
    _begin(painter, QPen(theme.colour("focus"), 1.4))
    left, right, top, foot = square.left(), square.right(), square.top(), square.bottom()
    painter.drawLine(QPointF(left, foot), QPointF(right, foot))
    painter.setBrush(theme.colour("focus"))
    tip = QPointF(left + 1.5, foot - 2.2)
    painter.drawPolygon(
        QPolygonF(
            [
                tip,
                QPointF(left + 2.4, foot - 5.4),
                QPointF(right - 3.2, top + 0.2),
                QPointF(right - 0.6, top + 2.8),
                QPointF(left + 5.0, foot - 2.8),
            ]
        )
    )
    painter.restore()


def draw_doubtful(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A question mark in a ring: kept as typed, worth a look."""
    square = _square(box, MARK)
    _begin(painter, QPen(theme.colour("text"), 1.2))
    painter.drawEllipse(square)
    painter.setFont(font("small", strong=True))
    painter.drawText(square, Qt.AlignmentFlag.AlignCenter, "?")
    painter.restore()


def draw_asked(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A speech bubble: a question to the crew stands open."""
    square = _square(box, MARK - 1)
    _begin(painter, QPen(theme.colour("focus"), 1.4))
    left, right, top = square.left(), square.right(), square.top()
    low = square.bottom() - 3.5
    painter.drawPolygon(
        QPolygonF(
            [
                QPointF(left, top),
                QPointF(right, top),
                QPointF(right, low),
                QPointF(left + 6.5, low),
                QPointF(left + 3.0, square.bottom()),
                QPointF(left + 3.0, low),
                QPointF(left, low),
            ]
        )
    )
    painter.restore()


def draw_not_due(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A small dot: nothing was due."""
    _begin(painter, QPen(Qt.PenStyle.NoPen))
    painter.setBrush(theme.colour("muted"))
    painter.drawEllipse(box.center(), 1.5, 1.5)
    painter.restore()


def draw_down(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """Two bars, as of something that stands still: the machine or area was down."""
    square = _square(box, MARK - 4)
    _begin(painter, QPen(Qt.PenStyle.NoPen))
    painter.setBrush(theme.colour("muted"))
    width = 2.6
    painter.drawRect(QRectF(square.left() + 0.8, square.top(), width, square.height()))
    painter.drawRect(QRectF(square.right() - 0.8 - width, square.top(), width, square.height()))
    painter.restore()


def draw_waiting(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """An empty ring: still in time."""
    _begin(painter, QPen(theme.colour("field_edge"), 1.3))
    painter.drawEllipse(_square(box, MARK - 5))
    painter.restore()


def _begin(painter: QPainter, pen: QPen) -> None:
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)


def _square(box: QRectF, side: float) -> QRectF:
    middle = box.center()
    return QRectF(middle.x() - side / 2, middle.y() - side / 2, side, side)
