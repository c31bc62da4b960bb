"""Severity and state marks, drawn: a shape for each, so that colour is never the only sign.

Warning: a triangle with a dark edge pointing the way the value went.
Action: a solid square with an arrow cut out, pointing the way the value went.
A choice without a direction uses a bar in the place of the arrow.
Drift: an open slanting arrow, up or down, without a frame.
"""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPen, QPolygonF

from logbook.assess.limits import Direction, Judgement, Severity
from logbook.ui.theme import Theme


def draw_judgement(painter: QPainter, box: QRectF, judgement: Judgement, theme: Theme) -> None:
    """Draw the mark of a judgement centred in `box`; nothing for a value within limits."""
    if not judgement.is_judged or judgement.severity is Severity.NONE:
        return
    side = min(box.width(), box.height(), 14.0)
    square = QRectF(box.center().x() - side / 2, box.center().y() - side / 2, side, side)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    if judgement.severity is Severity.WARNING:
        _draw_warning(painter, square, judgement.direction, theme)
    else:
        _draw_action(painter, square, judgement.direction, theme)
    painter.restore()


def draw_drift(painter: QPainter, box: QRectF, direction: Direction, theme: Theme) -> None:
    """Draw the mark of a slow change centred in `box`: a slanting arrow, up or down."""
    side = min(box.width(), box.height(), 12.0)
    square = QRectF(box.center().x() - side / 2, box.center().y() - side / 2, side, side)
    tip, tail = square.topRight(), square.bottomLeft()
    down = 1.0
    if direction is Direction.LOW:
        tip, tail, down = square.bottomRight(), square.topLeft(), -1.0
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.colour("text"), 1.8, c=Qt.PenCapStyle.RoundCap))
    painter.drawLine(tail, tip)
    reach = side * 0.55
    painter.drawLine(tip, QPointF(tip.x() - reach, tip.y()))
    painter.drawLine(tip, QPointF(tip.x(), tip.y() + down * reach))
    painter.restore()


def _draw_warning(painter: QPainter, box: QRectF, direction: Direction, theme: Theme) -> None:
    painter.setPen(QPen(theme.colour("warning_edge"), 1.4))
    painter.setBrush(theme.colour("warning_fill"))
    inner = box.adjusted(0.5, 1.5, -0.5, -1.5)
    if direction is Direction.NONE:
        painter.drawPolygon(_diamond(inner))
    else:
        painter.drawPolygon(_triangle(inner, up=direction is Direction.HIGH))


def _draw_action(painter: QPainter, box: QRectF, direction: Direction, theme: Theme) -> None:
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(theme.colour("action_fill"))
    painter.drawRoundedRect(box, 2, 2)
    painter.setBrush(theme.colour("on_action"))
    inner = box.adjusted(3.2, 3.6, -3.2, -3.6)
    if direction is Direction.NONE:
        painter.drawRect(box.adjusted(5.6, 3, -5.6, -3))
    else:
        painter.drawPolygon(_triangle(inner, up=direction is Direction.HIGH))


def _triangle(box: QRectF, *, up: bool) -> QPolygonF:
    tip, base = (box.top(), box.bottom()) if up else (box.bottom(), box.top())
    return QPolygonF(
        [QPointF(box.center().x(), tip), QPointF(box.right(), base), QPointF(box.left(), base)]
    )


def _diamond(box: QRectF) -> QPolygonF:
    middle = box.center()
    return QPolygonF(
        [
            QPointF(middle.x(), box.top()),
            QPointF(box.right(), middle.y()),
            QPointF(middle.x(), box.bottom()),
            QPointF(box.left(), middle.y()),
        ]
    )


def draw_tick(painter: QPainter, box: QRectF, theme: Theme, *, colour: str = "done") -> None:
    """A tick: settled, saved, complete."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    pen = QPen(theme.colour(colour), 1.8)
    pen.setCapStyle(Qt.PenCapStyle.RoundCap)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    middle, side = box.center(), min(box.width(), box.height(), 12.0)
    painter.drawPolyline(
        QPolygonF(
            [
                QPointF(middle.x() - side * 0.42, middle.y() + side * 0.02),
                QPointF(middle.x() - side * 0.10, middle.y() + side * 0.34),
                QPointF(middle.x() + side * 0.44, middle.y() - side * 0.34),
            ]
        )
    )
    painter.restore()


def draw_missing(painter: QPainter, box: QRectF, theme: Theme) -> None:
    """A ring with a bar: not taken, with a reason."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.colour("muted"), 1.4))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    side = min(box.width(), box.height(), 11.0)
    ring = QRectF(box.center().x() - side / 2, box.center().y() - side / 2, side, side)
    painter.drawEllipse(ring)
    painter.drawLine(
        QPointF(ring.left() + 2.6, ring.center().y()),
        QPointF(ring.right() - 2.6, ring.center().y()),
    )
    painter.restore()


def draw_clock(painter: QPainter, box: QRectF, theme: Theme, *, colour: str = "muted") -> None:
    """A clock face: late."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(theme.colour(colour), 1.4))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    side = min(box.width(), box.height(), 11.0)
    face = QRectF(box.center().x() - side / 2, box.center().y() - side / 2, side, side)
    painter.drawEllipse(face)
    middle = face.center()
    painter.drawLine(middle, QPointF(middle.x(), face.top() + 2))
    painter.drawLine(middle, QPointF(face.right() - 2.6, middle.y()))
    painter.restore()
